"""Conditions, quantities and texts on bill lines: expressions in CEL, the Common Expression Language.

An expression may use `option.<group>` and `colour.<place>` (texts; "" where nothing was chosen), `finish`
(text), `model.<field>` and `hull.<field>` (numbers, texts, yes or no), the functions abs, ceil, floor, max,
min and round, and contains, startsWith and endsWith on texts. A code with a dash is written
`option["keel-rollers"]`.

All numbers are of one kind: whole numbers in the text and whole or Decimal values from the order enter CEL
as doubles, so that 3 / 2 is 1.5 and `model.axles * 1.5` works. ceil, floor and round first drop noise below
a billionth, so that 0.1 * 3 * 10 rounds up to 3 and not to 4. Results become exact again at the end.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property, lru_cache
from itertools import product
from typing import Any

import cel

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import exact
from bom.structure.wording import (
    KnownNames,
    Reference,
    Token,
    check_wording,
    references_in,
    tokens_of,
    unquoted,
    with_one_kind_of_number,
)

Value = Decimal | int | float | bool | str | None

LONGEST = 500
_NOISE_DECIMALS = 9
_MIXED = (
    "Numbers go with numbers (+ - * / < >), texts with texts (== !=), yes or no with && || !; "
    "what stands before a ? must be yes or no"
)


@dataclass(frozen=True)
class Scope:
    """The values of one order that expressions may use.

    `option` maps group code to choice code, `colour` place to colour code. A group or place that is absent
    counts as "" (nothing chosen). A model or hull value that is None or absent is unknown; an expression
    that needs it is refused with the name of what is missing.
    """

    option: Mapping[str, str] = field(default_factory=dict)
    colour: Mapping[str, str] = field(default_factory=dict)
    finish: str = ""
    model: Mapping[str, Value] = field(default_factory=dict)
    hull: Mapping[str, Value] = field(default_factory=dict)

    @cached_property
    def _contexts(self) -> dict[frozenset[tuple[str, str]], Any]:
        return {}

    @cached_property
    def _values(self) -> dict[str, dict[str, Any]]:
        maps = {"option": self.option, "colour": self.colour, "model": self.model, "hull": self.hull}
        return {
            root: {name: _entering(value) for name, value in values.items() if value is not None}
            for root, values in maps.items()
        }

    def context(self, absent: frozenset[tuple[str, str]]) -> Any:
        """The CEL context with all values of the order, in which the `absent` names count as ""."""
        if absent not in self._contexts:
            values = {root: dict(members) for root, members in self._values.items()}
            for root, member in absent:
                values[root][member] = ""
            self._contexts[absent] = cel.Context(
                variables={**values, "finish": self.finish}, functions=FUNCTIONS
            )
        return self._contexts[absent]

    def absent(self, references: tuple[Reference, ...]) -> frozenset[tuple[str, str]]:
        """Unchosen groups and places among `references`; ProblemError for unknown model or hull values."""
        missing = [r for r in references if r.member and r.member not in self._values[r.root]]
        unknown = [r for r in missing if r.root in ("model", "hull")]
        if unknown:
            raise ProblemError(*(_not_known(reference) for reference in unknown))
        return frozenset((r.root, r.member) for r in missing)


@dataclass(frozen=True)
class Expression:
    """A compiled expression: its text as written, and every use of a name in it."""

    text: str
    references: tuple[Reference, ...]
    program: Any = field(repr=False, compare=False)

    def evaluate(self, scope: Scope) -> Any:
        """The raw CEL value for `scope`; ProblemError where values do not go together."""
        return _run(self.program, scope.context(scope.absent(self.references)))


@dataclass(frozen=True)
class Condition(Expression):
    """Says whether a line applies."""

    def holds(self, scope: Scope) -> bool:
        return _as_condition(self.evaluate(scope))


@dataclass(frozen=True)
class Quantity(Expression):
    """Says how many."""

    def value(self, scope: Scope) -> Decimal:
        """Exact, rounded once to six decimals, never negative."""
        return _as_quantity(self.evaluate(scope))


@dataclass(frozen=True)
class TextExpression(Expression):
    """Says which colour or hand."""

    def value(self, scope: Scope) -> str:
        return _as_text(self.evaluate(scope))


@lru_cache(maxsize=8192)
def compile_condition(text: str, names: KnownNames | None = None) -> Condition:
    """The condition written in `text`; an empty one always holds.

    ProblemError, with line and column, for a text that is not CEL, a name that is not among `names`
    (without `names` only option, colour, finish, model and hull are checked), and a result that is not
    yes or no.
    """
    return Condition(*_compiled(text if text.strip() else "true", names, _as_condition))


@lru_cache(maxsize=8192)
def compile_quantity(text: str, names: KnownNames | None = None) -> Quantity:
    """The quantity written in `text`, in the item's stock unit. Errors as in `compile_condition`."""
    quantity = Quantity(*_compiled(text, names, _number))
    if not quantity.references:
        quantity.value(Scope())
    return quantity


