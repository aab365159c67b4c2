"""Bend lines of a part, and the table of what the press brake does: checked, then written whole."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from bom.geometry.bending import bend
from bom.geometry.models import BendValue, FlatPart, FoldLine, HouseRule
from bom.geometry.reading import outline_of
from bom.geometry.strips import Line, runs_across
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User

SHORTEST_MM = Decimal("0.1")


@dataclass(frozen=True)
class BendDraft:
    """A bend as asked for; lengths in mm in the coordinates of the contours."""

    x1_mm: Decimal
    y1_mm: Decimal
    x2_mm: Decimal
    y2_mm: Decimal
    angle_deg: Decimal
    inside_radius_mm: Decimal
    direction: str = FoldLine.Direction.UP

    @property
    def line(self) -> Line:
        return Line((float(self.x1_mm), float(self.y1_mm)), (float(self.x2_mm), float(self.y2_mm)))


@transaction.atomic
def set_bends(*, part: FlatPart, bends: Sequence[BendDraft]) -> FlatPart:
    """Give the part these bends in place of those it has. The same again changes nothing.

    Raises:
        ProblemError: a line without length or that does not cross the part, an angle or radius that cannot be.
    """
    part = FlatPart.objects.select_for_update().get(pk=part.pk)
    problems = [problem for at, draft in enumerate(bends, 1) for problem in _problems(part, at, draft)]
    if problems:
        raise ProblemError(*problems)
    part.fold_lines.all().delete()
    FoldLine.objects.bulk_create(
        FoldLine(
            part=part,
            sequence=at,
            x1_mm=draft.x1_mm,
            y1_mm=draft.y1_mm,
            x2_mm=draft.x2_mm,
            y2_mm=draft.y2_mm,
            angle_deg=draft.angle_deg,
            inside_radius_mm=draft.inside_radius_mm,
            direction=draft.direction,
        )
        for at, draft in enumerate(bends, 1)
    )
    part.bends = len(bends)
    part.save(update_fields=["bends"])
    return part


def _problems(part: FlatPart, at: int, draft: BendDraft) -> list[Problem]:
    place = f"bend {at}"
    ends = ((draft.x1_mm, draft.x2_mm), (draft.y1_mm, draft.y2_mm))
    if max(abs(one - other) for one, other in ends) < SHORTEST_MM:
        return [Problem("The bend line has no length", place, "Give two different points")]
    try:
        bend(float(draft.angle_deg), float(draft.inside_radius_mm), float(part.thickness_mm))
    except ProblemError as error:
        return [problem.within(place) for problem in error.problems]
    if not runs_across(outline_of(part.contours.all()), draft.line):
        mend = "Give points such that the part reaches to both sides of the line"
        return [Problem("The bend line does not cross the part", place, mend)]
    return []


# Die 8 × thickness (larger above 6 mm), radius about a sixth of the die, flange 0.7 × die: common practice, no source.
_USUAL = (
    ("1.50", "2.0", 12),
    ("2.00", "2.5", 16),
    ("3.00", "4.0", 24),
    ("4.00", "5.0", 32),
    ("5.00", "6.5", 40),
    ("6.00", "8.0", 50),
    ("8.00", "10.5", 63),
    ("10.00", "13.0", 80),
)
USUAL_SOURCE = "common practice, no source: die 8 × thickness, flange 0.7 × die; bend a test strip"


def usual_values() -> list[BendValue]:
    """The table to begin with, not saved."""
    return [
        BendValue(
            thickness_mm=Decimal(thickness),
            inside_radius_mm=Decimal(radius),
            k_factor=Decimal("0.42"),
            die_opening_mm=Decimal(die),
            least_flange_mm=(Decimal(die) * Decimal("0.7")).quantize(Decimal("0.1")),
            source=USUAL_SOURCE,
        )
        for thickness, radius, die in _USUAL
    ]


@transaction.atomic
def put_in_usual_values() -> int:
    """Fill the table where a thickness has no row. Returns how many rows are new."""
    known = set(BendValue.objects.filter(grade="").values_list("thickness_mm", flat=True))
    return len(BendValue.objects.bulk_create(row for row in usual_values() if row.thickness_mm not in known))


@transaction.atomic
def choose_rules(*, bend_rule: str, vent_rule: str, by: User | None) -> HouseRule:
    """Say which published rules the workshop works to from now on.

    Raises:
        ProblemError: a rule of that name is not known.
    """
    for value, known, what in (
        (bend_rule, HouseRule.BEND_RULES, "bend rule"),
        (vent_rule, HouseRule.VENT_RULES, "vent rule"),
    ):
        if value not in dict(known):
            names = ", ".join(name for _, name in known)
            raise ProblemError(Problem(f"“{value}” is not a rule here", what, f"Choose one of: {names}"))
    row, _ = HouseRule.objects.update_or_create(
        pk=1, defaults={"bend_rule": bend_rule, "vent_rule": vent_rule, "changed_by": by}
    )
    return row
