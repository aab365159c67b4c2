"""Coating and weld of the demonstration: figures of the powder steps, jig sheets, loads that left and came back.

All figures are common practice, no source; the galvaniser and his certificate are invented.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from django.utils import timezone

from bom.geometry import venting
from bom.geometry.vents import vent_state
from bom.items.models import Item
from bom.kernel.attachments import PDF, Attachment
from bom.people.models import User
from bom.structure.models import Process
from production.coating.counting_back import Found, load_back
from production.coating.filing import file_certificate
from production.coating.load_rules import lines_of
from production.coating.loads import put_on, send_load, sign_vents
from production.coating.models import GalvanisingLoad
from production.coating.pick_up import pick_up
from production.coating.powder_models import Step, StepRule, ThicknessRule
from production.orders.models import Order
from production.shop.models import LorryDay
from production.works.card_models import JobCard
from production.works.first_process import made_items
from production.works.jig_sheets import store_sheet
from production.works.models import WorksOperation
from production.works.weld_inspecting import inspect_weld

PRACTICE = "common practice, no source; the powder's data sheet comes first"
# Least minutes, and how hot the metal is.
_STEPS = {Step.SWEEP: (0, None), Step.DEGAS: (30, 210), Step.COAT: (0, None), Step.CURE: (15, 190)}
_FRAME = (
    "Rails into the jig, toe stops at the rear; both hangers of a pair, left and right, before the cross members.",
    "Tack every joint, then measure both diagonals: they differ by 3 mm at most.",
    "Weld from the middle outwards, one side after the other; leave every vent and drain hole open.",
    "Prop on both sides, turn once with the hoist, weld the rest; dress what a tyre or a strap can touch.",
)
_DRAWBAR = (
    "Coupling head square on the tube, bolt pattern against the gauge.",
    "Gussets both sides; no weld across the tube's corner.",
)
_HANGER = ("Left and right hand as a pair on one peg.", "Pad flush; bore stays free of spatter.")
_POST = ("Base square to the post, checked with the long square.", "Drain hole at the foot stays open.")
# Code begins, jig, notes.
_SHEETS = (
    ("CH-", "long bed, stops for the frame's length", _FRAME),
    ("DB-", "drawbar stand, gauge for the coupling", _DRAWBAR),
    ("HB-", "peg plate, both hands", _HANGER),
    ("WP-", "corner plate", _POST),
)
# With fewer orders under way the demonstration is left without loads of its own.
ENOUGH_BEGUN = 4
QUALITY = "ISO 5817, level C"
# The least file that says it is a PDF; the certificate of an invented galvaniser needs no more.
_PAPER = b"""%PDF-1.4
1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj
2 0 obj<</Type/Pages/Kids[3 0 R]/Count 1>>endobj
3 0 obj<</Type/Page/Parent 2 0 R/MediaBox[0 0 420 300]/Contents 4 0 R/Resources<</Font<</F 5 0 R>>>>>>endobj
4 0 obj<</Length 84>>stream
BT /F 14 Tf 40 220 Td (Marlbeck Zinc Baths) Tj 0 -30 Td (Certificate 5518) Tj ET
endstream endobj
5 0 obj<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>endobj
trailer<</Root 1 0 R>>
%%EOF
"""


def add_coating_figures(items: Mapping[str, Item], by: User) -> None:
    """Times and heat of the powder steps, the thickness asked for, and a jig sheet for each welded kind of part."""
    StepRule.objects.bulk_create(
        StepRule(step=step, least_minutes=minutes, temperature_c=heat, source=PRACTICE)
        for step, (minutes, heat) in _STEPS.items()
    )
    ThicknessRule.objects.create(least_um=60, most_um=140, readings=5, source=PRACTICE, by=by)
    weld = Process.objects.get(code="weld")
    for begins, jig, notes in _SHEETS:
        for code in sorted(items):
            if code.startswith(begins):
                store_sheet(
                    item=items[code],
                    process=weld,
                    jig=jig,
                    quality=QUALITY,
                    is_inspected=False,
                    notes=notes,
                    by=by,
                )


def coat_some(begun: Sequence[Order], people: Mapping[str, User]) -> None:
    """Of the welded orders one is back from the galvaniser and the next is away, and a weld of the last waits for
    somebody to clear it. A small demonstration has too few for that."""
    welded = [order for order in begun if _is_welded(order)]
    if len(begun) < ENOUGH_BEGUN:
        return
    # One that is powder coated first, so that a frame waits for the oven.
    ready = sorted(filter(_has_its_holes, welded), key=lambda order: order.finish != "duplex")
    now, coating = timezone.now(), people["coating"]
    for order in ready[:1]:
        back = _sent("GL-0-01", order, now - timedelta(days=6), coating)
        _count_back(back, now - timedelta(hours=20), coating)
    for order in ready[1:2]:
        _sent("GL-0-02", order, now - timedelta(days=1), coating)
    for order in [one for one in welded if one not in ready[:2]][-1:]:
        _find_a_fault(order, people["assembly"])


def _find_a_fault(order: Order, by: User) -> None:
    cards = JobCard.objects.filter(process__code="weld", lines__operation__works_order__order=order)
    card = cards.filter(state=JobCard.State.DONE).first()
    if card is not None:
        words = "undercut along the left hanger, about 40 mm"
        inspect_weld(card=card, is_good=False, words=words, by=by, key="demo:weld")


def _is_welded(order: Order) -> bool:
    states = dict(
        WorksOperation.objects.filter(works_order__order=order).values_list("process__code", "state")
    )
    return states.get("weld") == WorksOperation.State.DONE and "galvanise" in states


def _has_its_holes(order: Order) -> bool:
    """Every member that goes into the bath can be signed for."""
    made = made_items([order.bill_id or 0]).get(order.bill_id or 0, {})
    bathed = [one.item_id for one in made.values() if "galvanise" in one.processes]
    return all(one.outcome != venting.NOT_MET for one in vent_state(bathed).values())


def _sent(number: str, order: Order, left_at: datetime, by: User) -> GalvanisingLoad:
    """A load of the time before the first plan, signed, weighed and sent."""
    day = LorryDay.objects.order_by("weekday").first()
    load = GalvanisingLoad.objects.create(
        number=number,
        state=GalvanisingLoad.State.RELEASED,
        leaves_at=left_at,
        back_at=left_at + timedelta(days=day.back_after_days + 1 if day else 5),
        max_kg=day.max_kg if day else 2500,
        minimum_charge_kg=day.minimum_charge_kg if day else 0,
        bath_length_mm=day.bath_length_mm if day else 7000,
    )
    put_on(order=order, load=load, by=by)
    for line in load.lines.all():
        sign_vents(line=line, by=by, at=left_at - timedelta(hours=3))
    mass = sum((line.mass_kg for line in load.lines.all()), Decimal(0))
    return send_load(
        load=load, by=by, weighed_kg=(mass * Decimal("1.012")).quantize(Decimal("0.1")), at=left_at
    )


def _count_back(load: GalvanisingLoad, at: datetime, by: User) -> None:
    """All back; one bracket has a bare spot and is used all the same. The certificate is filed."""
    lines = lines_of(load)
    least = pick_up(lines, None, None).least_kg
    weighed = (load.weighed_out_kg or Decimal(0)) + least * Decimal("1.3")
    last = max(lines, key=lambda line: line.quantity)
    fault = Found(damaged=Decimal(1), damage="bare spot the size of a coin, mended with zinc paint")
    load_back(load=load, by=by, faults={last.pk: fault}, weighed_kg=weighed.quantize(Decimal("0.1")), at=at)
    file_certificate(
        load=load,
        number="5518",
        mean_um=78,
        attachment=Attachment(_PAPER, PDF.type, PDF.ending),
        by=by,
        key="demo:certificate",
    )
