"""The exceptions of the parts plan as rows: what to change about supplies on their way, each with its reason."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal

from bom.templatetags.workshop import day_text, quantity_text
from inventory.stores.rules import substitutes
from production.planning.models import Plan, SupplyChange
from production.planning.needs import Needs
from production.planning.netting.exceptions import ExceptionKind, Means, SupplyException, exceptions
from production.planning.netting.plan import NetPlan

CENT, PLACES = Decimal("0.01"), Decimal("0.0001")
MOST_NAMED = 3


def store_changes(plan: Plan, needs: Needs, net: NetPlan) -> None:
    """Write the exceptions of a plan. Call inside a transaction. Three queries, more only where there are thousands."""
    found = exceptions(net, _means(needs, net))
    rows = SupplyChange.objects.bulk_create([_row(plan, needs, one) for one in found], batch_size=1000)
    through = SupplyChange.orders.through
    through.objects.bulk_create(
        [
            through(supplychange_id=row.pk, order_id=needs.orders[order].pk)
            for row, one in zip(rows, found, strict=True)
            for order in one.orders
        ],
        batch_size=1000,
    )


def _means(needs: Needs, net: NetPlan) -> Means:
    return Means(
        costs={code: item.standard_cost for code, item in needs.items.items()},
        substitutes=_instead({needs.items[row.item].pk: row.item for row in net.shortages}),
        days=needs.days.between,
        stops_on=needs.stops_on,
    )


def _instead(short: Mapping[int, str]) -> dict[str, Sequence[str]]:
    if not short:
        return {}
    return {
        short[item_id]: [offer.instead.code for offer in offers]
        for item_id, offers in substitutes(short.keys()).items()
    }


def _row(plan: Plan, needs: Needs, one: SupplyException) -> SupplyChange:
    return SupplyChange(
        plan=plan,
        kind=SupplyChange.Kind(one.kind.value),
        item=needs.items[one.item],
        instead=needs.items[one.instead] if one.instead else None,
        purchase_line_id=int(one.reference) if one.reference else None,
        quantity=one.quantity.quantize(PLACES),
        stands_on=date.fromordinal(one.stands_day),
        wanted_on=None if one.wanted_day is None else date.fromordinal(one.wanted_day),
        late_days=one.late_days,
        money=one.money.quantize(CENT),
        sentence=_sentence(one)[:300],
    )


def _sentence(one: SupplyException) -> str:
    """Why, in words."""
    amount, stands = quantity_text(one.quantity), day_text(date.fromordinal(one.stands_day))
    wanted = "" if one.wanted_day is None else day_text(date.fromordinal(one.wanted_day))
    waits, is_one = _waiting(one.orders), one.quantity == 1
    are = "is" if is_one else "are"
    if one.kind == ExceptionKind.CANCEL:
        return "Nothing that is planned needs " + ("this one." if is_one else f"these {amount}.")
    if one.kind == ExceptionKind.BACK:
        return f"Not needed before {wanted}; due on {stands}."
    if one.kind == ExceptionKind.SUBSTITUTE:
        return f"{waits} from {wanted}; due on {stands}. Of {one.instead} enough lie free."
    if one.kind == ExceptionKind.SPLIT and not one.orders:
        return f"{amount} of them {are} not needed before {wanted}; the rest is needed when it comes."
    part = f"{amount} of them {are} needed" if one.kind == ExceptionKind.SPLIT else "Needed"
    return f"{part} on {wanted}, due on {stands}. {waits}."


def _waiting(orders: Sequence[str]) -> str:
    more = f" and {len(orders) - MOST_NAMED} more" if len(orders) > MOST_NAMED else ""
    word, verb = ("Order", "waits") if len(orders) == 1 else ("Orders", "wait")
    return f"{word} {', '.join(orders[:MOST_NAMED])}{more} {verb}"
