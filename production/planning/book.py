"""What the whole open book needs of every item, added up from the frozen bills when a plan is made.

For background work only: it brings NumPy and SciPy in, which the web process does not load.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Sum

from bom.costing.requirements import total_requirements
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from production.orders.models import Order
from production.planning.models import BookNeed, Plan
from production.planning.needs import Needs

HALF_A_MILLIONTH = Decimal("0.0000005")


@dataclass(frozen=True)
class BookTotal:
    """So much of an item for so many orders."""

    quantity: Decimal
    orders: int


def book_totals(needs: Needs) -> dict[str, BookTotal]:
    """What the orders' frozen bills need in all by item code, the trailers included, whatever is there already."""
    counts = Counter(needs.bills.digests.values())
    tops = {bill: needs.orders[number].model.item.code for number, bill in needs.bills.digests.items()}
    bills = {
        bill: [
            (parent, component, quantity)
            for parent, below in needs.bills.edges.get(bill, {}).items()
            for component, quantity in below
        ]
        for bill in counts
    }
    totals = total_requirements(bills, tops, counts)
    orders: Counter[str] = Counter()
    for bill, lines in bills.items():
        for item in {tops[bill], *(component for _, component, _ in lines)}:
            orders[item] += counts[bill]
    return {item: BookTotal(quantity, orders[item]) for item, quantity in totals.items()}


def refuse_other_totals(found: Mapping[str, BookTotal], orders: Iterable[Order]) -> None:
    """Hold what the lines of the bills add up to against the totals that were frozen with them. One query.

    Raises:
        ProblemError: they differ, so that something was written past the order desk.
    """
    bills = {order.pk for order in orders if order.bill_id}
    rows = Order.objects.filter(pk__in=bills, bill__totals__isnull=False).order_by()
    frozen = {
        code: (total, count)
        for code, total, count in rows.values("bill__totals__item__code")
        .annotate(total=Sum("bill__totals__quantity"), count=Count("pk"))
        .values_list("bill__totals__item__code", "total", "count")
    }
    problems = []
    for code in sorted(found.keys() | frozen.keys()):
        lines = found.get(code, BookTotal(Decimal(0), 0))
        total, count = frozen.get(code, (Decimal(0), 0))
        # A frozen total is rounded to six places, and SQLite adds in binary fractions.
        if abs(lines.quantity - total) > count * HALF_A_MILLIONTH + abs(total) * Decimal("1e-12"):
            problems.append(
                Problem(
                    f"The lines of the frozen bills add up to {format_quantity(lines.quantity)}, "
                    f"their totals to {format_quantity(Decimal(total))}",
                    f"item {code}",
                    "Find the order by the item's needs, change it to the same choices, and plan again.",
                )
            )
    if problems:
        raise ProblemError(*problems)


def store_book(plan: Plan, needs: Needs, found: Mapping[str, BookTotal]) -> None:
    """Write the totals of a plan. Call inside a transaction."""
    BookNeed.objects.bulk_create(
        [
            BookNeed(plan=plan, item=needs.items[code], quantity=one.quantity, orders=one.orders)
            for code, one in found.items()
        ],
        batch_size=1000,
    )
