"""Costs worked out once and kept: for lists, which would else open every bill again.

Kept anew each night, when somebody looks at a list that is stale, and by the demonstration. Stock is valued as it
was at the end of yesterday, so that figures hold for a day.
"""

import hashlib
from collections.abc import Collection
from datetime import date, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Aggregate, Count, F, FloatField, Max, Q, QuerySet, Sum, Value
from django.db.models.functions import Cast
from django.utils import timezone

from bom.catalogue.models import ModelFinish, ModelOption, TrailerModel
from bom.items.models import Item
from bom.structure.models import BillLine, Revision
from inventory.buying.models import SupplierItem
from inventory.stock.costs import Basis
from inventory.stock.valuing import unit_cost
from production.coating.models import LoadLine
from production.cutting.models import CutSheet
from production.orders.cost_models import CostSnapshot, KnownUnitCost
from production.orders.models import Order
from production.shop.models import CostAllowance, LorryDay, WorkCentreRate
from production.site.costs.reckoning import Asked, Reckoned, reckon_asked, reckon_orders, usual_forms

ROWS_AT_ONCE = 500
ORDERS_AT_ONCE = 200


def mark(day: date) -> str:
    """Changes when a price, rate, allowance, lorry, yield, bill, offer or standard cost does, and with the day. One
    query.

    It is made of counts and sums, so two changes that undo each other in the sum pass unseen until tomorrow.
    """
    asked = [
        (SupplierItem, Count("pk"), Sum("price")),
        (Item, Count("pk"), Sum("standard_cost")),
        (WorkCentreRate, Count("pk"), Sum(F("labour_per_hour") + F("overhead_per_hour"))),
        (CostAllowance, Count("pk"), Sum("scrap_share")),
        (LorryDay, Sum("minimum_charge_kg"), Sum("price_per_kg")),
        (LoadLine, Count("pk"), Sum("mass_kg")),
        (CutSheet, Count("pk"), Sum("used_length_mm")),
        (BillLine, Count("pk"), Max("revision_id")),
        (Revision, Count("pk", filter=Q(state=Revision.State.RELEASED)), Sum("from_number")),
        (TrailerModel, Count("pk"), Sum("base_price")),
        (ModelOption, Count("pk", filter=Q(is_default=True)), Sum("price")),
        (ModelFinish, Count("pk"), Sum("price")),
    ]
    queries = [_marks_of(at, model, first, second) for at, (model, first, second) in enumerate(asked)]
    found = sorted(queries[0].union(*queries[1:], all=True))
    said = [(at, float(first or 0), round(float(second or 0), 4)) for at, first, second in found]
    return hashlib.sha256(repr((day, said)).encode()).hexdigest()[:32]


def _marks_of(at: int, model: Any, first: Aggregate, second: Aggregate) -> QuerySet[Any, Any]:
    rows: QuerySet[Any] = model.objects.order_by().annotate(at=Value(at)).values("at")
    marks = rows.annotate(first=Cast(first, FloatField()), second=Cast(second, FloatField()))
    listed: QuerySet[Any, Any] = marks.values_list("at", "first", "second")
    return listed


def keep_costs() -> int:
    """Value the stock of yesterday and work out every confirmed order and model anew. Returns how many were kept."""
    day = timezone.localdate()
    _keep_unit_costs(day - timedelta(days=1))
    rests_on = mark(day)
    orders = list(
        Order.objects.filter(bill__isnull=False)
        .exclude(state=Order.State.CANCELLED)
        .order_by("bill_id", "pk")
    )
    kept = 0
    for begin in range(0, len(orders), ORDERS_AT_ONCE):
        kept += keep_orders(orders[begin : begin + ORDERS_AT_ONCE], day, rests_on)
    return kept + _keep_models(day, rests_on)


def current(order: Order) -> CostSnapshot | None:
    """What is kept of the order, if it still has that bill and finish. No query where it was selected with it."""
    kept: CostSnapshot | None = getattr(order, "cost_snapshot", None)
    return kept if kept and (kept.bill_id, kept.finish) == (order.bill_id, order.finish) else None


def keep_orders(orders: Collection[Order], day: date, rests_on: str) -> int:
    """Work these orders out and keep what they cost. A constant number of queries, and one for the mark."""
    found = reckon_orders(orders, day)
    rows = [
        snapshot_of(found[order.pk], day, rests_on, order=order, bill_id=order.bill_id)
        for order in orders
        if order.pk in found
    ]
    with transaction.atomic():
        CostSnapshot.objects.filter(order__in=[row.order_id for row in rows]).delete()
        CostSnapshot.objects.bulk_create(rows, batch_size=ROWS_AT_ONCE)
    return len(rows)


def _keep_models(day: date, rests_on: str) -> int:
    forms = usual_forms(TrailerModel.objects.filter(is_active=True))
    rows = [
        model_snapshot(asked, found, day, rests_on)
        for asked, found in zip(forms, reckon_asked(forms, day), strict=True)
    ]
    with transaction.atomic():
        CostSnapshot.objects.filter(model__isnull=False).delete()
        CostSnapshot.objects.bulk_create(rows)
    return len(rows)


def model_snapshot(asked: Asked, found: Reckoned | None, day: date, rests_on: str) -> CostSnapshot:
    """Not written yet. A model whose bill cannot be worked out is kept without a cost."""
    if found is not None:
        return snapshot_of(found, day, rests_on, model=asked.model)
    finish = asked.answers.finish
    return CostSnapshot(model=asked.model, finish=finish, day=day, rests_on=rests_on, price=asked.price)


def snapshot_of(found: Reckoned, day: date, rests_on: str, **subject: Any) -> CostSnapshot:
    balance = found.bill.balance
    return CostSnapshot(
        finish=found.finish,
        day=day,
        rests_on=rests_on,
        cost=found.cost,
        price=found.price,
        mass_kg=balance.mass_kg,
        centre_mm=balance.x_mm,
        is_estimated=balance.is_estimated,
        **subject,
    )


def _keep_unit_costs(on: date) -> None:
    """What stock is worth, of items of which something ever came."""
    bought = [pk for pk, kind in Item.objects.values_list("pk", "kind") if kind != Item.Kind.MADE]
    rows = [
        KnownUnitCost(item_id=item_id, cost=one.cost, basis=one.basis, on=on)
        for item_id, one in unit_cost(bought, on).items()
        if one.basis != Basis.STANDARD
    ]
    with transaction.atomic():
        KnownUnitCost.objects.all().delete()
        KnownUnitCost.objects.bulk_create(rows, batch_size=ROWS_AT_ONCE)