@lru_cache(maxsize=8192)
def compile_text(text: str, names: KnownNames | None = None) -> TextExpression:
    """The colour or hand code written in `text`; an empty one means none. Errors as in `compile_condition`."""
    return TextExpression(*_compiled(text if text.strip() else '""', names, _as_text))


def _compiled(
    text: str, names: KnownNames | None, accept: Callable[[Any], Any]
) -> tuple[str, tuple[Reference, ...], Any]:
    if not text.strip():
        raise ProblemError(Problem("The expression is empty", "line 1, column 1", "Write a number such as 2"))
    if len(text) > LONGEST:
        long = f"The expression has {len(text)} characters"
        raise ProblemError(Problem(long, f"line 1, column {LONGEST + 1}", f"Write at most {LONGEST}"))
    _parse(text)
    tokens = tokens_of(text)
    problems = check_wording(tokens, names)
    if problems:
        raise ProblemError(*problems)
    program, references = _parse(with_one_kind_of_number(text)), references_in(tokens)
    if not references:
        accept(_run(program, cel.Context(functions=FUNCTIONS)))
    elif names is not None:
        _try_out(program, tokens, references, names, accept)
    return text, references, program


def _parse(text: str) -> Any:
    try:
        return cel.compile(text)
    except ValueError as error:
        raise ProblemError(_syntax_problem(str(error))) from error


def _syntax_problem(message: str) -> Problem:
    """The parser's first complaint in plain words. Its own wording lists token names nobody knows."""
    found = re.findall(r"ERROR: <input>:(\d+):(\d+): (.*)", message)
    located = next(
        (one for one in found if "Syntax error" in one[2]), found[0] if found else ("1", "1", message)
    )
    where, complaint = f"line {located[0]}, column {located[1]}", located[2]
    missing = re.search(r"missing ('.*?') at", complaint)
    word = re.search(r"at: '(.*)'|(?:input|alternative at input) '(.*?)'(?: expecting|$)", complaint)
    unexpected = ((word.group(1) or word.group(2) or "").strip() if word else "") or "this"
    if "literal" in complaint:
        return Problem("A number or text cannot be read", where, "Write numbers like 1.5, texts like 'red'")
    if missing:
        return Problem("The expression is not closed", where, f"Add {missing.group(1)}")
    if "<EOF>" in unexpected:
        return Problem("The expression ends too early", where, "Write what it is compared or reckoned with")
    if unexpected == "=":
        return Problem("A single “=” compares nothing", where, "Write == to compare")
    if unexpected[0] in "'\"":
        return Problem(f"The text {unexpected} is not closed", where, "Put a quote at both ends")
    return Problem(
        f"“{unexpected}” cannot stand here", where, "Compare or reckon as in option.winch == 'manual'"
    )


