"""A confirmed order against what it would be today, and what is already done of the parts that would go."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count
from django.utils import timezone

from bom.structure.expansion import Expansion
from production.cutting.models import CutPlacement
from production.orders.freezing import Book, load_book
from production.orders.models import Order
from production.orders.numbers import trailer_number
from production.site.bills.showing import ChangeRow, change_rows, totals_of, worth_of
from production.site.costs.reckoning import asked_by, expanded
from production.works.models import WorksOperation


@dataclass(frozen=True)
class TodayRow:
    """A part that differs; `done` says what there is of it already, in words."""

    row: ChangeRow
    done: str


@dataclass(frozen=True)
class Today:
    """An order against today. `rows` is None where it could not be built any more; `worth` is what bought
    parts and raw material would cost more, at standard cost."""

    order: Order
    rows: list[TodayRow] | None
    worth: Decimal
    has_begun: bool


def against_today(number: str) -> Today:
    """What differs if the order were confirmed today. Nine queries.

    Raises:
        Order.DoesNotExist: there is no such order.
    """
    order, asked = asked_by(number)
    book = load_book(timezone.localdate(), trailer_number(number))
    expansion = expanded(asked, book)
    states = dict(
        WorksOperation.objects.filter(works_order__order=order).values_list("process__code", "state")
    )
    begun = any(state in (WorksOperation.State.BEGUN, WorksOperation.State.DONE) for state in states.values())
    if expansion is None:
        return Today(order, None, Decimal(0), begun)
    return _compared(order, expansion, book, states, begun)


def _compared(
    order: Order, expansion: Expansion, book: Book, states: Mapping[str, str], begun: bool
) -> Today:
    rows = change_rows(totals_of(order), expansion.totals)
    cut = _cut(order)
    return Today(order, [TodayRow(row, _done(row, book, states, cut)) for row in rows], worth_of(rows), begun)


def _cut(order: Order) -> dict[str, int]:
    """Good parts cut for the order, by item code. One query."""
    placed = CutPlacement.objects.filter(order=order, state=CutPlacement.State.GOOD).order_by()
    return dict(placed.values_list("part__item__code").annotate(Count("pk")))


def _done(row: ChangeRow, book: Book, states: Mapping[str, str], cut: Mapping[str, int]) -> str:
    """What there is already of a part: cut for this order, or made by an operation of its works order."""
    code = row.item.code
    if code in cut:
        return f"{cut[code]} cut already"
    for work in book.work.get(code, ()):
        state = states.get(work.process)
        if work.process != "laser" and state == WorksOperation.State.DONE:
            return f"{work.process} done"
        if work.process != "laser" and state == WorksOperation.State.BEGUN:
            return f"{work.process} begun"
    return ""
