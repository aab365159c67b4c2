"""The serial plate: the maker's data, the next free number, and the VIN of a trailer."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.dispatch import vin
from production.dispatch.models import Maker, ModelDescriptor, SerialPlate
from production.orders.models import NumberSeries, Order


def the_maker() -> Maker | None:
    """The maker's data, once the workshop has filled them in."""
    return Maker.objects.filter(pk=1).first()


def plan_of(maker: Maker, order: Order) -> vin.Plan:
    """How the seventeen places of this trailer are filled."""
    own = ModelDescriptor.objects.filter(model_id=order.model_id).values_list("descriptor", flat=True).first()
    return vin.Plan(
        wmi=maker.wmi,
        descriptor=own or maker.descriptor,
        plant=maker.plant,
        small_code=maker.small_code,
        has_check_digit=maker.has_check_digit,
        has_year=maker.has_year,
    )


def plate_of(order: Order) -> SerialPlate | None:
    """The plate that is on the trailer: the last one given."""
    found: SerialPlate | None = (
        SerialPlate.objects.filter(order=order, followed_by__isnull=True).select_related("by").first()
    )
    return found


@transaction.atomic
def set_maker(*, maker: Maker) -> Maker:
    """Write the maker's data down. Plates already given keep what stands on them.

    Raises:
        ProblemError: a part of the VIN cannot be used.
    """
    maker.wmi, maker.small_code = maker.wmi.strip().upper(), maker.small_code.strip().upper()
    maker.descriptor, maker.plant = maker.descriptor.strip().upper(), maker.plant.strip().upper()
    plan = vin.Plan(maker.wmi, maker.descriptor, maker.plant, maker.small_code)
    if problems := vin.plan_problems(plan):
        raise ProblemError(*problems)
    maker.pk = 1
    maker.save()
    return maker


@transaction.atomic
def give_plate(*, order: Order, by: User) -> SerialPlate:
    """Give a trailer its number and VIN. One that has a plate keeps it.

    Raises:
        ProblemError: the maker's data are missing or wrong, the numbers are used up, or the order is a draft or
            cancelled.
    """
    order = _locked(order)
    return plate_of(order) or _give(order, by)


@transaction.atomic
def replace_plate(*, plate: SerialPlate, by: User, reason: str) -> SerialPlate:
    """The plate was spoilt: the trailer gets the next number, the old one is used up. Once for each plate.

    Raises:
        ProblemError: no reason, the trailer has gone, or what `give_plate` refuses.
    """
    order = _locked(plate.order)
    newer: SerialPlate | None = SerialPlate.objects.filter(instead_of=plate).first()
    if newer is not None:
        return newer
    if not reason.strip():
        raise ProblemError(
            Problem("A plate is replaced only with a reason", f"plate {plate.vin}", "Say what is wrong.")
        )
    if order.state == Order.State.GONE:
        raise ProblemError(
            Problem("The trailer has gone with this plate", f"plate {plate.vin}", "It stays as it is.")
        )
    return _give(order, by, instead_of=plate, reason=reason.strip()[:200])


def _locked(order: Order) -> Order:
    return Order.objects.select_for_update(of=("self",)).select_related("model").get(pk=order.pk)


def _give(order: Order, by: User, instead_of: SerialPlate | None = None, reason: str = "") -> SerialPlate:
    where = f"order {order.number}"
    if order.state in (Order.State.DRAFT, Order.State.CANCELLED):
        raise ProblemError(
            Problem(
                f"The order is {order.get_state_display()}",
                where,
                "Only a trailer that is made gets a plate.",
            )
        )
    maker = the_maker()
    if maker is None:
        raise ProblemError(
            Problem(
                "Nobody has written down who the maker is",
                where,
                "Fill in the maker's data with the WMI first.",
            )
        )
    plan, year = plan_of(maker, order), timezone.localdate().year
    number = _next_number(plan)
    return SerialPlate.objects.create(
        order=order,
        mark=plan.mark,
        number=number,
        vin=vin.build(plan, number=number, year=year),
        model_year=year,
        max_mass_kg=order.model.max_mass_kg,
        axles=order.model.axles,
        instead_of=instead_of,
        reason=reason,
        by=by,
    )


def _next_number(plan: vin.Plan) -> int:
    """The next number under the maker's mark. Its row stays locked until the caller's transaction ends."""
    series, _ = NumberSeries.objects.select_for_update().get_or_create(code=f"vin-{plan.mark}")
    series.last += 1
    series.save(update_fields=["last"])
    return series.last