def _run(program: Any, context: Any) -> Any:
    try:
        return program.execute(context)
    except (TypeError, ValueError, ArithmeticError, RuntimeError, LookupError) as error:
        raise ProblemError(
            Problem("The expression mixes values that do not go together", "line 1, column 1", _MIXED)
        ) from error


def _try_out(
    program: Any,
    tokens: tuple[Token, ...],
    references: tuple[Reference, ...],
    names: KnownNames,
    accept: Callable[[Any], Any],
) -> None:
    """Run the expression on sample values, so that a wrong kind of result shows when it is written.

    The samples are the texts it mentions, a small and a large number (odd ones, so that no difference is
    nothing), yes and no: enough to enter the branches that people write. What slips through is still
    refused, with its place, when it is used.
    """
    texts = ["", *dict.fromkeys(unquoted(token.text) for token in tokens if token.kind == "text")][:12]
    for text, number, answer in product(texts, (1.37, 1e6 + 0.73), (True, False)):
        values: dict[str, Any] = {"option": {}, "colour": {}, "model": {}, "hull": {}, "finish": text}
        for reference in references:
            if reference.member:
                sample = {"text": text, "number": number, "yes_no": answer}[names.kind(reference)]
                values[reference.root][reference.member] = sample
        accept(_run(program, cel.Context(variables=values, functions=FUNCTIONS)))


def _entering(value: Value) -> float | bool | str | None:
    return value if isinstance(value, bool | str) or value is None else float(value)


def _as_condition(result: Any) -> bool:
    if not isinstance(result, bool):
        raise _wrong_result(result, "yes or no", "Compare it with something, e.g. option.winch == 'manual'")
    return result


def _number(result: Any) -> float:
    if isinstance(result, bool) or not isinstance(result, float):
        raise _wrong_result(result, "a number", "Write a number, or condition ? number : number")
    return result


def _as_quantity(result: Any) -> Decimal:
    number = _number(result)
    if not math.isfinite(number):
        raise _wrong_result(result, "a finite number", "Look for a division by nothing")
    if number < 0:
        raise _wrong_result(result, "zero or more", "Hold it at zero with max(0, …)")
    return exact(number)


def _as_text(result: Any) -> str:
    if not isinstance(result, str):
        raise _wrong_result(result, "a text", "Write a code in quotes, or colour.port")
    return result


def _wrong_result(result: Any, wanted: str, mend: str) -> ProblemError:
    shown = {True: "yes", False: "no"}[result] if isinstance(result, bool) else f"{result!r}"
    return ProblemError(Problem(f"The result is {shown}, not {wanted}", "line 1, column 1", mend))


def _not_known(reference: Reference) -> Problem:
    owner = "the trailer model" if reference.root == "model" else "the hull"
    return Problem(
        f"{reference.name} is not known for this order",
        reference.token.where,
        f"Fill in {reference.member} of {owner}",
    )


def _rounding(rule: Callable[[float], float]) -> Callable[..., float | None]:
    def rounded(*given: Any) -> float | None:
        # A function that raises is printed to the error stream by the library; None ends in a plain
        # refusal instead, because nothing accepts it.
        if len(given) != 1 or not _are_numbers(given):
            return None
        return float(rule(round(given[0], _NOISE_DECIMALS)))

    return rounded


def _choosing(rule: Callable[[tuple[float, ...]], float]) -> Callable[..., float | None]:
    return lambda *given: rule(given) if given and _are_numbers(given) else None


def _are_numbers(given: tuple[Any, ...]) -> bool:
    return all(isinstance(one, float) and math.isfinite(one) for one in given)


FUNCTIONS: dict[str, Callable[..., float | None]] = {
    "abs": _rounding(abs),
    "ceil": _rounding(math.ceil),
    "floor": _rounding(math.floor),
    "max": _choosing(max),
    "min": _choosing(min),
    "round": _rounding(lambda number: math.floor(number + 0.5)),
}
