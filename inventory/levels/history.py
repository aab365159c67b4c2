"""What the ledger saw of each item: use by day, first sight, deliveries; and how far the orders reach."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from django.db.models import Case, F, Max, Min, Q, QuerySet, Value, When
from django.db.models.functions import TruncDate
from django.utils import timezone

from bom.items.models import Item
from inventory.levels.calendar import work_days
from inventory.levels.days import WEEK, WorkDays, monday_of, mondays
from inventory.stock.models import Location, Movement, Posting, Purpose
from inventory.stock.sums import QUANTITY, summed

DAYS_LOOKED_BACK = 365
REACH_TENTH = 10
"""Orders reach to the day by which nine tenths of the open ones are needed: one order far ahead covers nothing."""

_USES = (Posting.Kind.ISSUE, Posting.Kind.MAKE, Posting.Kind.DISPATCH, Posting.Kind.RETURN)
NOTHING = Decimal(0)


@dataclass(frozen=True)
class Span:
    """The stretch looked at: `begin` up to yesterday, because today is not over and says nothing yet."""

    begin: date
    today: date
    days: WorkDays

    @property
    def yesterday(self) -> date:
        return self.today - timedelta(days=1)

    def of(self, first_seen: date | None) -> Span:
        """The span since an item was first seen, where that is later."""
        if first_seen is None or first_seen <= self.begin:
            return self
        return Span(self.days.on_or_before(first_seen), self.today, self.days)

    @property
    def weeks(self) -> list[date]:
        """The Mondays of the whole weeks."""
        return mondays(self.begin, self.yesterday)


@dataclass
class Seen:
    """What is known of one item: use by day, working days that each delivery took, when first seen.

    `changes` is by day what the shelves gained or lost in all, `opening` what lay on them before.
    """

    used: dict[date, Decimal] = field(default_factory=dict)
    changes: dict[date, Decimal] = field(default_factory=dict)
    opening: Decimal = NOTHING
    deliveries: list[int] = field(default_factory=list)
    first_seen: date | None = None

    def by_week(self, span: Span) -> dict[date, Decimal]:
        """Use of every whole week of the span, the oldest first; weeks without use count as nothing."""
        return _by_week(self.used, span.weeks)

    def by_working_day(self, days: WorkDays) -> dict[date, Decimal]:
        """Use by worked day; what was used on another day counts on the worked day before it."""
        found: dict[date, Decimal] = {}
        for day, quantity in self.used.items():
            at = days.on_or_before(day)
            found[at] = found.get(at, NOTHING) + quantity
        return found

    def empty_weeks(self, span: Span) -> set[date]:
        """The whole weeks in which nothing lay on a shelf from the first day to the last, and nothing came."""
        found, balance = set(), self.opening
        days = sorted(self.changes)
        at = 0
        for week in span.weeks:
            while at < len(days) and days[at] < week:
                balance += self.changes[days[at]]
                at += 1
            came = at < len(days) and days[at] < week + WEEK
            if balance <= 0 and not came:
                found.add(week)
        return found


def year_until(today: date) -> Span:
    begin = today - timedelta(days=DAYS_LOOKED_BACK)
    return Span(begin, today, work_days(begin, today + timedelta(days=DAYS_LOOKED_BACK)))


def seen(span: Span, item_ids: Collection[int] | None = None) -> dict[int, Seen]:
    """Use, deliveries and first sight of these items, or of all. Four queries whatever their number.

    Use is what was issued, used in making or gone to the customer from a shelf, less what came back; a posting that
    was reversed counts for nothing.
    """
    found: dict[int, Seen] = defaultdict(Seen)
    for item_id, day, used, change in _by_day(span, item_ids):
        one = found[item_id]
        one.changes[day] = change
        if used:
            one.used[day] = -used
    for item_id, opening in _opening(span, item_ids):
        found[item_id].opening = opening
    firsts = _of(Movement.objects.all(), item_ids).order_by().values_list("item_id")
    for item_id, first in firsts.annotate(first=Min("happened_at")):
        found[item_id].first_seen = timezone.localdate(first)
    for item_id, ordered_on, came_at in _deliveries(span, item_ids):
        took = span.days.count(ordered_on, timezone.localdate(came_at)) - 1
        found[item_id].deliveries.append(max(0, took))
    return found


def orders_reach(today: date) -> date | None:
    """The day up to which the order book says what will be used; none without a dated order."""
    days = sorted(
        day
        for day in Purpose.objects.filter(is_open=True, needed_on__gte=today).values_list(
            "needed_on", flat=True
        )
        if day is not None
    )
    return days[(len(days) - 1) * (REACH_TENTH - 1) // REACH_TENTH] if days else None


def stated_lead_days() -> Mapping[int, int]:
    """Lead time of the supplier we would choose, by item. One query."""
    rows = Item.objects.filter(suppliers__isnull=False).order_by("-suppliers__price")
    chosen = rows.values_list("pk", "suppliers__is_preferred", "suppliers__lead_days")
    return {pk: days for pk, _, days in sorted(chosen, key=lambda row: row[1])}


def used_by_day(item_id: int, today: date) -> dict[date, Decimal]:
    """Use of one item on each day of the last year that had any, today left out. One query."""
    moved = _shelf().filter(
        _IS_USE,
        item_id=item_id,
        happened_at__gte=_midnight(today - timedelta(days=DAYS_LOOKED_BACK)),
        happened_at__lt=_midnight(today),
    )
    days = moved.order_by().values_list(TruncDate("happened_at")).annotate(total=summed())
    return {day: -total for day, total in days if total}


def last_weeks(days: Mapping[date, Decimal], today: date, count: int) -> dict[date, Decimal]:
    """Use of the last `count` whole weeks before today, the oldest first."""
    last = monday_of(today) - WEEK
    return _by_week(days, [last - number * WEEK for number in reversed(range(count))])


def first_and_last_moved() -> dict[int, tuple[datetime, datetime]]:
    """When something of each item moved for the first and the last time. One query."""
    rows = Movement.objects.order_by().values_list("item_id")
    moved = rows.annotate(first=Min("happened_at"), last=Max("happened_at"))
    return {item_id: (first, last) for item_id, first, last in moved}


def last_used() -> dict[int, datetime]:
    """When something of each item was last used from a shelf. One query."""
    rows = _shelf().filter(_IS_USE, quantity__lt=0).order_by().values_list("item_id")
    return dict(rows.annotate(last=Max("happened_at")))


def _by_week(days: Mapping[date, Decimal], weeks: Iterable[date]) -> dict[date, Decimal]:
    found = dict.fromkeys(weeks, NOTHING)
    for day, quantity in days.items():
        week = monday_of(day)
        if week in found:
            found[week] += quantity
    return found


_IS_USE = Q(posting__kind__in=_USES, posting__reversed_by__isnull=True)


def _shelf() -> QuerySet[Movement]:
    return Movement.objects.filter(location__kind=Location.Kind.SHELF)


def _by_day(
    span: Span, item_ids: Collection[int] | None
) -> Iterable[tuple[int, date, Decimal | None, Decimal]]:
    """Item, day, what left for use (minus) and what the shelves gained or lost in all."""
    moved = _of(_shelf(), item_ids).filter(
        happened_at__gte=_midnight(span.begin), happened_at__lt=_midnight(span.today)
    )
    days = moved.order_by().values_list("item_id", TruncDate("happened_at"))
    used = Case(When(_IS_USE, then=F("quantity")), default=Value(NOTHING), output_field=QUANTITY)
    return days.annotate(used=summed(used), total=summed())


def _opening(span: Span, item_ids: Collection[int] | None) -> Iterable[tuple[int, Decimal]]:
    rows = _of(_shelf(), item_ids).filter(happened_at__lt=_midnight(span.begin))
    return rows.order_by().values_list("item_id").annotate(total=summed())


def _deliveries(span: Span, item_ids: Collection[int] | None) -> list[tuple[int, date, datetime]]:
    """First deliveries on purchase lines; buying stands above this room and is reached from the item."""
    rows = Item.objects.filter(
        purchase_lines__order__ordered_on__gte=span.begin,
        purchase_lines__receipts__posting__reversed_by__isnull=True,
        purchase_lines__receipts__isnull=False,
    )
    if item_ids is not None:
        rows = rows.filter(pk__in=item_ids)
    took = (
        rows.order_by()
        .values_list("pk", "purchase_lines__order__ordered_on", "purchase_lines__pk")
        .annotate(came_at=Min("purchase_lines__receipts__posting__happened_at"))
    )
    return [(item_id, ordered_on, came_at) for item_id, ordered_on, _, came_at in took]


def _of(rows: QuerySet[Movement], item_ids: Collection[int] | None) -> QuerySet[Movement]:
    return rows if item_ids is None else rows.filter(item_id__in=item_ids)


def _midnight(day: date) -> datetime:
    """The beginning of a day in the workshop's own time."""
    return timezone.make_aware(datetime.combine(day, time.min))
