"""Galvanising loads: filled, signed for, sent.

A hollow part without vent and drain holes can burst in the bath and hurt people (common practice, no source), so a
load may not leave before every line of it is signed for. What is away lies at the galvaniser's place in the ledger;
it is nobody's to reserve there, and buying knows it as a load of outside work (`inventory.buying.outside`).
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.geometry import venting
from bom.geometry.vents import vent_state
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from inventory.stock import reserving
from inventory.stock.models import Purpose
from production.coating import away
from production.coating.load_rules import (
    State,
    draft_again,
    draft_line,
    galvanising,
    lines_of,
    locked,
    not_signed,
    not_there,
    refuse_unless_released,
    too_much,
)
from production.coating.models import GalvanisingLoad, LoadLine
from production.coating.outstanding import wanted_again
from production.orders.models import Order
from production.works import tracking
from production.works.first_process import made_items
from production.works.models import WorksOperation


@transaction.atomic
def sign_vents(*, line: LoadLine, by: User, at: datetime | None = None) -> LoadLine:
    """Someone has looked: every cavity of this line is vented and drained. The first signature stands.

    Raises:
        ProblemError: the load is not here, or the rule finds holes of a member missing or too small: that is drilled
            and recorded, not signed away.
    """
    load = locked(line.load_id)
    line = load.lines.select_related("item", "order").get(pk=line.pk)
    if line.vents_checked_at is not None:
        return line
    refuse_unless_released(load, "signed for")
    if problems := _not_vented(load, line):
        raise ProblemError(*problems)
    line.vents_checked_by, line.vents_checked_at = by, at or timezone.now()
    line.save(update_fields=["vents_checked_by", "vents_checked_at"])
    return line


@transaction.atomic
def withdraw_signature(*, line: LoadLine, by: User) -> LoadLine:
    """Take a signature back while the load is still here."""
    load = locked(line.load_id)
    refuse_unless_released(load, "unsigned")
    line = load.lines.get(pk=line.pk)
    line.vents_checked_by, line.vents_checked_at = None, None
    line.save(update_fields=["vents_checked_by", "vents_checked_at"])
    return line


@transaction.atomic
def send_load(
    *,
    load: GalvanisingLoad,
    by: User,
    counted: Mapping[int, Decimal] | None = None,
    weighed_kg: Decimal | None = None,
    at: datetime | None = None,
) -> GalvanisingLoad:
    """The lorry takes the load: everything on it moves from welded work to the galvaniser.

    `counted` is what was counted onto the lorry by line id; where none is given, the lines are taken as they stand.
    `weighed_kg` is the scale's figure. Sending a load that is away changes nothing.

    Raises:
        ProblemError: a line is not signed for, is not welded yet or was counted otherwise, or the load is empty, too
            heavy or too long.
    """
    load = locked(load.pk)
    if load.state == State.AWAY:
        return load
    refuse_unless_released(load, "sent")
    lines = lines_of(load)
    if problems := [
        *not_signed(load, lines),
        *not_there(load, lines),
        *too_much(load, lines),
        *_miscounted(load, lines, counted),
        *weighed_oddly(load, weighed_kg),
    ]:
        raise ProblemError(*problems)
    load.weighed_out_kg = weighed_kg
    away.send(load, lines, by, at)
    _let_go(lines)
    for line in lines:
        line.counted_out = line.quantity
    LoadLine.objects.bulk_update(lines, ["counted_out"])
    load.state, load.left_at = State.AWAY, at or timezone.now()
    load.save(update_fields=["state", "left_at", "weighed_out_kg"])
    for operation in galvanising({line.order_id for line in lines}, WorksOperation.State.WAITING):
        tracking.begin_operation(operation=operation, by=by)
    return load


@transaction.atomic
def move_order(
    *, order: Order, from_load: GalvanisingLoad, to_load: GalvanisingLoad, by: User
) -> GalvanisingLoad:
    """Put all lines of an order on another load that has not left. Signatures stay: the holes are still there.

    Moving an order that is already on the other load changes nothing.

    Raises:
        ProblemError: either load has left, or the other one would be too heavy or its bath too short.
    """
    for pk in sorted({from_load.pk, to_load.pk}):
        locked(pk)
    from_load, to_load = locked(from_load.pk), locked(to_load.pk)
    lines = [line for line in lines_of(from_load) if line.order_id == order.pk]
    if not lines:
        return to_load
    refuse_unless_released(from_load, "unloaded")
    refuse_unless_released(to_load, "loaded")
    if problems := too_much(to_load, [*lines_of(to_load), *lines]):
        raise ProblemError(*problems)
    LoadLine.objects.filter(pk__in=[line.pk for line in lines]).update(load=to_load)
    return to_load


@transaction.atomic
def put_on(*, order: Order, load: GalvanisingLoad, by: User) -> GalvanisingLoad:
    """Put an order on a load that has not left: all that is to be galvanised of it, or what came back lost, spoilt or
    to be galvanised once more. An order that is on a load already stays there.

    Raises:
        ProblemError: the load has left, nothing of the order is to be galvanised, or it would be too heavy or long.
    """
    load = locked(load.pk)
    refuse_unless_released(load, "loaded")
    if LoadLine.objects.filter(order=order, load__state__in=(State.RELEASED, State.AWAY)).exists():
        return load
    lines = _lines_for(order, load)
    if not lines:
        raise ProblemError(
            Problem(
                f"Nothing of order {order.number} is to be galvanised",
                where=f"load {load.number}",
                mend="Load the page again; it may be on another lorry by now.",
            )
        )
    if problems := too_much(load, [*lines_of(load), *lines]):
        raise ProblemError(*problems)
    LoadLine.objects.bulk_create(lines)
    return load


@transaction.atomic
def take_off(*, order: Order, load: GalvanisingLoad, by: User) -> GalvanisingLoad:
    """Leave an order here for a later lorry; its signatures are given anew there. A repeat changes nothing.

    Raises:
        ProblemError: the load has left.
    """
    load = locked(load.pk)
    refuse_unless_released(load, "unloaded")
    load.lines.filter(order=order).delete()
    return load


def weighed_oddly(load: GalvanisingLoad, weighed_kg: Decimal | None) -> list[Problem]:
    """A figure of the scale that no load can have."""
    if weighed_kg is None or (weighed_kg.is_finite() and 0 < weighed_kg < 10 * load.max_kg):
        return []
    return [
        Problem(
            f"{weighed_kg} kg is not the mass of a load",
            where=f"load {load.number}",
            mend="Write what the scale shows in kg, or leave it empty.",
        )
    ]


def _lines_for(order: Order, load: GalvanisingLoad) -> list[LoadLine]:
    """What the order still has to be galvanised. Lines that make good others say which."""
    again = [
        (line, quantity) for line, quantity in wanted_again([order.pk]).items() if line.order_id == order.pk
    ]
    if again:
        return [draft_again(load, line, quantity) for line, quantity in again]
    if not galvanising([order.pk], WorksOperation.State.WAITING):
        return []
    made = made_items([order.bill_id or 0]).get(order.bill_id or 0, {})
    wanted = {one.item_id: one.quantity for one in made.values() if "galvanise" in one.processes}
    items = Item.objects.in_bulk(wanted)
    return [draft_line(load, order.pk, items[pk], quantity) for pk, quantity in sorted(wanted.items())]


def _not_vented(load: GalvanisingLoad, line: LoadLine) -> list[Problem]:
    state = vent_state([line.item_id]).get(line.item_id)
    if state is None or state.outcome != venting.NOT_MET:
        return []
    return [
        Problem(
            f"{member.code} {member.name} in {line.item.code} is not vented as the rule asks: {member.why}",
            where=f"load {load.number}, order {line.order.number}",
            mend=f"{member.asked}. Drill it, record the holes on the part's page, then sign.",
        )
        for member in state.open_members
        if member.outcome == venting.NOT_MET
    ]


def _miscounted(
    load: GalvanisingLoad, lines: Iterable[LoadLine], counted: Mapping[int, Decimal] | None
) -> list[Problem]:
    if counted is None:
        return []
    return [
        Problem(
            f"{format_quantity(counted.get(line.pk, Decimal(0)))} × {line.item.code} of order {line.order.number} were "
            f"counted onto the lorry; the load says {format_quantity(line.quantity)}",
            where=f"load {load.number}",
            mend="Find what lacks and count again, or leave the whole order here for a later lorry.",
        )
        for line in lines
        if counted.get(line.pk) != line.quantity
    ]


def _let_go(lines: Iterable[LoadLine]) -> None:
    """What is away is not on hand, so nothing of it can be kept: lower the orders' reservations."""
    used: defaultdict[Purpose, defaultdict[int, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for line in lines:
        if line.order.purpose is not None:
            used[line.order.purpose][line.item_id] += line.quantity
    for purpose, quantities in used.items():
        reserving.use_many(used=quantities, purpose=purpose)
