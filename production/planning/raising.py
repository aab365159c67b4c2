"""From a suggestion or a shelf alert to a draft purchase order, never twice."""

from collections.abc import Iterable, Sequence

from django.db import transaction

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine
from inventory.buying.ordering import Want, add_wants, raise_for, raise_orders
from inventory.buying.record import planning_leads
from inventory.levels.arithmetic import after_working_days
from inventory.levels.queries import shelf_alerts
from production.planning.models import Suggestion


@transaction.atomic
def raise_suggestions(*, suggestion_ids: Iterable[int], by: User | None) -> list[PurchaseOrder]:
    """Draft one purchase order for each supplier from suggestions to buy, due when they are needed.

    What cannot be there in time is due when the supplier can bring it. Suggestions that stand on an open purchase
    order already are left out.

    Raises:
        ProblemError: none is left to buy, one is to be made, or nobody sells it. Nothing is drafted then.
    """
    fresh = _fresh(suggestion_ids)
    wants = _wants(fresh)
    raised = raise_for(wants=wants, by=by)
    _stand_on(fresh, raised.lines)
    return raised.orders


@transaction.atomic
def add_suggestions(
    *, order: PurchaseOrder, suggestion_ids: Iterable[int], by: User | None
) -> list[PurchaseOrderLine]:
    """Put suggestions on a draft that stands already, mostly to reach the supplier's minimum value.

    Raises:
        ProblemError: as `raise_suggestions`, or the order is no draft. Nothing is added then.
    """
    fresh = _fresh(suggestion_ids)
    lines = add_wants(order=order, wants=_wants(fresh), by=by)
    _stand_on(fresh, lines)
    return lines


def _fresh(suggestion_ids: Iterable[int]) -> list[Suggestion]:
    """The suggestions, locked, that stand on no open order; refuses what is made here and what is all bought."""
    rows = list(
        Suggestion.objects.select_for_update(of=("self",))
        .filter(pk__in=set(suggestion_ids))
        .select_related("item", "purchase_line__order")
        .order_by("number")
    )
    _refuse_what_is_made(rows)
    fresh = [row for row in rows if _is_unbought(row)]
    if not fresh:
        raise ProblemError(_nothing_left(rows))
    return fresh


def _stand_on(rows: Sequence[Suggestion], lines: Sequence[PurchaseOrderLine]) -> None:
    for row, line in zip(rows, lines, strict=True):
        row.purchase_line = line
    Suggestion.objects.bulk_update(rows, ["purchase_line"])


def _wants(fresh: Sequence[Suggestion]) -> list[Want]:
    leads = planning_leads([row.item_id for row in fresh])
    wants = []
    for row in fresh:
        lead = leads.get(row.item_id)
        arrives = after_working_days(row.begin_on, lead.days if lead else row.item.lead_days)
        wants.append(Want(row.item_id, None, row.quantity, max(row.needed_on, arrives)))
    return wants


@transaction.atomic
def raise_for_shelf(*, item: Item, by: User | None) -> list[PurchaseOrder]:
    """Draft a purchase order for an item whose shelf is under its level, for what the alert suggests.

    Raises:
        ProblemError: the shelf is not under its level, a draft for it stands already, or nobody sells it.
    """
    Item.objects.select_for_update().get(pk=item.pk)
    drafted = drafts_of([item.pk]).get(item.pk)
    if drafted is not None:
        raise ProblemError(
            Problem(
                f"{item.code} stands on draft {drafted} already",
                "",
                "Release that purchase order, or change its quantity.",
            )
        )
    alert = next(iter(shelf_alerts([item.pk])), None)
    if alert is None:
        raise ProblemError(
            Problem(f"The shelf of {item.code} is not under its level", "", "Nothing needs to be bought.")
        )
    due_on = alert.arrives_on or alert.order_by
    return raise_orders(wants=[Want(item.pk, None, alert.quantity, due_on)], by=by)


def drafts_of(item_ids: Iterable[int]) -> dict[int, str]:
    """The number of a draft purchase order that holds each item. One query."""
    lines = PurchaseOrderLine.objects.filter(
        item_id__in=set(item_ids), order__state=PurchaseOrder.State.DRAFT
    )
    return dict(lines.order_by("-pk").values_list("item_id", "order__number"))


def _is_unbought(row: Suggestion) -> bool:
    line = row.purchase_line
    return line is None or line.order.state == PurchaseOrder.State.CANCELLED


def _refuse_what_is_made(rows: Sequence[Suggestion]) -> None:
    made = [row for row in rows if row.kind != Suggestion.Kind.BUY]
    if made:
        raise ProblemError(
            *(
                Problem(
                    f"{row.item.code} is made here, not bought",
                    f"suggestion {row.number}",
                    "Leave it out; the released plan gives the work to the stations.",
                )
                for row in made
            )
        )


def _nothing_left(rows: Sequence[Suggestion]) -> Problem:
    if not rows:
        return Problem("No suggestion was chosen", "", "Tick what to buy, then press the button.")
    numbers = sorted({row.purchase_line.order.number for row in rows if row.purchase_line})
    return Problem(
        f"All of it stands on {', '.join(numbers)} already", "", "Open that purchase order to change it."
    )
