"""Keeping what was worked out: the rating and the set-up of an order, each time as the next record."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from bom.ratings.figures import NOT_MET, Check
from bom.ratings.frame import Aim, Frame, HullFigures, SetUp
from bom.ratings.rating import Rated
from production.orders.models import Order
from production.orders.numbers import trailer_number
from production.orders.queries import answers_of
from production.orders.rating import hull_record, load_desk, only_models, rate_answers, vehicles_of
from production.orders.rating_models import RatingRecord, RatingResult, SetUpRecord, TowingVehicle

ROWS_AT_ONCE = 500
FIRST_REASON = "when the order was confirmed"

_FRAME = tuple(Frame.__dataclass_fields__)


@dataclass(frozen=True)
class VehicleFigures:
    """The towing vehicle's papers: masses in kg, D in kN; none where they do not say."""

    name: str
    max_mass_kg: int | None = None
    unladen_kg: int | None = None
    braked_kg: int | None = None
    unbraked_kg: int | None = None
    nose_kg: int | None = None
    train_kg: int | None = None
    d_kn: Decimal | None = None


def rate_orders(orders: Sequence[Order], *, nose_kg: float | None = None) -> dict[int, Rated]:
    """Each order rated as it stands, by order id. The number of queries does not grow with the orders.

    Raises:
        ProblemError: a bill that cannot be worked out.
    """
    # A bill asks the catalogue for the model alone; the rest of it need not be fetched.
    models = {order.model.code: order.model for order in orders}
    desk = load_desk(timezone.localdate(), catalogue=only_models(models))
    answers, vehicles = answers_of(orders), vehicles_of(order.pk for order in orders)
    return {
        order.pk: rate_answers(
            answers[order.pk],
            hull_record(order.hull),
            desk.with_bills(desk.loaded.for_trailer(trailer_number(order.number))),
            market=order.market.code if order.market else "",
            vehicle=vehicles.get(order.pk),
            nose_kg=nose_kg,
        )
        for order in orders
    }


@transaction.atomic
def record_vehicle(*, order: Order, figures: VehicleFigures | None, by: User | None) -> Order:
    """Write down what will tow the trailer, or take it back (`figures` none). A confirmed order is rated again."""
    if figures is None:
        TowingVehicle.objects.filter(order=order).delete()
    else:
        TowingVehicle.objects.update_or_create(order=order, defaults=vars(figures))
    if order.state != Order.State.DRAFT:
        word = "without a towing vehicle" if figures is None else f"towed by {figures.name}"
        rate_again(order=order, reason=word, by=by)
    return order


@transaction.atomic
def rate_again(
    *, order: Order, reason: str, by: User | None, nose_kg: float | None = None, note: str = ""
) -> RatingRecord:
    """Rate a confirmed order anew, by today's rules, and keep it as the next record.

    Raises:
        ProblemError: a draft (its rating is worked out whenever it is looked at), a cancelled order, or no reason.
    """
    locked = Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    if locked.state in (Order.State.DRAFT, Order.State.CANCELLED):
        raise ProblemError(
            Problem(
                f"Order {order.number} is {locked.get_state_display()}; only a confirmed order keeps its rating",
                f"order {order.number}",
                "Confirm it first.",
            )
        )
    if not reason.strip():
        raise ProblemError(Problem("The reason is missing", "reason", "Write why it is worked out again."))
    rated = rate_orders([order], nose_kg=nose_kg)[order.pk]
    last = order.ratings.aggregate(last=Max("number"))["last"] or 0
    return write_ratings([(order, rated)], by=by, reason=reason, number=last + 1, note=note, nose_kg=nose_kg)[
        0
    ]


def refuse_unmet(rated: Iterable[tuple[Order, Rated]], note: str) -> None:
    """ProblemError naming every rating that is not met, unless somebody has written why the order goes on."""
    problems = [
        Problem(
            f"{check.name}: {check.says}",
            f"order {order.number}",
            "Choose another model or options; or a permitted person writes down why it goes on.",
        )
        for order, one in rated
        for check in one.checks
        if check.outcome == NOT_MET
    ]
    if problems and not note.strip():
        raise ProblemError(*problems)


