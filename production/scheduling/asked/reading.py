"""The order book and the floor as a plan begins from them, read in a constant number of queries."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Q, Sum

from bom.catalogue.models import ColourPlace
from bom.items.models import Colour, Item
from production.assembly.models import KitLine
from production.coating.models import GalvanisingLoad, LoadLine, PowderBatch
from production.cutting.models import CutBatch, CutPlacement, CutSheet
from production.orders.models import Order, OrderColour
from production.planning.needs import UnderWay
from production.works.first_process import Made, made_items
from production.works.models import WorksOperation

DONE = WorksOperation.State.DONE
BEGUN = WorksOperation.State.BEGUN


@dataclass(frozen=True)
class Job:
    """An open order with its operations by process and what its bill makes."""

    order: Order
    operations: Mapping[str, WorksOperation]
    made: Mapping[int, Made]
    powder: Colour | None

    def is_done(self, process: str) -> bool:
        """Done, or not asked for at all."""
        operation = self.operations.get(process)
        return operation is None or operation.state == DONE

    def is_begun(self, process: str) -> bool:
        operation = self.operations.get(process)
        return operation is not None and operation.state == BEGUN

    @property
    def chassis(self) -> dict[int, Decimal]:
        """What goes to the galvaniser: how many of each item."""
        if "galvanise" not in self.operations:
            return {}
        return {one.item_id: one.quantity for one in self.made.values() if "galvanise" in one.processes}


@dataclass(frozen=True)
class BegunBatch:
    """A cut batch that the floor has begun: minutes still to cut, and the orders that wait for it."""

    batch: CutBatch
    minutes_left: float
    order_ids: frozenset[int]


@dataclass(frozen=True)
class Floor:
    """Everything a plan begins from."""

    jobs: tuple[Job, ...]
    under_way: UnderWay
    begun_batches: tuple[BegunBatch, ...]
    away: Mapping[int, GalvanisingLoad]
    coating: Mapping[int, PowderBatch]
    colours: tuple[Colour, ...]

    @property
    def orders(self) -> list[Order]:
        return [job.order for job in self.jobs]


def read_floor() -> Floor:
    """Open orders and what the floor has begun for them."""
    orders = list(
        Order.objects.filter(state__in=Order.OPEN, bill__isnull=False)
        .select_related("model__item", "bill", "purpose", "customer")
        .order_by("asked_for", "number")
    )
    open_ids = {order.pk for order in orders}
    begun = _begun_batches()
    away = _away()
    return Floor(
        jobs=tuple(_jobs(orders)),
        under_way=_under_way(open_ids, away),
        begun_batches=tuple(begun),
        away=away,
        coating=_coating(),
        colours=tuple(Colour.objects.order_by("-lightness", "code")),
    )


def _jobs(orders: list[Order]) -> list[Job]:
    operations: dict[int, dict[str, WorksOperation]] = defaultdict(dict)
    for row in WorksOperation.objects.filter(works_order__order__state__in=Order.OPEN).select_related(
        "process", "works_order"
    ):
        if row.state != WorksOperation.State.CANCELLED:
            operations[row.works_order.order_id or 0][row.process.code] = row
    made = made_items(order.bill_id for order in orders if order.bill_id)
    powder = {
        row.order_id: row.colour
        for row in OrderColour.objects.filter(
            order__state__in=Order.OPEN, place=ColourPlace.POWDER
        ).select_related("colour")
    }
    return [
        Job(order, operations[order.pk], made.get(order.bill_id or 0, {}), powder.get(order.pk))
        for order in orders
    ]


def _under_way(open_ids: set[int], away: Mapping[int, GalvanisingLoad]) -> UnderWay:
    kept: dict[tuple[int, int], Decimal] = defaultdict(Decimal)
    spoken_for: dict[int, Decimal] = defaultdict(Decimal)
    for order_id, item_id, quantity in _in_kits():
        kept[order_id, item_id] += quantity
        spoken_for[item_id] += quantity
    for owner_id, part_id, count in _on_begun_sheets():
        if owner_id in open_ids:
            kept[owner_id or 0, part_id] += Decimal(count)
    lines = LoadLine.objects.filter(load__in=away.values())
    for order_id, item_id, quantity in lines.values_list("order_id", "item_id", "quantity"):
        if order_id in open_ids:
            kept[order_id, item_id] += quantity
    for sheet_id, sheets in _waiting_sheets():
        spoken_for[sheet_id] += Decimal(sheets)
    return UnderWay(dict(kept), dict(spoken_for))


def _in_kits() -> list[tuple[int, int, Decimal]]:
    """Parts picked for orders whose assembly has not used them up yet."""
    assembled = WorksOperation.objects.filter(process__code="assemble", state=DONE)
    return list(
        KitLine.objects.filter(kit__order__state__in=Order.OPEN, picked__gt=0)
        .exclude(kit__order__in=assembled.values("works_order__order"))
        .values_list("kit__order_id", "item_id", "picked")
    )


def _on_begun_sheets() -> list[tuple[int | None, int, int]]:
    """Parts that lie on sheets of begun batches and are still to be cut."""
    return list(
        CutPlacement.objects.filter(
            state=CutPlacement.State.WAITING,
            sheet__state__in=[CutSheet.State.WAITING, CutSheet.State.BEGUN],
            sheet__batch__state=CutBatch.State.BEGUN,
        )
        .order_by()
        .values_list("order_id", "part__item_id")
        .annotate(count=Count("pk"))
    )


def _waiting_sheets() -> list[tuple[int, int]]:
    return list(
        CutSheet.objects.filter(
            state__in=[CutSheet.State.WAITING, CutSheet.State.BEGUN],
            batch__state=CutBatch.State.BEGUN,
            item__kind=Item.Kind.SHEET,
            lot__isnull=True,
        )
        .order_by()
        .values_list("item_id")
        .annotate(count=Count("pk"))
    )


def _begun_batches() -> list[BegunBatch]:
    waiting = Q(sheets__state__in=[CutSheet.State.WAITING, CutSheet.State.BEGUN])
    batches = list(
        CutBatch.objects.filter(state=CutBatch.State.BEGUN)
        .annotate(left=Sum("sheets__minutes", filter=waiting))
        .order_by("starts_at", "number")
    )
    orders: dict[int, set[int]] = defaultdict(set)
    rows = CutPlacement.objects.filter(
        sheet__batch__in=batches, state=CutPlacement.State.WAITING, order__isnull=False
    )
    for batch_id, order_id in rows.order_by().values_list("sheet__batch_id", "order_id").distinct():
        orders[batch_id].add(order_id or 0)
    return [BegunBatch(batch, float(batch.left or 0), frozenset(orders[batch.pk])) for batch in batches]


def _away() -> dict[int, GalvanisingLoad]:
    """The load that each order's chassis is away with, by order."""
    return {
        line.order_id: line.load
        for line in LoadLine.objects.filter(load__state=GalvanisingLoad.State.AWAY).select_related("load")
    }


def _coating() -> dict[int, PowderBatch]:
    """The batch that each order's frame is in the oven with, by order."""
    batches = PowderBatch.objects.filter(state=PowderBatch.State.BEGUN).prefetch_related("lines")
    return {line.order_id: batch for batch in batches for line in batch.lines.all()}
