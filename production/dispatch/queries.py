"""What the pages of the gate show: trailers that may leave, with what is still open on each."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Case, F, QuerySet, When

from production.assembly.fitting import wanted_of
from production.dispatch.models import Inspection, SerialPlate
from production.orders.models import Order


@dataclass(frozen=True)
class Ready:
    """A trailer at the gate, its plate, and in few words what it lacks ("" when it may leave)."""

    order: Order
    vin: str
    lacks: str


def ready_to_go() -> QuerySet[Order]:
    """Trailers whose work is done, the earliest promise first."""
    return (
        Order.objects.filter(state=Order.State.DONE)
        .select_related("customer", "model", "hull")
        .annotate(
            held_to=Case(When(promised_on__isnull=False, then=F("promised_on")), default=F("asked_for"))
        )
        .order_by("held_to", "number")
    )


def at_the_gate(most: int) -> list[Ready]:
    """The first trailers at the gate. Seven queries."""
    orders = list(ready_to_go()[:most])
    signed = set(
        Inspection.objects.filter(order__in=orders, signed_at__isnull=False).values_list(
            "order_id", flat=True
        )
    )
    vins = vins_of(orders)
    numbers = wanted_of(orders)
    return [
        Ready(
            order,
            vins.get(order.pk, ""),
            ", ".join(
                word
                for word, lacks in (
                    ("signature", order.pk not in signed),
                    ("plate", order.pk not in vins),
                    ("numbers of parts", any(one.missing for one in numbers[order.pk])),
                )
                if lacks
            ),
        )
        for order in orders
    ]


def vins_of(orders: list[Order]) -> dict[int, str]:
    """The VIN on each trailer that has a plate, by order id."""
    rows = SerialPlate.objects.filter(order__in=orders, followed_by__isnull=True)
    return dict(rows.values_list("order_id", "vin"))
