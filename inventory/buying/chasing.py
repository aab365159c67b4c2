"""Lines to chase: not confirmed in time, or their day has passed; and the record of having asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.db.models import F, OuterRef, Subquery
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.buying.measured import lead_days
from inventory.buying.models import Chase, PurchaseOrder, PurchaseOrderLine
from inventory.buying.ordering import locked
from inventory.buying.outside_asking import chase_back, refuse_no_answer
from inventory.buying.outside_models import OutsideAnswer, OutsideLine
from inventory.buying.queries import expected_lines

AGAIN_AFTER_DAYS = 2
"""Working days after which a line is asked about again, where nobody says another day: common practice, no source."""


@dataclass(frozen=True)
class ToChase:
    """A line to ask about: calendar days past its day (0: not late), working days that no confirmation came."""

    line: PurchaseOrderLine
    days_late: int
    days_unconfirmed: int
    last_at: object
    last_answer: str

    @property
    def is_unconfirmed(self) -> bool:
        return self.line.confirmed_on is None


@dataclass(frozen=True)
class LoadToChase:
    """A load away for work to ask about; the figures are those of `ToChase`."""

    line: OutsideLine
    days_late: int
    days_unconfirmed: int
    last_at: object
    last_answer: str

    @property
    def is_unconfirmed(self) -> bool:
        return self.line.confirmed_on is None


def lines_to_chase(*, today: date | None = None) -> list[ToChase]:
    """What to ask suppliers about, the latest first. One query.

    A line is chased when its day has passed, or when nobody has confirmed it so many working days after the order
    went out as the supplier's terms say. Once asked about, it rests until the day agreed to ask again.
    """
    today = today or timezone.localdate()
    latest = Chase.objects.filter(line=OuterRef("pk")).order_by("-at", "-pk")
    rows = expected_lines().annotate(
        chased_at=Subquery(latest.values("at")[:1]),
        chased_answer=Subquery(latest.values("answer")[:1]),
        chase_again_on=Subquery(latest.values("again_on")[:1]),
    )
    found = [_to_chase(line, today) for line in rows if not _rests(line, today)]
    due = [one for one in found if one is not None]
    return sorted(due, key=lambda one: (-one.days_late, -one.days_unconfirmed, one.line.pk))


@transaction.atomic
def chase_line(*, line: PurchaseOrderLine, answer: str, again_on: date, by: User | None, key: str) -> Chase:
    """Keep that the supplier was asked, what he said, and when to ask again. A repeat of the key changes nothing.

    Raises:
        ProblemError: no answer was written, the day to ask again has come already, or nothing is to come.
    """
    order = locked(line.order, PurchaseOrder.State.RELEASED, doing="chased")
    before = Chase.objects.filter(key=key).first()
    if before is not None:
        return before
    where = f"{order.number}, line {line.position}"
    fresh = PurchaseOrderLine.objects.get(pk=line.pk)
    if fresh.is_closed or fresh.received >= fresh.quantity:
        raise ProblemError(Problem("Nothing of this line is still to come", where, "It need not be chased."))
    refuse_no_answer(answer, again_on, where)
    return Chase.objects.create(
        line=fresh, key=key, by=by, at=timezone.now(), answer=answer.strip(), again_on=again_on
    )


@transaction.atomic
def chase_order(*, order: PurchaseOrder, answer: str, again_on: date, by: User | None, key: str) -> int:
    """One answer for everything that is still to come on an order: its goods and its loads away.

    Returns how many lines it was kept for. A repeat of the key changes nothing.

    Raises:
        ProblemError: nothing is to come, no answer was written, or the day to ask again has come already.
    """
    found = locked(order, PurchaseOrder.State.RELEASED, doing="chased")
    goods = list(found.lines.filter(is_closed=False, quantity__gt=F("received")))
    loads = list(found.outside_lines.filter(is_closed=False))
    if not goods and not loads:
        raise ProblemError(Problem("Nothing is still to come", found.number, "It need not be chased."))
    for line in goods:
        chase_line(line=line, answer=answer, again_on=again_on, by=by, key=f"{key}:{line.pk}")
    for load in loads:
        chase_back(line=load, answer=answer, again_on=again_on, by=by, key=f"{key}:load:{load.pk}")
    return len(goods) + len(loads)


def loads_to_chase(*, today: date | None = None) -> list[LoadToChase]:
    """Loads away for work to ask about, by the rules of `lines_to_chase`. One query."""
    today = today or timezone.localdate()
    latest = OutsideAnswer.objects.filter(line=OuterRef("pk"), again_on__isnull=False).order_by("-at", "-pk")
    rows = (
        OutsideLine.objects.filter(is_closed=False, order__state=PurchaseOrder.State.RELEASED)
        .select_related("order__supplier", "service")
        .annotate(
            chased_at=Subquery(latest.values("at")[:1]),
            chased_answer=Subquery(latest.values("words")[:1]),
            chase_again_on=Subquery(latest.values("again_on")[:1]),
        )
    )
    found = [one for one in (_load_to_chase(line, today) for line in rows) if one is not None]
    return sorted(found, key=lambda one: (-one.days_late, -one.days_unconfirmed, one.line.pk))


def _load_to_chase(line: OutsideLine, today: date) -> LoadToChase | None:
    again_on: date | None = line.chase_again_on  # type: ignore[attr-defined]
    waited = lead_days(line.order.ordered_on, today) if line.order.ordered_on else 0
    days_late = max(0, (today - line.due_on).days)
    is_silent = line.confirmed_on is None and waited >= line.order.supplier.confirm_days
    if (again_on is not None and again_on > today) or not (days_late or is_silent):
        return None
    return LoadToChase(
        line,
        days_late,
        waited if line.confirmed_on is None else 0,
        line.chased_at,  # type: ignore[attr-defined]
        line.chased_answer or "",  # type: ignore[attr-defined]
    )


def _rests(line: PurchaseOrderLine, today: date) -> bool:
    again_on: date | None = line.chase_again_on  # type: ignore[attr-defined]
    return again_on is not None and again_on > today


def _to_chase(line: PurchaseOrderLine, today: date) -> ToChase | None:
    days_late = max(0, (today - line.due_on).days)
    waited = lead_days(line.order.ordered_on, today) if line.order.ordered_on else 0
    is_silent = line.confirmed_on is None and waited >= line.order.supplier.confirm_days
    if not days_late and not is_silent:
        return None
    return ToChase(
        line,
        days_late,
        waited if line.confirmed_on is None else 0,
        line.chased_at,  # type: ignore[attr-defined]
        line.chased_answer or "",  # type: ignore[attr-defined]
    )
