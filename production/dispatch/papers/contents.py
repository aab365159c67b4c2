"""What stands on the papers of trailers: texts only, from plates, orders, ratings and inspections."""

from __future__ import annotations

import io
from collections import defaultdict
from collections.abc import Sequence

import segno
from django.utils import timezone

from bom.kernel.scans import Kind, label_text
from bom.templatetags.workshop import day_text
from production.dispatch.models import CheckResult, Inspection, SerialPlate
from production.dispatch.plating import the_maker
from production.orders.models import Order
from production.orders.rating_models import SetUpRecord

Text = str | list[list[str]]
_SET_UP = (
    ("Axle from the coupling", "axle_mm", "mm"),
    ("Winch post from the coupling", "post_mm", "mm"),
    ("Transom from the coupling", "transom_mm", "mm"),
    ("Nose load, worked out", "nose_kg", "kg"),
)


def contents_of(orders: Sequence[Order]) -> dict[int, dict[str, Text]]:
    """The texts by order id. Six queries whatever the number of orders."""
    maker = the_maker()
    checks = _checks(orders)
    plates = {
        one.order_id: one for one in SerialPlate.objects.filter(order__in=orders, followed_by__isnull=True)
    }
    signed = {
        one.order_id: f"Signed by {one.signed_by}, {day_text(one.signed_at)}."
        for one in Inspection.objects.filter(order__in=orders, signed_at__isnull=False).select_related(
            "signed_by"
        )
    }
    set_ups = {
        one.rating.order_id: one
        for one in SetUpRecord.objects.filter(rating__order__in=orders)
        .select_related("rating")
        .order_by("rating__number")
    }
    today = day_text(timezone.localdate())
    found_texts = {}
    for order in orders:
        plate = plates.get(order.pk)
        vin = plate.vin if plate else "no plate yet"
        set_up = set_ups.get(order.pk)
        found_texts[order.pk] = {
            "maker": maker.name if maker else "",
            "address": " · ".join(maker.address.splitlines()) if maker else "",
            "order": order.number,
            "vin": vin,
            "number": str(plate.number) if plate else "",
            "year": str(plate.model_year) if plate else "",
            "model": order.model.name,
            "max_mass": str(order.model.max_mass_kg),
            "own_mass": f"{order.bill.mass_kg:.0f}" if order.bill else "",
            "axles": str(order.model.axles),
            "braked": "braked" if order.model.braked else "unbraked",
            "length": str(order.model.length_mm),
            "width": str(order.model.width_mm),
            "finish": order.get_finish_display(),
            "owner": order.customer.name,
            "place": order.customer.place,
            "hull": order.hull.name,
            "today": today,
            "signed": signed.get(order.pk, "Not signed."),
            "setup": [
                [words, f"{getattr(set_up, name):.0f} {unit}"] for words, name, unit in _SET_UP if set_up
            ]
            or [["Set-up", "not on record"]],
            "checks": checks.get(order.pk) or [["Nothing written down yet", "", "", ""]],
            "qr": _symbol(plate.vin if plate else label_text(Kind.ORDER, order.number)),
            "order_qr": _symbol(label_text(Kind.ORDER, order.number)),
        }
    return found_texts


def _checks(orders: Sequence[Order]) -> dict[int, list[list[str]]]:
    """By order what was looked at: words, value, outcome, who. One query."""
    checks: dict[int, list[list[str]]] = defaultdict(list)
    for row in (
        CheckResult.objects.filter(inspection__order__in=orders)
        .select_related("inspection", "by", "clearance")
        .order_by("pk")
    ):
        found = f"{row.value.normalize():f} {row.unit}" if row.value is not None else ""
        word = "good" if row.is_good else "cleared" if hasattr(row, "clearance") else "not good"
        checks[row.inspection.order_id].append([row.words, found, word, str(row.by)])
    return checks


def _symbol(text: str) -> str:
    """A QR code with the quiet zone of four modules that ISO/IEC 18004 asks for, as SVG."""
    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(out, kind="svg", border=4, xmldecl=False)
    return out.getvalue().decode()
