"""Pieces from a list, and a saw plan as tables and as a file of results."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from pathlib import Path

from bom.kernel.errors import Problem, ProblemError
from production.cutting.bars.job import BarPlan, CutPattern, Piece
from production.cutting.terminal.lists import read_list
from production.cutting.terminal.telling import table

LONGEST_MM = 100_000.0
MOST_OF_A_PIECE = 100_000


def pieces_from(path: Path) -> tuple[list[Piece], dict[str, str]]:
    """The pieces of a list by line, and the name of each.

    Raises `ProblemError` with every mistake of the list.
    """
    pieces: list[Piece] = []
    names: dict[str, str] = {}
    problems: list[Problem] = []
    for row in read_list(path, ["length_mm", "quantity", "name"]):
        try:
            piece = Piece(
                row.place,
                row.above_zero("length_mm", LONGEST_MM),
                row.whole("quantity", 0, MOST_OF_A_PIECE),
            )
        except ProblemError as refusal:
            problems += refusal.problems
            continue
        pieces.append(piece)
        names[piece.code] = row.values["name"]
    if problems:
        raise ProblemError(*problems)
    return pieces, names


def as_words(plan: BarPlan, names: Mapping[str, str], counted_in: str) -> str:
    """The plan for people: each pattern once, then what it costs and whether that is proven."""
    rows = [
        (f"{pattern.bar_mm:g}", str(pattern.count), _cuts(pattern, names), _rest(pattern))
        for pattern in plan.patterns
    ]
    proof = (
        "which is proven to be the least" if plan.proven else f"no plan can do with less than {plan.bound:g}"
    )
    said = [
        table(("bar mm", "bars", "pieces", "rest mm"), rows),
        "",
        f"{plan.bars} bars, {plan.cost:g} {counted_in}; {proof}. "
        f"Waste {100 * plan.waste:.1f} %. Longest first would take {plan.first_fit_bars} bars.",
    ]
    said += [f"Left over: {one.quantity} × {_named(one.code, names)}: {one.reason}." for one in plan.not_cut]
    return "\n".join(said)


def as_json(plan: BarPlan, names: Mapping[str, str], counted_in: str) -> dict[str, object]:
    """The plan as the file of results holds it."""
    return {
        "bars": [
            {
                "bar_mm": _figure(pattern.bar_mm),
                "count": pattern.count,
                "cuts_mm": [_figure(cut.length_mm) for cut in pattern.cuts for _ in range(cut.number)],
                "names": [names[cut.piece] for cut in pattern.cuts for _ in range(cut.number)],
                "rest_mm": _figure(pattern.rest_mm),
            }
            for pattern in plan.patterns
        ],
        "bound": _figure(plan.bound),
        "cost": _figure(plan.cost),
        "counted_in": counted_in,
        "proven": plan.proven,
        "not_cut": [
            {"name": names[one.code], "quantity": one.quantity, "reason": one.reason} for one in plan.not_cut
        ],
    }


def _cuts(pattern: CutPattern, names: Mapping[str, str]) -> str:
    count: Counter[str] = Counter()
    for cut in pattern.cuts:
        count[f"{cut.length_mm:g} {names[cut.piece]}".strip()] += cut.number
    return ", ".join(f"{number} × {words}" for words, number in count.items())


def _rest(pattern: CutPattern) -> str:
    return f"{pattern.rest_mm:g}{' keep' if pattern.keep else ''}"


def _named(code: str, names: Mapping[str, str]) -> str:
    return names[code] or code


def _figure(value: float) -> float | int:
    """A whole number without a decimal point."""
    rounded = round(value, 4)
    return int(rounded) if rounded == int(rounded) else rounded
