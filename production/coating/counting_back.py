"""A load counted back from the galvaniser: what is good, missing or damaged, and what follows for its orders."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from inventory.stock import reserving
from production.coating import away
from production.coating.load_rules import NOTHING, State, galvanising, lines_of, locked
from production.coating.loads import weighed_oddly
from production.coating.models import GalvanisingLoad, LoadLine
from production.coating.outstanding import lost_for_good, unfinished, wanted_again
from production.works import replacing, tracking
from production.works.models import WorksOperation

Then = LoadLine.Then


@dataclass(frozen=True)
class Found:
    """What of a line did not come back, what came back damaged, what is wrong with it and what becomes of it."""

    missing: Decimal = NOTHING
    damaged: Decimal = NOTHING
    damage: str = ""
    then: str = Then.USE


ALL_GOOD = Found()
NO_FAULTS: Mapping[int, Found] = {}


@transaction.atomic
def load_back(
    *,
    load: GalvanisingLoad,
    by: User,
    faults: Mapping[int, Found] = NO_FAULTS,
    weighed_kg: Decimal | None = None,
    at: datetime | None = None,
) -> GalvanisingLoad:
    """Count a load back: everything but what `faults` (by line id) names is there and good.

    What is there returns to welded work; what is missing or damaged is claimed where buying ordered the work. Orders
    that have all of theirs have their galvanising finished; the others keep it begun, with the reason as its problem.
    Counting a load that is back with the same figures changes nothing.

    Raises:
        ProblemError: the load is not away or somebody counted it otherwise, or counts that cannot be.
    """
    load = locked(load.pk)
    lines = lines_of(load)
    if load.state == State.BACK:
        _refuse_other_count(load, lines, faults)
        return load
    if load.state != State.AWAY:
        raise ProblemError(
            Problem(
                f"Load {load.number} is not away; it is {load.get_state_display()}",
                mend="Send it first, or open the load that came back.",
            )
        )
    if problems := [*_impossible(load, lines, faults), *weighed_oddly(load, weighed_kg)]:
        raise ProblemError(*problems)
    for line in lines:
        found = faults.get(line.pk, ALL_GOOD)
        line.came_back = line.quantity - found.missing
        line.damaged, line.damage, line.then = found.damaged, found.damage.strip(), found.then
    LoadLine.objects.bulk_update(lines, ["came_back", "damaged", "damage", "then"])
    counted = {line.pk: line.came_back for line in lines if line.came_back}
    key = f"load:{load.number}:back"
    away.bring_back(load, lines, counted, key, by, rest_is_missing=True, at=at)
    away.claim_damaged(load, [line for line in lines if line.damaged], by)
    load.state, load.came_back_at, load.weighed_back_kg = State.BACK, at or timezone.now(), weighed_kg
    load.save(update_fields=["state", "came_back_at", "weighed_back_kg"])
    scrapped = {line.pk: line.damaged for line in lines if line.then == Then.SCRAP}
    _keep(lines, {pk: quantity - scrapped.get(pk, NOTHING) for pk, quantity in counted.items()}, by)
    _finish_orders({line.order_id for line in lines}, by)
    return load


@transaction.atomic
def missing_part_back(*, line: LoadLine, by: User, at: datetime | None = None) -> LoadLine:
    """What was missing from a load has turned up: it returns to welded work and its order goes on.

    Where it was being made again and nothing else of the order is lost, that work is called off.
    """
    load = locked(line.load_id)
    line = load.lines.select_related("order__purpose", "item", "load").get(pk=line.pk)
    late = line.missing
    if load.state != State.BACK or late <= 0:
        return line
    key = f"load:{load.number}:late:{line.pk}"
    away.bring_back(load, [line], {line.pk: late}, key, by, rest_is_missing=False, at=at)
    line.came_back = line.quantity
    line.save(update_fields=["came_back"])
    _keep([line], {line.pk: late}, by)
    if not lost_for_good(wanted_again([line.order_id])):
        replacing.call_off(order=line.order, by=by)
    _finish_orders({line.order_id}, by)
    return line


@transaction.atomic
def weigh_back(*, load: GalvanisingLoad, weighed_kg: Decimal, by: User) -> GalvanisingLoad:
    """Write down what the load weighs with its zinc, where the galvaniser's ticket came later or was misread.

    Raises:
        ProblemError: the load is not back, or no load has such a mass.
    """
    load = locked(load.pk)
    if load.state != State.BACK:
        raise ProblemError(Problem(f"Load {load.number} is not back", mend="Weigh it when it comes."))
    if problems := weighed_oddly(load, weighed_kg):
        raise ProblemError(*problems)
    load.weighed_back_kg = weighed_kg
    load.save(update_fields=["weighed_back_kg"])
    return load


def _refuse_other_count(
    load: GalvanisingLoad, lines: Iterable[LoadLine], faults: Mapping[int, Found]
) -> None:
    """A second person who counted something else must hear that the load is counted already."""
    differ = [
        line
        for line in lines
        if (line.missing, line.damaged)
        != (faults.get(line.pk, ALL_GOOD).missing, faults.get(line.pk, ALL_GOOD).damaged)
    ]
    if not differ:
        return
    line = differ[0]
    raise ProblemError(
        Problem(
            f"Load {load.number} was counted back meanwhile: {format_quantity(line.missing)} missing and "
            f"{format_quantity(line.damaged)} damaged of {line.item.code}, order {line.order.number}",
            mend="Drop this count. What turns up is said on the load; what else is damaged is claimed at buying.",
        )
    )


def _impossible(load: GalvanisingLoad, lines: list[LoadLine], faults: Mapping[int, Found]) -> list[Problem]:
    where = f"load {load.number}"
    by_id = {line.pk: line for line in lines}
    problems = []
    for pk, found in faults.items():
        line = by_id.get(pk)
        if (
            line is None
            or not 0 <= found.missing <= line.quantity
            or not 0 <= found.damaged <= line.quantity - found.missing
        ):
            problems.append(
                Problem(
                    "Missing and damaged counts do not fit what was sent"
                    + (f" of {line.item.code}, order {line.order.number}" if line else ""),
                    where,
                    "Give for each line numbers between nothing and what was sent.",
                )
            )
        elif found.damaged and not found.damage.strip():
            problems.append(
                Problem(
                    f"It is not said what is wrong with {line.item.code} of order {line.order.number}",
                    where,
                    "Say what you see: the claim needs it.",
                )
            )
        elif found.damaged and found.then not in Then.values:
            problems.append(Problem("It is not said what becomes of the damaged parts", where, "Choose it."))
    return problems


def _keep(lines: Iterable[LoadLine], quantities: Mapping[int, Decimal], by: User) -> None:
    """What has come back (by line id) is kept for its order again, unless the order was cancelled meanwhile."""
    wants = [
        reserving.Want(line.item_id, line.order.purpose_id, quantities[line.pk])
        for line in lines
        if line.order.purpose_id and line.order.is_open and quantities.get(line.pk)
    ]
    reserving.reserve_many(wants=wants, by=by)


def _finish_orders(order_ids: set[int], by: User) -> None:
    still = unfinished(order_ids)
    states = (WorksOperation.State.WAITING, WorksOperation.State.BEGUN)
    for operation in galvanising(order_ids, *states):
        words = still.get(operation.works_order.order_id or 0)
        if words is None:
            tracking.finish_operation(operation=operation, by=by)
        else:
            tracking.report_problem(operation=operation, by=by, problem=words[:200])
