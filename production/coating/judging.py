"""How a powder-coated frame came out: its readings against the limits, good, accepted as it is, or coated again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.coating.models import PowderBatch, PowderLine
from production.coating.powder_models import Step, ThicknessReading, ThicknessRule

Outcome = PowderLine.Outcome
THICKEST_UM = 2000
# Four corners and the drawbar: where a gauge is put on a frame (common practice, no source).
SPOTS = ("front left", "front right", "rear left", "rear right", "drawbar")


@dataclass(frozen=True)
class Read:
    """One reading of the gauge in µm: zinc and powder together, and the zinc alone as it was before the powder."""

    spot: str
    total_um: Decimal
    zinc_um: Decimal = Decimal(0)


@dataclass(frozen=True)
class Verdict:
    """What the readings of a frame say of it. Thickness of the powder in µm; `lacking` readings are still wanted."""

    readings: tuple[ThicknessReading, ...]
    lacking: int

    @property
    def outside(self) -> tuple[ThicknessReading, ...]:
        return tuple(one for one in self.readings if not one.is_within)

    @property
    def is_good(self) -> bool:
        return not self.lacking and not self.outside

    @property
    def mean_um(self) -> Decimal | None:
        if not self.readings:
            return None
        return sum((one.powder_um for one in self.readings), Decimal(0)) / len(self.readings)

    @property
    def words(self) -> str:
        """What speaks against the frame, "" where nothing does."""
        parts = []
        if self.lacking:
            parts.append(f"{self.lacking} more reading{'s' if self.lacking > 1 else ''} wanted")
        parts += [f"{one.powder_um:.0f} µm {one.spot}" for one in self.outside]
        return ", ".join(parts)


def rule_in_force() -> ThicknessRule | None:
    return ThicknessRule.objects.first()


def verdicts(line_ids: Iterable[int], rule: ThicknessRule | None) -> defaultdict[int, Verdict]:
    """By line id. The newest reading of a spot counts, older ones stay to be seen. One query."""
    latest: defaultdict[int, dict[str, ThicknessReading]] = defaultdict(dict)
    for one in ThicknessReading.objects.filter(line__in=line_ids).select_related("by").order_by("at", "pk"):
        latest[one.line_id][one.spot] = one
    wanted = rule.readings if rule else 0
    found: defaultdict[int, Verdict] = defaultdict(lambda: Verdict((), wanted))
    for line_id, spots in latest.items():
        found[line_id] = Verdict(tuple(spots.values()), max(wanted - len(spots), 0))
    return found


@transaction.atomic
def read_thickness(
    *, line: PowderLine, reads: Sequence[Read], by: User, at: datetime | None = None
) -> list[ThicknessReading]:
    """Write readings of a frame down, with the limits that hold now.

    Raises:
        ProblemError: the frame is not cured or is judged already, nothing was read, or a reading that cannot be.
    """
    line = _locked(line)
    if problems := [*_not_cured(line), *_not_readings(line, reads)]:
        raise ProblemError(*problems)
    rule = rule_in_force()
    now = at or timezone.now()
    return ThicknessReading.objects.bulk_create(
        ThicknessReading(
            line=line,
            spot=one.spot.strip()[:60],
            total_um=one.total_um,
            zinc_um=one.zinc_um,
            least_um=rule.least_um if rule else None,
            most_um=rule.most_um if rule else None,
            by=by,
            at=now,
        )
        for one in reads
    )


@transaction.atomic
def judge(
    *, line: PowderLine, outcome: str, by: User, reason: str = "", at: datetime | None = None
) -> PowderLine:
    """Say how a frame came out, before its batch is finished. The same again changes nothing; another word replaces it.

    Who may accept a frame as it is, is for the caller to ask.

    Raises:
        ProblemError: the frame is not cured, its batch is finished, its readings speak against good, or no reason.
    """
    line = _locked(line)
    if line.outcome == outcome and outcome:
        return line
    where = _where(line)
    problems = _not_cured(line)
    if outcome not in (Outcome.GOOD, Outcome.ACCEPTED, Outcome.AGAIN):
        problems.append(
            Problem("It is not said how the frame came out", where, "Choose one of the page's words.")
        )
    if outcome == Outcome.GOOD and (against := verdicts([line.pk], rule_in_force())[line.pk].words):
        problems.append(
            Problem(f"The readings speak against it: {against}", where, "Measure again, or coat it again.")
        )
    if outcome in (Outcome.ACCEPTED, Outcome.AGAIN) and not reason.strip():
        problems.append(Problem("No reason is given", where, "Say what you see and why."))
    if problems:
        raise ProblemError(*problems)
    line.outcome, line.reason = outcome, reason.strip()[:200]
    line.judged_by, line.judged_at = by, at or timezone.now()
    line.save(update_fields=["outcome", "reason", "judged_by", "judged_at"])
    return line


def refuse_unless_judged(batch: PowderBatch, by: User) -> list[PowderLine]:
    """The lines of a batch, each judged; those whose readings are good are good without a further word.

    Raises:
        ProblemError: naming every frame that is not judged and what its readings lack.
    """
    lines = list(batch.lines.select_related("order"))
    found = verdicts([line.pk for line in lines], rule_in_force())
    open_ones = [line for line in lines if not line.outcome]
    if problems := [
        Problem(
            f"The frame of order {line.order.number} is not judged: {found[line.pk].words}",
            f"batch {batch.number}",
            "Measure it, or say that it is coated again.",
        )
        for line in open_ones
        if not found[line.pk].is_good
    ]:
        raise ProblemError(*problems)
    for line in open_ones:
        line.outcome, line.judged_by, line.judged_at = Outcome.GOOD, by, timezone.now()
    PowderLine.objects.bulk_update(open_ones, ["outcome", "judged_by", "judged_at"])
    return lines


def _locked(line: PowderLine) -> PowderLine:
    """The line as it is now. The row of its batch is the lock."""
    PowderBatch.objects.select_for_update().get(pk=line.batch_id)
    return PowderLine.objects.select_related("batch", "order").get(pk=line.pk)


def _not_cured(line: PowderLine) -> list[Problem]:
    if line.batch.state == PowderBatch.State.DONE:
        return [
            Problem("The batch is finished", _where(line), "What is wrong now is a problem on its job card.")
        ]
    cured = line.batch.steps.filter(step=Step.CURE, ended_at__isnull=False).exists()
    if line.batch.state == PowderBatch.State.BEGUN and cured:
        return []
    return [
        Problem("The frame is not cured yet", _where(line), "End the cure first; measure when it is cold.")
    ]


def _not_readings(line: PowderLine, reads: Sequence[Read]) -> list[Problem]:
    if not reads:
        return [Problem("No reading is written down", _where(line), "Write what the gauge shows, in µm.")]
    return [
        Problem(
            f"{one.total_um} µm with {one.zinc_um} µm of zinc, {one.spot or 'no spot'}, cannot be",
            _where(line),
            "The gauge reads zinc and powder together; name the spot, and write the zinc as it was before.",
        )
        for one in reads
        if not (
            one.spot.strip()
            and one.total_um.is_finite()
            and one.zinc_um.is_finite()
            and 0 <= one.zinc_um <= one.total_um <= THICKEST_UM
        )
    ]


def _where(line: PowderLine) -> str:
    return f"batch {line.batch.number}, order {line.order.number}"
