"""A load's way to the galvaniser and back: ordered from him and claimed where buying knows him, moved in any case."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal

from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.buying import outside, outside_claims
from inventory.buying.outside_models import OutsideLine, OutsideService
from inventory.stock.queries import place
from production.coating.models import GalvanisingLoad, LoadLine
from production.orders.freezing import GALVANISE
from production.shop.models import LorryDay

WELDED, AWAY = "WELD", "GALV"


def send(
    load: GalvanisingLoad, lines: Iterable[LoadLine], by: User, at: datetime | None = None
) -> OutsideLine | None:
    """The load's goods leave welded work; the order for it, or None where nobody is known who galvanises.

    It is ordered by the scale's figure where the load was weighed.
    """
    lines = list(lines)
    key, service = f"load:{load.number}:out", outside.service_for(GALVANISE)
    if service is None:
        _move(load, [(line, line.quantity) for line in lines], key, WELDED, AWAY, by, at)
        return None
    return outside.send(
        key=key,
        service=service,
        load=outside.Load(
            load.number,
            [_goods(line, line.quantity) for line in lines],
            load.weighed_out_kg or sum((line.mass_kg for line in lines), Decimal(0)),
            timezone.localdate(load.back_at),
        ),
        source=place(WELDED),
        by=by,
        terms=_terms(load, service),
        is_counted_at_station=True,
        happened_at=at,
    )


def bring_back(
    load: GalvanisingLoad,
    lines: Iterable[LoadLine],
    counted: Mapping[int, Decimal],
    key: str,
    by: User,
    *,
    rest_is_missing: bool,
    at: datetime | None = None,
) -> None:
    """So much of each line (by its id) is welded work again; what is missing is claimed where it was ordered."""
    came = [(line, counted[line.pk]) for line in lines if counted.get(line.pk)]
    ordered = outside.line_of(load.number, GALVANISE)
    if ordered is None:
        if came:
            _move(load, came, key, AWAY, WELDED, by, at)
        return
    pieces = {(piece.item_id, piece.label): piece.pk for piece in ordered.pieces.all()}
    back = {pieces[line.item_id, line.order.number]: quantity for line, quantity in came}
    outside.bring_back(
        key=key,
        line=ordered,
        back=back,
        target=place(WELDED),
        by=by,
        rest_is_missing=rest_is_missing,
        happened_at=at,
    )


def claim_damaged(load: GalvanisingLoad, lines: Iterable[LoadLine], by: User) -> None:
    """What came back damaged is claimed from the galvaniser, and scrapped where the line says so.

    Raises:
        ProblemError: something is to be scrapped and buying does not know the load.
    """
    ordered = outside.line_of(load.number, GALVANISE)
    for line in lines:
        is_scrap = line.then == LoadLine.Then.SCRAP
        if ordered is None:
            if is_scrap:
                raise ProblemError(_unknown_at_buying(load, line))
            continue
        outside_claims.claim_damaged(
            key=f"load:{load.number}:damaged:{line.pk}",
            piece=ordered.pieces.get(item=line.item_id, label=line.order.number),
            quantity=line.damaged,
            reason=line.damage,
            is_scrap=is_scrap,
            by=by,
        )


def _unknown_at_buying(load: GalvanisingLoad, line: LoadLine) -> Problem:
    return Problem(
        f"{line.item.code} of order {line.order.number} cannot be scrapped here: buying does not know this load",
        f"load {load.number}",
        "Count it back as used all the same, then scrap it in the stores. With the galvaniser's terms on his page in "
        "buying the next load can be claimed.",
    )


def _terms(load: GalvanisingLoad, service: OutsideService) -> outside.Terms:
    """The lorry's day states what a kilogram costs; where no such day is left, the supplier's price holds."""
    day = LorryDay.objects.filter(weekday=timezone.localtime(load.leaves_at).weekday()).first()
    price = day.price_per_kg if day else service.price_per_kg
    return outside.Terms(price, Decimal(load.minimum_charge_kg))


def _goods(line: LoadLine, quantity: Decimal) -> outside.Goods:
    return outside.Goods(line.item_id, quantity, line.order.number)


def _move(
    load: GalvanisingLoad,
    quantities: Iterable[tuple[LoadLine, Decimal]],
    key: str,
    source: str,
    target: str,
    by: User,
    at: datetime | None,
) -> None:
    outside.move(
        key=key,
        goods=[_goods(line, quantity) for line, quantity in quantities],
        source=place(source),
        target=place(target),
        by=by,
        reason=f"load {load.number}",
        happened_at=at,
    )
