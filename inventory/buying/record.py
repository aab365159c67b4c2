"""Suppliers' records from the receipts: how long they took, whether they kept their day, what to plan by.

A line counts from its order's day of release. Its lead time ends with the first delivery that was not taken back;
it was on time if all of it was there by the day first confirmed (where nothing was confirmed, the day wanted).
Parts of a line that a supplier brings later are lines of their own and are judged by their own promise.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import TypeVar

from django.db.models import OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from inventory.buying.measured import (
    LineRecord,
    PlanningLead,
    Record,
    line_record,
    planning_lead,
    summarise,
)
from inventory.buying.models import Confirmation, PurchaseOrder, PurchaseOrderLine, Receipt, Supplier
from inventory.buying.outside import service_for
from inventory.buying.outside_models import OutsideAnswer, OutsideLine
from inventory.levels.queries import offers

DAYS_LOOKED_BACK = 730

K = TypeVar("K")

Pair = tuple[int, int]
"""Item and supplier, by their ids."""


def line_records(
    *,
    item_ids: Iterable[int] | None = None,
    supplier_ids: Iterable[int] | None = None,
    today: date | None = None,
) -> list[LineRecord]:
    """Every purchase line of the last two years that was released, with its deliveries. Two queries."""
    today = today or timezone.localdate()
    lines = _released_lines(today - timedelta(days=DAYS_LOOKED_BACK))
    if item_ids is not None:
        lines = lines.filter(item_id__in=set(item_ids))
    if supplier_ids is not None:
        lines = lines.filter(order__supplier_id__in=set(supplier_ids))
    rows = list(lines)
    came = _deliveries(rows)
    return [_record(row, came[row.pk], today) for row in rows]


def records(item_ids: Iterable[int] | None = None, *, today: date | None = None) -> dict[Pair, Record]:
    """By item and supplier, the record of the items asked for (of all where none are). Two queries."""
    return _grouped(
        line_records(item_ids=item_ids, today=today), lambda line: (line.item_id or 0, line.supplier_id)
    )


def supplier_records(*, today: date | None = None) -> dict[int, Record]:
    """By supplier, the record over everything bought from him, goods and outside work. Three queries."""
    lines = [*line_records(today=today), *load_records(today=today)]
    return _grouped(lines, lambda line: line.supplier_id)


def load_records(
    *, supplier_ids: Iterable[int] | None = None, work: str = "", today: date | None = None
) -> list[LineRecord]:
    """Every load of the last two years that was sent out for work, `work` alone where it is named. One query.

    Its days are working days from leaving to the first of it being back; it was on time if all of it was back by
    the day first promised (where none was, the day wanted). What is lost for good never came in time.
    """
    today = today or timezone.localdate()
    first = OutsideAnswer.objects.filter(line=OuterRef("pk"), promised_on__isnull=False).order_by("at", "pk")
    rows = OutsideLine.objects.filter(
        order__ordered_on__gte=today - timedelta(days=DAYS_LOOKED_BACK)
    ).select_related("order", "service")
    if supplier_ids is not None:
        rows = rows.filter(order__supplier_id__in=set(supplier_ids))
    if work:
        rows = rows.filter(service__work=work)
    promised = Coalesce(Subquery(first.values("promised_on")[:1]), "wanted_on")
    return [_load_record(row, today) for row in rows.annotate(promised_on=promised).order_by("pk")]


def time_away(work: str, *, today: date | None = None) -> PlanningLead | None:
    """The working days that a load for this work is away, as planning should count on; None where nobody does it.

    Measured like the lead time of goods, by the terms of the supplier we would choose. Two queries.
    """
    service = service_for(work)
    if service is None:
        return None
    supplier = service.supplier
    known = load_records(supplier_ids=[supplier.pk], work=work, today=today)
    return planning_lead(
        summarise(known),
        stated_days=service.days_away,
        percent=supplier.lead_percentile,
        fewest=supplier.fewest_deliveries,
    )


def _load_record(line: OutsideLine, today: date) -> LineRecord:
    order = line.order
    assert order.ordered_on is not None  # asked for by the query
    return line_record(
        line_id=line.pk,
        order_number=order.number,
        position=line.position,
        item_id=None,
        supplier_id=order.supplier_id,
        ordered_on=order.ordered_on,
        promised_on=line.promised_on,  # type: ignore[attr-defined]
        came_on=timezone.localdate(line.came_at) if line.came_at else None,
        complete_on=timezone.localdate(line.complete_at) if line.complete_at else None,
        today=today,
    )


def planning_leads(item_ids: Iterable[int], *, today: date | None = None) -> dict[int, PlanningLead]:
    """By item that somebody sells, the lead time to plan by, of the supplier we would choose. Four queries.

    Measured where the supplier has delivered the item at least as often as his terms ask (five, mostly): the
    percentile that his terms name. Else the lead time he states.
    """
    chosen = offers(item_ids)
    terms = _terms({offer.supplier_id for offer in chosen.values()})
    known = records(chosen, today=today)
    nothing = summarise(())
    return {
        item_id: planning_lead(
            known.get((item_id, offer.supplier_id), nothing),
            stated_days=offer.lead_days,
            percent=terms[offer.supplier_id].percent,
            fewest=terms[offer.supplier_id].fewest,
        )
        for item_id, offer in chosen.items()
    }


@dataclass(frozen=True)
class _Terms:
    percent: int
    fewest: int


def _terms(supplier_ids: Iterable[int]) -> dict[int, _Terms]:
    rows = Supplier.objects.filter(pk__in=set(supplier_ids))
    return {
        pk: _Terms(percent, fewest)
        for pk, percent, fewest in rows.values_list("pk", "lead_percentile", "fewest_deliveries")
    }


def _grouped(lines: Iterable[LineRecord], key: Callable[[LineRecord], K]) -> dict[K, Record]:
    groups: dict[K, list[LineRecord]] = defaultdict(list)
    for line in lines:
        groups[key(line)].append(line)
    return {name: summarise(rows) for name, rows in groups.items()}


def _released_lines(since: date) -> QuerySet[PurchaseOrderLine]:
    first = Confirmation.objects.filter(line=OuterRef("pk")).order_by("at", "pk").values("promised_on")[:1]
    return (
        PurchaseOrderLine.objects.filter(
            Q(order__state__in=(PurchaseOrder.State.RELEASED, PurchaseOrder.State.DONE)),
            order__ordered_on__gte=since,
        )
        .select_related("order")
        .annotate(promised_on=Coalesce(Subquery(first), "wanted_on", "due_on"))
        .order_by("pk")
    )


def _deliveries(lines: Iterable[PurchaseOrderLine]) -> dict[int, list[tuple[date, Decimal]]]:
    """By line, when how much came, earliest first."""
    found: dict[int, list[tuple[date, Decimal]]] = defaultdict(list)
    rows = Receipt.objects.filter(
        line_id__in=[line.pk for line in lines], posting__reversed_by__isnull=True
    ).order_by("posting__happened_at", "pk")
    for line_id, at, quantity in rows.values_list("line_id", "posting__happened_at", "quantity"):
        found[line_id].append((timezone.localdate(at), quantity))
    return found


def _record(line: PurchaseOrderLine, came: list[tuple[date, Decimal]], today: date) -> LineRecord:
    order = line.order
    assert order.ordered_on is not None  # asked for by the query
    return line_record(
        line_id=line.pk,
        order_number=order.number,
        position=line.position,
        item_id=line.item_id,
        supplier_id=order.supplier_id,
        ordered_on=order.ordered_on,
        promised_on=line.promised_on,  # type: ignore[attr-defined]
        came_on=came[0][0] if came else None,
        complete_on=_complete_on(line, came),
        today=today,
    )


def _complete_on(line: PurchaseOrderLine, came: list[tuple[date, Decimal]]) -> date | None:
    """The day on which the last of it was there; a line closed short is complete with its last delivery."""
    there = Decimal(0)
    for day, quantity in came:
        there += quantity
        if there >= line.quantity:
            return day
    return came[-1][0] if came and line.is_closed else None