def write_ratings(
    rated: Sequence[tuple[Order, Rated]],
    *,
    by: User | None,
    reason: str = FIRST_REASON,
    number: int = 1,
    note: str = "",
    nose_kg: float | None = None,
    on: date | None = None,
) -> list[RatingRecord]:
    """The records of these ratings. Call inside a transaction."""
    today = on or timezone.localdate()
    records = RatingRecord.objects.bulk_create(
        [_record(order, one, by, reason, number, note, today) for order, one in rated],
        batch_size=ROWS_AT_ONCE,
    )
    pairs = list(zip(records, (one for _, one in rated), strict=True))
    RatingResult.objects.bulk_create(
        [
            _result(record, place, check)
            for record, one in pairs
            for place, check in enumerate(one.checks, start=1)
        ],
        batch_size=ROWS_AT_ONCE,
    )
    SetUpRecord.objects.bulk_create(
        [
            _set_up(record, one.set_up, order, nose_kg)
            for (record, one), (order, _) in zip(pairs, rated, strict=True)
            if one.set_up is not None
        ],
        batch_size=ROWS_AT_ONCE,
    )
    return records


def aim_of(row: SetUpRecord) -> Aim:
    outright = None if row.wanted_kg is None else float(row.wanted_kg)
    return Aim(float(row.wanted_share), float(row.rear_share), outright)


def hull_of(row: SetUpRecord) -> HullFigures:
    return HullFigures(
        mass_kg=float(row.hull_kg),
        length_mm=float(row.hull_length_mm),
        bow_to_transom_mm=float(row.bow_to_transom_mm),
        centre_mm=float(row.centre_mm),
        centre_is=row.centre_is,
        gear_kg=float(row.gear_kg),
        gear_at_mm=float(row.gear_at_mm),
    )


def frame_of(row: SetUpRecord) -> Frame:
    values: dict[str, Any] = {}
    for name in _FRAME:
        stored = getattr(row, name)
        values[name] = stored if isinstance(stored, bool) else float(stored)
    return Frame(**values)


def _record(
    order: Order, rated: Rated, by: User | None, reason: str, number: int, note: str, on: date
) -> RatingRecord:
    return RatingRecord(
        order=order,
        number=number,
        made_by=by,
        reason=reason.strip()[:200],
        market=rated.market,
        rule_issue=rated.issue,
        rules_on=on,
        own_kg=_kg(rated.own_kg),
        overall=rated.overall,
        note=note.strip()[:300] if rated.overall == NOT_MET else "",
    )


def _result(record: RatingRecord, place: int, check: Check) -> RatingResult:
    return RatingResult(
        rating=record,
        sequence=place,
        code=check.code,
        name=check.name[:80],
        outcome=check.outcome,
        says=check.says[:400],
        working=check.working[:400],
        margin=None if check.margin is None else Decimal(str(round(max(-9.0, check.margin), 4))),
        clauses=check.clauses[:400],
        is_verified=check.is_verified,
    )


def _set_up(record: RatingRecord, found: SetUp, order: Order, nose_kg: float | None) -> SetUpRecord:
    hull, axles = found.hull, found.axles_kg
    frame = {name: getattr(found.frame, name) for name in _FRAME}
    return SetUpRecord(
        rating=record,
        hull_kg=_kg(hull.mass_kg),
        hull_length_mm=_mm(hull.length_mm),
        bow_to_transom_mm=_mm(hull.bow_to_transom_mm),
        centre_mm=_mm(hull.centre_mm),
        centre_is=hull.centre_is,
        gear_kg=_kg(hull.gear_kg),
        gear_at_mm=_mm(hull.gear_at_mm),
        **{name: _stored(name, value) for name, value in frame.items()},
        length_mm=_mm(order.model.length_mm),
        wanted_share=Decimal(str(round(found.aim.nose_share, 4))),
        rear_share=Decimal(str(round(found.aim.rear_share, 4))),
        wanted_kg=None if nose_kg is None else _kg(nose_kg),
        axle_mm=_mm(found.axle_mm),
        post_mm=_mm(found.post_mm),
        transom_mm=_mm(found.transom_mm),
        front_support_mm=_mm(found.front_support_mm),
        laden_kg=_kg(found.laden_kg),
        nose_kg=_kg(found.nose_kg),
        front_axle_kg=_kg(axles[0]),
        rear_axle_kg=_kg(axles[1]) if len(axles) > 1 else None,
        is_wanted_met=found.is_wanted_met,
    )


def _stored(name: str, value: float | bool) -> Decimal | bool:
    if isinstance(value, bool):
        return value
    return _kg(value) if name.endswith("_kg") else _mm(value)


def _kg(value: float) -> Decimal:
    return Decimal(str(round(value, 3)))


def _mm(value: float) -> Decimal:
    return Decimal(str(round(value, 1)))
