"""What differs between two revisions of a bill, and between two lots of parts. Plain data in, plain data out."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from bom.structure.expansion import BillLine

NOTHING = Decimal(0)


@dataclass(frozen=True)
class LineChange:
    """A line that came, went or changed; `fields` names what changed of one that is in both."""

    before: BillLine | None
    after: BillLine | None
    fields: tuple[str, ...] = ()

    @property
    def word(self) -> str:
        if self.before is None:
            return "added"
        return "taken off" if self.after is None else "changed"

    @property
    def line(self) -> BillLine:
        line = self.after or self.before
        assert line is not None
        return line


@dataclass(frozen=True)
class QuantityChange:
    """A part of which more or fewer are wanted."""

    code: str
    before: Decimal
    after: Decimal

    @property
    def more(self) -> Decimal:
        return self.after - self.before


def line_changes(before: Sequence[BillLine], after: Sequence[BillLine]) -> list[LineChange]:
    """From one revision to another, by position of the later one.

    Lines are the same where they bring the same item, or the same family with the same colour and hand; of several
    such lines those with the nearest position belong together. What only moved to another position is no change.
    """
    waiting: dict[object, list[BillLine]] = defaultdict(list)
    for line in before:
        waiting[_subject(line)].append(line)
    changes = []
    for line in after:
        same = waiting.get(_subject(line), [])
        if not same:
            changes.append(LineChange(None, line))
            continue
        # Equal lines first, so that swapping the order of two lines of one part is no change.
        old = min(same, key=lambda one: (bool(_changed(one, line)), abs(one.position - line.position)))
        same.remove(old)
        if fields := _changed(old, line):
            changes.append(LineChange(old, line, fields))
    changes += [LineChange(line, None) for lines in waiting.values() for line in lines]
    return sorted(changes, key=lambda change: (change.line.position, change.after is None))


def quantity_changes(before: Mapping[str, Decimal], after: Mapping[str, Decimal]) -> list[QuantityChange]:
    """Every code whose quantity differs, in order of code."""
    return [
        QuantityChange(code, before.get(code, NOTHING), after.get(code, NOTHING))
        for code in sorted({*before, *after})
        if before.get(code, NOTHING) != after.get(code, NOTHING)
    ]


def _subject(line: BillLine) -> object:
    return (line.component, line.family, line.colour, line.hand)


def _changed(before: BillLine, after: BillLine) -> tuple[str, ...]:
    return tuple(name for name in ("quantity", "condition") if getattr(before, name) != getattr(after, name))
