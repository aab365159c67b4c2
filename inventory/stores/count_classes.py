"""Classes of items for counting: what is used most, by value, is counted most often."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

from django.db import transaction
from django.db.models import Max, Q
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock.classes import Cut, classify
from inventory.stock.models import Location, Movement, Posting
from inventory.stock.sums import summed
from inventory.stores.models import CountClass, CountLine, CountSheet, HandlingRule

DAYS_LOOKED_BACK = 365
USES = (Posting.Kind.ISSUE, Posting.Kind.MAKE, Posting.Kind.DISPATCH, Posting.Kind.RETURN)

# Common practice, no source; every figure can be changed on its page.
FIRST_CLASSES = (
    ("A", "80", 30, "1", "50"),
    ("B", "95", 91, "3", "50"),
    ("C", "100", 182, "5", "50"),
)


@dataclass(frozen=True)
class ClassFigures:
    """What a person sets of a class: see `CountClass`."""

    share_to: Decimal
    days_between: int
    recount_percent: Decimal
    recount_value: Decimal


@dataclass(frozen=True)
class Due:
    """An item that is to be counted: its class, when it was last counted, and how many days that is over."""

    item: Item
    count_class: CountClass
    last: date | None
    days_over: int | None
    is_on_sheet: bool


def classes() -> list[CountClass]:
    """The classes, the most used first. A workshop that has none gets three."""
    found = list(CountClass.objects.order_by("share_to", "code"))
    if found:
        return found
    CountClass.objects.bulk_create(
        [
            CountClass(
                code=code,
                share_to=Decimal(share),
                days_between=days,
                recount_percent=Decimal(percent),
                recount_value=Decimal(value),
            )
            for code, share, days, percent, value in FIRST_CLASSES
        ],
        ignore_conflicts=True,
    )
    return list(CountClass.objects.order_by("share_to", "code"))


@transaction.atomic
def set_classes(*, figures: Mapping[str, ClassFigures], by: User | None) -> list[CountClass]:
    """Change the figures of classes, by code.

    Raises:
        ProblemError: shares that do not rise to 100, or days below one.
    """
    rows = {one.code: one for one in classes()}
    for code, new in figures.items():
        row = rows[code]
        row.share_to, row.days_between = new.share_to, new.days_between
        row.recount_percent, row.recount_value = new.recount_percent, new.recount_value
    shares = [rows[code].share_to for code in sorted(rows)]
    rising = all(one < other for one, other in pairwise(shares))
    if not rising or shares[-1] != 100 or any(row.days_between < 1 for row in rows.values()):
        raise ProblemError(
            Problem(
                f"The shares are {', '.join(f'{share.normalize():f}' for share in shares)} percent",
                "count classes",
                "Let them rise, the last to 100, and let each class have at least one day.",
            )
        )
    CountClass.objects.bulk_update(
        rows.values(), ["share_to", "days_between", "recount_percent", "recount_value"]
    )
    return classes()


def yearly_values(item_ids: Collection[int] | None = None) -> dict[int, Decimal]:
    """What was used of each item in a year, at standard cost (money). Items that lay anywhere. Two queries."""
    begin = timezone.now() - timedelta(days=DAYS_LOOKED_BACK)
    used = dict(
        Movement.objects.filter(
            location__kind=Location.Kind.SHELF,
            posting__kind__in=USES,
            posting__reversed_by__isnull=True,
            happened_at__gte=begin,
        )
        .order_by()
        .values_list("item_id")
        .annotate(total=summed())
    )
    costs = Item.objects.filter(Q(pk__in=used) | Q(balances__isnull=False)).distinct()
    return {pk: -used.get(pk, Decimal(0)) * cost for pk, cost in costs.values_list("pk", "standard_cost")}


def class_codes(item_ids: Collection[int], *, values: Mapping[int, Decimal] | None = None) -> dict[int, str]:
    """The class of each item: set by hand, else by its value among all items. Four queries.

    `values` are `yearly_values`, where the caller has them already.
    """
    rows = classes()
    by_value = classify(
        yearly_values() if values is None else values, [Cut(row.code, row.share_to) for row in rows]
    )
    by_hand = dict(
        HandlingRule.objects.filter(item__in=item_ids, count_class__isnull=False).values_list(
            "item_id", "count_class__code"
        )
    )
    return {pk: by_hand.get(pk, by_value.get(pk, rows[-1].code)) for pk in item_ids}


def last_counted(item_ids: Collection[int] | None = None) -> dict[int, date]:
    """The day each item was last counted on a sheet that was approved, or by hand with a difference. Two queries."""
    lines = CountLine.objects.filter(sheet__state=CountSheet.State.DONE, entries__isnull=False)
    posted = Movement.objects.filter(posting__kind=Posting.Kind.COUNT, location__kind=Location.Kind.COUNT)
    if item_ids is not None:
        lines, posted = lines.filter(item__in=item_ids), posted.filter(item__in=item_ids)
    found: dict[int, date] = {}
    for rows in (
        posted.order_by().values_list("item_id").annotate(last=Max("happened_at")),
        lines.order_by().values_list("item_id").annotate(last=Max("entries__counted_at")),
    ):
        for item_id, at in rows:
            day = timezone.localdate(at)
            found[item_id] = max(day, found.get(item_id, day))
    return found


def due_list(*, today: date | None = None) -> list[Due]:
    """Items to be counted: never counted, or longer ago than their class says; first classes first.

    Only what lies or lay on a shelf; items on an open sheet are marked. Eight queries whatever the number.
    """
    today = today or timezone.localdate()
    rows = {row.code: row for row in classes()}
    items = {
        item.pk: item
        for item in Item.objects.filter(
            is_active=True, is_phantom=False, balances__location__kind=Location.Kind.SHELF
        ).distinct()
    }
    codes, last = class_codes(items), last_counted()
    open_states = [CountSheet.State.COUNTING, CountSheet.State.COUNTED]
    on_sheet = set(CountLine.objects.filter(sheet__state__in=open_states).values_list("item_id", flat=True))
    found = []
    for pk, item in items.items():
        row, day = rows[codes[pk]], last.get(pk)
        over = None if day is None else (today - day).days - row.days_between
        if over is None or over >= 0:
            found.append(Due(item, row, day, over, pk in on_sheet))
    return sorted(found, key=_most_pressing)


def _most_pressing(due: Due) -> tuple[str, int, str]:
    over = 10**6 if due.days_over is None else due.days_over
    return (due.count_class.code, -over, due.item.code)


def counts_a_year(item_counts: Mapping[str, int], rows: Sequence[CountClass]) -> Decimal:
    """How many counts a year the classes come to, for so many items in each (days of a year: 365)."""
    return sum(
        (Decimal(item_counts.get(row.code, 0)) * 365 / row.days_between for row in rows), Decimal(0)
    ).quantize(Decimal(1))
