"""Order numbers: one after the other, never the same twice. An order's number is its trailer's number."""

import re

from django.db import transaction
from django.db.models import IntegerField, Max
from django.db.models.functions import Cast

from production.orders.models import NumberSeries, Order

ORDERS = "orders"
FIRST_NUMBER = 1001


@transaction.atomic
def take_numbers(count: int = 1) -> list[str]:
    """The next `count` order numbers. The series row stays locked until the caller's transaction ends.

    A series that does not exist yet goes on after the highest number that any order bears.
    """
    series, _ = NumberSeries.objects.select_for_update().get_or_create(
        code=ORDERS, defaults={"last": _highest_in_use()}
    )
    first = series.last + 1
    series.last += count
    series.save(update_fields=["last"])
    return [str(number) for number in range(first, series.last + 1)]


def trailer_number(number: str) -> int | None:
    """An order's number as the trailer's place in the sequence; none where it is no whole number."""
    return int(number) if re.fullmatch(r"[0-9]{1,9}", number) else None


def next_number() -> int:
    """The number that the next order will get; nothing is taken. At most two queries."""
    last = NumberSeries.objects.filter(code=ORDERS).values_list("last", flat=True).first()
    return 1 + (_highest_in_use() if last is None else last)


def _highest_in_use() -> int:
    numbered = Order.objects.filter(number__regex=r"^[0-9]{1,9}$").annotate(
        as_number=Cast("number", IntegerField())
    )
    highest = numbered.aggregate(highest=Max("as_number"))["highest"]
    return max(highest or 0, FIRST_NUMBER - 1)
