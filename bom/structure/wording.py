"""Reads the words of an expression: where each name stands, and whether it is one that exists.

`bom.structure.conditions` compiles and works out expressions; here only their text is looked at, so that
a wrong name is told with its line and column before anything is worked out.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal

from bom.kernel.errors import Problem

Kind = Literal["number", "text", "yes_no"]

MAPS = ("option", "colour", "model", "hull")
FUNCTIONS = ("abs", "ceil", "floor", "max", "min", "round")
METHODS = ("contains", "endsWith", "startsWith")
KEYWORDS = ("true", "false", "null", "in")
PLACES = ("port", "starboard", "powder")
MODEL_FIELDS: tuple[tuple[str, Kind], ...] = (
    ("axles", "number"),
    ("braked", "yes_no"),
    ("code", "text"),
    ("length_mm", "number"),
    ("max_mass_kg", "number"),
    ("own_mass_kg", "number"),
    ("width_mm", "number"),
)
HULL_FIELDS: tuple[tuple[str, Kind], ...] = (
    ("beam_mm", "number"),
    ("bow_to_transom_mm", "number"),
    ("centre_of_gravity_mm", "number"),
    ("length_mm", "number"),
    ("mass_kg", "number"),
)
_HOW_TO_NAME = "Begin with option, colour, finish, model or hull, and put texts in quotes"


@dataclass(frozen=True)
class KnownNames:
    """The names an expression may use, and the texts they may be compared with.

    `option` pairs each group code with its choice codes, `colour` lists the places, `colours` the colour
    codes, `finishes` the finishes; `model` and `hull` pair each field with its kind. An empty tuple of
    choices, colours or finishes means that any text is let through.
    """

    option: tuple[tuple[str, tuple[str, ...]], ...] = ()
    colour: tuple[str, ...] = PLACES
    colours: tuple[str, ...] = ()
    finishes: tuple[str, ...] = ()
    model: tuple[tuple[str, Kind], ...] = MODEL_FIELDS
    hull: tuple[tuple[str, Kind], ...] = HULL_FIELDS

    @classmethod
    def of(
        cls,
        *,
        options: Mapping[str, Iterable[str]],
        colours: Iterable[str] = (),
        finishes: Iterable[str] = (),
    ) -> KnownNames:
        """Names for these option groups (code → choice codes), with the usual places and fields."""
        option = tuple(sorted((group, tuple(choices)) for group, choices in options.items()))
        return cls(option=option, colours=tuple(colours), finishes=tuple(finishes))

    def members(self, root: str) -> tuple[str, ...]:
        if root == "colour":
            return self.colour
        pairs: tuple[tuple[str, object], ...] = {
            "option": self.option,
            "model": self.model,
            "hull": self.hull,
        }[root]
        return tuple(name for name, _ in pairs)

    def kind(self, reference: Reference) -> Kind:
        if reference.root in ("model", "hull"):
            fields = self.model if reference.root == "model" else self.hull
            return dict(fields).get(reference.member, "number")
        return "text"

    def texts(self, reference: Reference) -> tuple[str, ...]:
        """The texts that this reference may stand for; none when any is possible."""
        if reference.root == "option":
            return dict(self.option).get(reference.member, ())
        return {"colour": self.colours, "finish": self.finishes}.get(reference.root, ())


@dataclass(frozen=True)
class Token:
    kind: Literal["text", "number", "name", "sign", "end"]
    text: str
    line: int
    column: int

    @property
    def where(self) -> str:
        return f"line {self.line}, column {self.column}"


@dataclass(frozen=True)
class Reference:
    """One use of a variable: `root` is option, colour, finish, model or hull; finish has no member."""

    root: str
    member: str
    token: Token
    last: int  # index of its last token

    @property
    def name(self) -> str:
        return f"{self.root}.{self.member}" if self.member else self.root


_TOKEN = re.compile(
    r"""(?P<gap>\s+|//[^\n]*)
    |(?P<text>[rRbB]{0,2}(?:\"\"\".*?\"\"\"|'''.*?'''|"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*'))
    |(?P<number>0[xX][0-9a-fA-F]+[uU]?|(?:\d+\.\d+|\.\d+|\d+)(?:[eE][+-]?\d+)?[uU]?)
    |(?P<name>[A-Za-z_][A-Za-z0-9_]*)
    |(?P<sign>[=!<>]=|&&|\|\||.)""",
    re.VERBOSE | re.DOTALL,
)


def tokens_of(text: str) -> tuple[Token, ...]:
    """The tokens of `text`, gaps and comments left out, closed by an "end" token."""
    found, line, begun = [], 1, 0
    for match in _TOKEN.finditer(text):
        kind, word = str(match.lastgroup), match.group()
        if kind != "gap":
            found.append(Token(kind, word, line, match.start() - begun + 1))  # type: ignore[arg-type]
        if "\n" in word:
            line += word.count("\n")
            begun = match.start() + word.rindex("\n") + 1
    return (*found, Token("end", "", line, len(text) - begun + 1))


def with_one_kind_of_number(text: str) -> str:
    """`text` with each whole number written as a decimal one.

    CEL keeps whole and decimal numbers apart: 3 / 2 would be 1, and `hull.length_mm / 1000.0` an error
    for a whole length. Nobody who writes a bill should have to know, so every number is decimal here.
    """

    def widened(match: re.Match[str]) -> str:
        word = match.group()
        return f"{word}.0" if match.lastgroup == "number" and word.isdigit() else word

    return _TOKEN.sub(widened, text)


def references_in(tokens: tuple[Token, ...]) -> tuple[Reference, ...]:
    """Every use of a variable that is written in full, in order."""
    return tuple(_references(tokens))


def _references(tokens: tuple[Token, ...]) -> Iterator[Reference]:
    for at, token in enumerate(tokens):
        if token.kind != "name" or _follows_dot(tokens, at):
            continue
        if token.text == "finish":
            yield Reference("finish", "", token, at)
        elif token.text in MAPS:
            after = tokens[at + 1 : at + 4]
            if len(after) >= 2 and after[0].text == "." and after[1].kind == "name":
                yield Reference(token.text, after[1].text, token, at + 2)
            elif (
                len(after) == 3 and after[0].text == "[" and after[1].kind == "text" and after[2].text == "]"
            ):
                yield Reference(token.text, unquoted(after[1].text), token, at + 3)


def unquoted(word: str) -> str:
    quote = word[:3] if word[:3] in ('"""', "'''") else word[:1]
    return word[len(quote) : -len(quote)]


def check_wording(tokens: tuple[Token, ...], names: KnownNames | None) -> list[Problem]:
    """What is wrong with the names in an expression; members are checked only where `names` are given."""
    references = references_in(tokens)
    taken = {index for reference in references for index in _span(tokens, reference)}
    problems = [problem for at in range(len(tokens)) if at not in taken for problem in _stray(tokens, at)]
    if names is not None:
        for reference in references:
            problems += _unknown_member(reference, names) or _unknown_texts(tokens, reference, names)
    return sorted(problems, key=lambda problem: [int(part) for part in re.findall(r"\d+", problem.where)])


def _span(tokens: tuple[Token, ...], reference: Reference) -> range:
    return range(next(at for at, token in enumerate(tokens) if token is reference.token), reference.last + 1)


def _stray(tokens: tuple[Token, ...], at: int) -> list[Problem]:
    """Problems of one token that is not part of a reference."""
    token, called = tokens[at], tokens[min(at + 1, len(tokens) - 1)].text == "("
    if token.kind == "number" and not re.fullmatch(r"[\d.]+([eE][+-]?\d+)?", token.text):
        return [Problem(f"“{token.text}” is not a plain number", token.where, "Write it like 12 or 1.5")]
    if token.text == "%":
        return [Problem("“%” is not known here", token.where, "For a remainder write a - b * floor(a / b)")]
    if token.kind != "name" or token.text in KEYWORDS:
        return []
    if _follows_dot(tokens, at):
        known = (called and token.text in METHODS) or _follows_unknown_root(tokens, at)
        return [] if known else [_no_such_method(token)]
    if called:
        return [] if token.text in FUNCTIONS else [_no_such_function(token)]
    if token.text in MAPS:
        mend = f"Say which, e.g. {token.text}.{'winch' if token.text == 'option' else 'length_mm'}"
        return [Problem(f"“{token.text}” alone is not a value", token.where, mend)]
    return [_unknown("name", token.text, token.where, ("finish", *MAPS), _HOW_TO_NAME)]


def _no_such_method(token: Token) -> Problem:
    return _unknown("part", token.text, token.where, METHODS, f"Texts have {_listed(METHODS)}")


def _no_such_function(token: Token) -> Problem:
    return _unknown("function", token.text, token.where, FUNCTIONS, f"There are {_listed(FUNCTIONS)}")


def _unknown_member(reference: Reference, names: KnownNames) -> list[Problem]:
    if reference.root == "finish" or reference.member in names.members(reference.root):
        return []
    known = names.members(reference.root)
    dashed = [name for name in known if "-" in name and name.startswith(f"{reference.member}-")]
    mend = f'A name with a dash is written {reference.root}["{dashed[0]}"]' if dashed else ""
    near = get_close_matches(reference.member, known, n=1)
    mend = mend or (f"Did you mean {reference.root}.{near[0]}?" if near else f"Known: {_listed(known)}")
    return [Problem(f"There is no {reference.name}", reference.token.where, mend)]


def _unknown_texts(tokens: tuple[Token, ...], reference: Reference, names: KnownNames) -> list[Problem]:
    """Texts compared with this reference that it can never be, such as a misspelt choice."""
    allowed = names.texts(reference)
    if not allowed:
        return []
    return [
        _unknown(
            f"text for {reference.name}", value, token.where, allowed, f"It is one of {_listed(allowed)}"
        )
        for token in _compared(tokens, reference)
        if (value := unquoted(token.text)) and value not in allowed
    ]


def _compared(tokens: tuple[Token, ...], reference: Reference) -> Iterator[Token]:
    first, after = _span(tokens, reference)[0], reference.last + 1
    if tokens[after].text in ("==", "!=") and tokens[after + 1].kind == "text":
        yield tokens[after + 1]
    if first >= 2 and tokens[first - 1].text in ("==", "!=") and tokens[first - 2].kind == "text":
        yield tokens[first - 2]
    if tokens[after].text == "in" and tokens[after + 1].text == "[":
        for token in tokens[after + 2 :]:
            if token.kind == "text":
                yield token
            elif token.text != ",":
                return


def _unknown(what: str, word: str, where: str, known: Iterable[str], otherwise: str) -> Problem:
    near = get_close_matches(word, list(known), n=1)
    mend = f"Did you mean {near[0]}?" if near else otherwise
    return Problem(f"The {what} “{word}” is not known", where, mend)


def _follows_dot(tokens: tuple[Token, ...], at: int) -> bool:
    return at > 0 and tokens[at - 1].text == "."


def _follows_unknown_root(tokens: tuple[Token, ...], at: int) -> bool:
    """Whether a wrong name stands before the dot: then that is told, and what is behind means nothing yet."""
    owner = tokens[at - 2] if at >= 2 else tokens[at]
    return (
        owner.kind == "name"
        and not _follows_dot(tokens, at - 2)
        and owner.text not in (*MAPS, "finish", *KEYWORDS)
    )


def _listed(words: Iterable[str]) -> str:
    return ", ".join(words) or "none"
