"""What the weld and coating stations wrote down of an order, as rows of its as-built record."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from production.coating.judging import rule_in_force, verdicts
from production.coating.models import PowderLine
from production.coating.paper_models import Certificate
from production.dispatch.models import BuiltRow
from production.orders.models import Order
from production.works.weld_models import WeldInspection

Kind = BuiltRow.Kind
LONGEST = 300


def weld_rows(order: Order) -> list[BuiltRow]:
    """Every inspection of its welds, with why one that was not good went on. One query."""
    found = (
        WeldInspection.objects.filter(card__lines__operation__works_order__order=order)
        .select_related("card", "cleared_by")
        .distinct()
        .order_by("at", "pk")
    )
    rows = []
    for one in found:
        said = f"Weld, card {one.card.number}: {'good' if one.is_good else f'not good, {one.words}'}"
        said += f", cleared by {one.cleared_by}: {one.clearance}" if one.cleared_at else ""
        rows.append(_row(order, Kind.MEASURED, said, one.by_id, one.at))
    return rows


def powder_rows(order: Order) -> list[BuiltRow]:
    """How its frame came out of each powder batch, with the mean of the readings. Three queries."""
    lines = list(
        PowderLine.objects.filter(order=order, batch__finished_at__isnull=False)
        .exclude(outcome=PowderLine.Outcome.OPEN)
        .select_related("batch")
        .order_by("batch__finished_at", "pk")
    )
    found = verdicts([line.pk for line in lines], rule_in_force())
    rows = []
    for line in lines:
        mean, count = found[line.pk].mean_um, len(found[line.pk].readings)
        said = f"Powder, batch {line.batch.number}: {line.get_outcome_display()}"
        said += f", mean {mean:.0f} µm of {count} readings" if mean is not None else ""
        said += f", {line.reason}" if line.reason else ""
        rows.append(_row(order, Kind.MEASURED, said, line.judged_by_id, line.judged_at))
    return rows


def certificate_rows(order: Order) -> list[BuiltRow]:
    """The galvaniser's certificates of the loads it was away with. One query."""
    filed = (
        Certificate.objects.filter(load__lines__order=order, withdrawn_at__isnull=True)
        .select_related("load")
        .distinct()
        .order_by("at")
    )
    return [
        _row(
            order,
            Kind.DOCUMENT,
            f"Galvanising certificate {one.number}, load {one.load.number}",
            one.by_id,
            one.at,
        )
        for one in filed
    ]


def _row(order: Order, kind: str, words: str, by_id: int | None, at: datetime | None) -> BuiltRow:
    return BuiltRow(order=order, kind=kind, words=words[:LONGEST], by_id=by_id, at=at or timezone.now())
