"""What the demonstration's stock cost: prices that wander about the standard, some freight bills, sheets by age."""

from __future__ import annotations

from decimal import Decimal
from random import Random

from bom.items.models import Item
from bom.people.models import User
from inventory.stock import stating
from inventory.stock.cost_models import CostMethod
from inventory.stock.cost_points import keep_points
from inventory.stock.models import Location, Movement, Posting

_STEEL_A_KG = Decimal("1.90")
_FREIGHT = (("F-2207", Decimal("84.50")), ("F-2231", Decimal("61.20")), ("F-2260", Decimal("118.75")))
_PLACES = Decimal("0.0001")


def add_costs(seed: str, by: User) -> None:
    """Say what every delivery cost, share the freight of three of them, and keep the worth of each month's end."""
    random = Random(f"costs {seed}")
    _deliveries(random, by)
    _found_parts(by)
    _freight(by)
    for sheet in Item.objects.filter(kind=Item.Kind.SHEET):
        stating.choose_method(method=CostMethod.Method.FIFO, item=sheet)
    keep_points()


def _deliveries(random: Random, by: User) -> None:
    """Each at the standard cost, up to four per cent dearer or cheaper, and dearer by a little each month."""
    came = Movement.objects.filter(posting__kind=Posting.Kind.RECEIPT, location__kind=Location.Kind.SUPPLIER)
    rows = came.order_by("posting__happened_at", "posting_id", "item__code").select_related("item", "posting")
    first = rows.first()
    if first is None:
        return
    costs = []
    for row in rows:
        months = (row.posting.happened_at - first.posting.happened_at).days // 30
        factor = 1 + Decimal(months) / 400 + Decimal(random.randint(-40, 40)) / 1000
        costs.append(
            stating.Said(row.posting_id, row.item_id, (row.item.standard_cost * factor).quantize(_PLACES))
        )
    stating.state_many(costs=costs, reason="supplier's bill", by=by)


def _found_parts(by: User) -> None:
    """Parts that lay there at the first count are worth their steel."""
    found = Movement.objects.filter(
        posting__kind=Posting.Kind.OPENING, location__kind=Location.Kind.COUNT, item__standard_cost=0
    )
    rows = found.order_by("posting_id", "item__code").select_related("item")
    costs = [
        stating.Said(row.posting_id, row.item_id, (row.item.mass_kg * _STEEL_A_KG).quantize(_PLACES))
        for row in rows
    ]
    stating.state_many(costs=costs, reason=f"steel at {_STEEL_A_KG} a kilogram", by=by)


def _freight(by: User) -> None:
    deliveries = Posting.objects.filter(kind=Posting.Kind.RECEIPT, movements__item__mass_kg__gt=0).distinct()
    for (paper, amount), posting in zip(_FREIGHT, deliveries.order_by("-happened_at", "key"), strict=False):
        stating.add_charge(
            postings=[posting],
            kind="freight",
            amount=amount,
            shared_by="mass",
            paper=paper,
            by=by,
            key=f"demo:{paper}",
        )
