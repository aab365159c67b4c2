"""Versions of a named variant side by side, and where one differs from the one before."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from bom.catalogue.models import ColourPlace, Variant

LEFT_OPEN = "left open"


@dataclass(frozen=True)
class Cell:
    """What one version says; `is_changed` where the version before it says something else."""

    words: str
    is_changed: bool = False
    amount: Decimal | None = None


@dataclass(frozen=True)
class Line:
    """One question, answered by each version."""

    question: str
    cells: tuple[Cell, ...]


def side_by_side(versions: Sequence[Variant]) -> list[Line]:
    """Every question that one of the versions answers; `versions` newest first, with choices and colours fetched."""
    choices = [
        {one.choice.group.name: one.choice.name for one in version.choices.all()} for version in versions
    ]
    colours = [{one.place: one.colour.name for one in version.colours.all()} for version in versions]
    groups = dict.fromkeys(name for answers in choices for name in answers)
    lines = [
        _line("Agreed price", [("" if one.price is None else str(one.price), one.price) for one in versions]),
        _line("Model", [(f"{one.model.code} {one.model.name}", None) for one in versions]),
        _line("Finish", [(one.get_finish_display(), None) for one in versions]),
    ]
    lines += [_line(name, [(answers.get(name, ""), None) for answers in choices]) for name in groups]
    lines += [
        _line(f"Colour of {label}", [(answers.get(place, ""), None) for answers in colours])
        for place, label in ColourPlace.choices
        if any(place in answers for answers in colours)
    ]
    return lines


def _line(question: str, answers: Sequence[tuple[str, Decimal | None]]) -> Line:
    before = [*(words for words, _ in answers[1:]), None]
    return Line(
        question,
        tuple(
            Cell(words or LEFT_OPEN, earlier is not None and words != earlier, amount)
            for (words, amount), earlier in zip(answers, before, strict=True)
        ),
    )
