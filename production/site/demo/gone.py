"""Trailers that left in the last weeks, with their whole records; some claims, one recall. Stock is not touched:
they left before the ledger of the demonstration was opened."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from django.utils import timezone

from bom.items.models import Item
from bom.people.models import User
from inventory.buying.models import SupplierItem
from inventory.stock.models import Purpose
from production.assembly.models import FittedNumber
from production.dispatch import calling_back, inspecting, recording
from production.dispatch.calling_back import Complaint
from production.dispatch.models import BuiltRow, CheckLine, Claim, Origin, Source
from production.dispatch.plating import give_plate
from production.orders.models import FrozenTotal, Hull, Order, OrderChoice, OrderColour
from production.site.demo.powdered import powder_before
from production.works.models import WorksOperation, WorksOrder

COUNT = 12
FIRST_NUMBER = 2560
# After how many days a new lot of a part, a new cast or a new lorry began.
_LOT_EVERY = 4
_WORKED_BY = {
    "laser": "laser",
    "saw": "laser",
    "fold": "laser",
    "weld": "assembly",
    "galvanise": "coating",
    "powder": "coating",
    "assemble": "assembly",
    "inspect": "manager",
}
_FAILED = "was low, tightened and measured again"


def add_gone(confirmed: Sequence[Order], people: Mapping[str, User], today: date) -> list[Order]:
    """As many trailers as a tenth of the order book, at most twelve; the first left longest ago."""
    count = min(COUNT, max(3, len(confirmed) // 5))
    suppliers = dict(SupplierItem.objects.filter(is_preferred=True).values_list("item_id", "supplier_id"))
    gone = []
    for index in range(count):
        left = today - timedelta(days=4 * (count - index))
        gone.append(_one(confirmed[index % len(confirmed)], index, left, people, suppliers))
    _afterwards(gone, people, today)
    return gone


def _one(
    pattern: Order, index: int, left: date, people: Mapping[str, User], suppliers: Mapping[int, int]
) -> Order:
    order = _copied(pattern, FIRST_NUMBER + index, left, people["office"])
    at = timezone.make_aware(datetime.combine(left, time(14, 30)))
    works = WorksOrder.objects.create(
        number=f"W{order.number}", order=order, item=order.model.item, state="done"
    )
    for operation in WorksOperation.objects.filter(works_order__order=pattern).select_related("process"):
        code = operation.process.code
        WorksOperation.objects.create(
            works_order=works,
            sequence=operation.sequence,
            process=operation.process,
            minutes=operation.minutes,
            state=WorksOperation.State.DONE,
            finished_at=at - timedelta(days=max(0, 9 - operation.sequence // 10)),
            by=people[_WORKED_BY.get(code, "assembly")],
        )
    _parts(order, index, suppliers)
    powder_before(order, f"PB-0-{index + 1:02d}", at - timedelta(days=3, hours=5), people["coating"])
    _numbers(order, index, left, people["assembly"])
    give_plate(order=order, by=people["assembly"])
    _inspected(order, index, people["manager"])
    recording.seal(order=order, by=people["manager"], at=at)
    Order.objects.filter(pk=order.pk).update(state=Order.State.GONE)
    order.refresh_from_db()
    return order


def _copied(pattern: Order, number: int, left: date, by: User) -> Order:
    hull = Hull.objects.get(pk=pattern.hull_id)
    hull.pk, hull.name = None, f"{hull.name} II"
    hull.save()
    order = Order.objects.create(
        number=str(number),
        customer=pattern.customer,
        model=pattern.model,
        variant=pattern.variant,
        finish=pattern.finish,
        hull=hull,
        market=pattern.market,
        state=Order.State.DONE,
        asked_for=left,
        price=pattern.price,
        bill=pattern.bill,
        purpose=Purpose.objects.create(code=str(number), label=pattern.customer.name, is_open=False),
        made_by=by,
        confirmed_at=timezone.make_aware(datetime.combine(left - timedelta(days=40), time(10))),
    )
    OrderChoice.objects.bulk_create(
        OrderChoice(order=order, choice_id=one.choice_id) for one in pattern.choices.all()
    )
    OrderColour.objects.bulk_create(
        OrderColour(order=order, place=one.place, colour_id=one.colour_id) for one in pattern.colours.all()
    )
    return order


def _parts(order: Order, index: int, suppliers: Mapping[int, int]) -> None:
    """Every bought part, section and sheet of its bill with a lot; serial numbers on axles and couplings."""
    totals = (
        FrozenTotal.objects.filter(bill=order.bill)
        .exclude(item__kind=Item.Kind.MADE)
        .select_related("item__number_rule")
    )
    batch = index // _LOT_EVERY + 1
    rows = []
    for total in totals.order_by("item__code"):
        item = total.item
        if _is_read_off(item):
            continue
        source, is_new = Source.objects.get_or_create(
            kind=Source.Kind.LOT,
            code=f"L{batch:02d}-{item.code}"[:60],
            item=item,
            defaults={"supplier_id": suppliers.get(item.pk)},
        )
        if is_new and item.kind in (Item.Kind.SECTION, Item.Kind.SHEET):
            cast, _ = Source.objects.get_or_create(
                kind=Source.Kind.CAST, code=f"CAST-{7300 + batch}", item=None
            )
            Origin.objects.create(source=source, made_from=cast)
        rows.append(
            BuiltRow(order=order, kind=BuiltRow.Kind.PART, item=item, source=source, quantity=total.quantity)
        )
    if order.finish != "painted":
        load, _ = Source.objects.get_or_create(kind=Source.Kind.LOAD, code=f"GL-{90 + batch}", item=None)
        rows.append(BuiltRow(order=order, kind=BuiltRow.Kind.COATED, source=load))
    BuiltRow.objects.bulk_create(rows, batch_size=500)


def _is_read_off(item: Item) -> bool:
    return item.tracking == Item.Tracking.SERIAL or hasattr(item, "number_rule")


def _numbers(order: Order, index: int, left: date, by: User) -> None:
    """What was read off axle, coupling and tyres; the tyres of one trailer are of one week."""
    totals = FrozenTotal.objects.filter(bill=order.bill).select_related("item__number_rule")
    made = left - timedelta(weeks=20 + index % 4)
    week = made.isocalendar()
    for total in totals.order_by("item__code"):
        item = total.item
        if not _is_read_off(item):
            continue
        is_tyre = hasattr(item, "number_rule")
        FittedNumber.objects.bulk_create(
            FittedNumber(
                order=order,
                item=item,
                code=f"1XY7RW4T0{week.week:02d}{week.year % 100:02d}"
                if is_tyre
                else f"{item.code[:2]}{order.number}{place}",
                is_shared=is_tyre,
                by=by,
            )
            for place in range(1, int(total.quantity) + 1)
        )


def _inspected(order: Order, index: int, by: User) -> None:
    """Every check good; on every fifth trailer one measure was low and was cleared."""
    findings = {line.pk: _finding(line, index) for line in inspecting.wanted_lines(order)}
    measured = [pk for pk, one in findings.items() if one.value is not None]
    if index % 5 == 1 and measured:
        low = CheckLine.objects.get(pk=measured[0])
        short = inspecting.Finding(value=(low.low or Decimal(1)) - 1)
        inspection = inspecting.record(order=order, findings={low.pk: short}, by=by)
        for failed in inspection.results.filter(is_good=False):
            inspecting.clear(result=failed, by=by, reason=_FAILED)
    inspecting.record(order=order, findings=findings, by=by)
    inspecting.sign(order=order, by=by)


def _finding(line: CheckLine, index: int) -> inspecting.Finding:
    if not line.unit:
        return inspecting.Finding(is_good=True)
    low, high = line.low or Decimal(0), line.high or (line.low or Decimal(0)) + 10
    return inspecting.Finding(value=(low + (high - low) * (3 + index % 5) / 10).quantize(Decimal(1)))


def _afterwards(gone: Sequence[Order], people: Mapping[str, User], today: date) -> None:
    """Two claims, a trailer sold on, and a recall of the coupling's lot or of what else the claimed part came from."""
    office, manager = people["office"], people["manager"]
    for number, (order, group, cause, words, cost) in enumerate(
        (
            (gone[0], "rollers", Claim.Cause.MATERIAL, "roller split along the bore in the first season", 36),
            (gone[1], "lights", Claim.Cause.BOUGHT, "water in the left rear lamp", 24),
        )
    ):
        row = BuiltRow.objects.filter(order=order, item__group=group, source__isnull=False).first()
        if row is None or row.item is None:
            continue
        complaint = Complaint(row.item, cause, words, today - timedelta(days=2), Decimal(cost))
        claim = calling_back.write_claim(order=order, complaint=complaint, key=f"demo-{number}", by=office)
        if number == 0 and claim.source is not None:
            recall = calling_back.open_recall(
                source=claim.source, by=manager, reason="rollers split along the bore"
            )
            first = recall.trailers.first()
            if first is not None:
                calling_back.mark(trailer=first, by=office, is_done=True, on=today - timedelta(days=1))
    calling_back.change_owner(
        order=gone[2], name="D. Wherrymoor", contact="Sluice Cottage, Fennimarsh", since=today, by=office
    )
