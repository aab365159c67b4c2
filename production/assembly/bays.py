"""Assembly bays: a complete kit is taken by one bay, and leaves it as a trailer."""

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from bom.structure.models import Process
from inventory.stock import reserving
from production.assembly.models import Kit
from production.assembly.queries import bays_taken
from production.works import tracking
from production.works.models import WorksOperation

Waiting = WorksOperation.State.WAITING
Begun = WorksOperation.State.BEGUN


@transaction.atomic
def begin_assembly(*, kit: Kit, bay: int, by: User) -> Kit:
    """Take a complete kit into a bay. The same bay taking it again changes nothing.

    Raises:
        ProblemError: another bay has it, another trailer stands in the bay, the kit is short, or the frame is not
            there yet.
    """
    # The bays have no rows; the process is the lock, so that two kits never come into one bay.
    Process.objects.select_for_update(no_key=True).filter(code="assemble").first()
    kit = Kit.objects.select_for_update(of=("self",)).select_related("order__purpose").get(pk=kit.pk)
    operation = _assembly(kit)
    if operation.state != Waiting:
        if kit.bay == bay and operation.state == Begun:
            return kit
        raise ProblemError(_taken(kit, operation))
    if problems := [*_bay_is_full(bay), *_short(kit), *_frame_not_there(kit)]:
        raise ProblemError(*problems)
    kit.bay = bay
    kit.save(update_fields=["bay"])
    tracking.begin_operation(operation=operation, by=by)
    return kit


@transaction.atomic
def finish_assembly(*, kit: Kit, by: User) -> Kit:
    """The trailer stands finished: its parts are used up and it goes to READY. Repeating changes nothing."""
    kit = Kit.objects.select_for_update(of=("self",)).select_related("order__purpose").get(pk=kit.pk)
    operation = _assembly(kit)
    if operation.state == WorksOperation.State.DONE:
        return kit
    if operation.state != Begun:
        raise ProblemError(
            Problem(
                "No bay has begun this trailer",
                where=f"order {kit.order.number}",
                mend="Take the kit into a bay first.",
            )
        )
    tracking.finish_operation(operation=operation, by=by)
    if kit.order.purpose is not None:
        used = {line.item_id: line.picked for line in kit.lines.all()}
        reserving.use_many(used=used, purpose=kit.order.purpose)
    return kit


def _assembly(kit: Kit) -> WorksOperation:
    operation = (
        WorksOperation.objects.select_related("works_order__order", "process", "by")
        .filter(works_order__order=kit.order, process__code="assemble")
        .first()
    )
    if operation is None:
        raise ProblemError(
            Problem(
                f"Order {kit.order.number} has no assembly to do",
                mend="Look at the bill of its model: nothing in it is assembled.",
            )
        )
    return operation


def _taken(kit: Kit, operation: WorksOperation) -> Problem:
    if operation.state == WorksOperation.State.DONE:
        return Problem(
            f"The trailer of order {kit.order.number} is assembled already",
            mend="Take the next kit from the list.",
        )
    when = timezone.localtime(operation.began_at) if operation.began_at else None
    since = f" since {when:%a %H:%M}" if when else ""
    return Problem(
        f"The kit of order {kit.order.number} is already in bay {kit.bay or '?'}, taken by {operation.by}{since}",
        mend="Take the next kit from the list, or ask that bay to give it up.",
    )


def _bay_is_full(bay: int) -> list[Problem]:
    order = bays_taken().get(bay)
    if order is None:
        return []
    return [
        Problem(
            f"Bay {bay} is not free: the trailer of order {order} stands in it",
            mend="Take the kit into another bay, or say first that the trailer there is assembled.",
        )
    ]


def _short(kit: Kit) -> list[Problem]:
    return [
        Problem(
            f"{format_quantity(line.wanted - line.picked)} × {line.item.code} {line.item.name} short",
            where=f"kit of order {kit.order.number}",
            mend="Pick it, or wait until it comes; an incomplete kit is not begun.",
        )
        for line in kit.lines.select_related("item")
        if line.picked < line.wanted
    ]


def _frame_not_there(kit: Kit) -> list[Problem]:
    before = (
        WorksOperation.objects.filter(
            works_order__order=kit.order,
            process__code__in=["weld", "galvanise", "powder"],
            state__in=[Waiting, Begun],
        )
        .select_related("process")
        .order_by("sequence")
        .first()
    )
    if before is None:
        return []
    return [
        Problem(
            f"The frame of order {kit.order.number} is not there yet: {before.process.name.lower()} is not done",
            mend="Take a kit whose frame is there.",
        )
    ]
