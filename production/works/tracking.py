"""Telling the workshop how far a works order is: begun, done, undone, a problem.

Finishing posts what the operation made (`production.works.making`). A repeat of "begun" or "done" changes nothing,
so a second click on a slow screen does no harm.
"""

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock.models import Posting
from production.orders.models import Order
from production.works.card_closing import close_cards, reopen_cards, rework_problems
from production.works.making import MAKERS, make, unmake
from production.works.models import WorksOperation, WorksOrder
from production.works.replacement_models import Replacement
from production.works.weld_holding import held_by_weld

State = WorksOperation.State

# These need not wait for one another; everything after them needs all of them.
SIDE_BY_SIDE = ("laser", "saw", "fold")


@transaction.atomic
def begin_operation(*, operation: WorksOperation, by: User | None) -> WorksOperation:
    """Work has begun. An operation that is begun or done is left as it is.

    Raises:
        ProblemError: the order is not released to the floor or is cancelled, or a weld before it is not good.
    """
    operation = _locked(operation)
    if operation.state in (State.BEGUN, State.DONE):
        return operation
    _refuse_unless_on_the_floor(operation)
    _refuse_while_held(operation)
    operation.state, operation.began_at, operation.by = State.BEGUN, timezone.now(), by
    operation.save(update_fields=["state", "began_at", "by"])
    _order_is(operation, Order.State.BEGUN, WorksOrder.State.BEGUN)
    return operation


@transaction.atomic
def finish_operation(*, operation: WorksOperation, by: User | None) -> WorksOperation:
    """Work is done: post what it made and used. An operation that is done is left as it is.

    The last operation finished makes works order and order done.

    Raises:
        ProblemError: parts are missing (each named with where to get it), earlier work or rework is unfinished, a
            weld before it is not good, or the order is not on the floor.
    """
    operation = _locked(operation)
    if operation.state == State.DONE:
        return operation
    _refuse_unless_on_the_floor(operation)
    _refuse_before_its_turn(operation)
    if problems := rework_problems(operation):
        raise ProblemError(*problems)
    _refuse_while_held(operation)
    now = timezone.now()
    if operation.process.code in MAKERS:
        operation.posting = make(
            order=_order(operation), process=operation.process.code, key=_key(operation), by=by
        )
    if operation.process.code == "weld":
        still = Replacement.objects.filter(works_order=operation.works_order, made_at__isnull=True)
        still.filter(called_off_at__isnull=True).update(made_at=now, posting=operation.posting)
    operation.state, operation.finished_at, operation.by = State.DONE, now, by
    operation.began_at = operation.began_at or now
    operation.problem = ""
    operation.save(update_fields=["state", "began_at", "finished_at", "by", "problem", "posting"])
    close_cards(operation, now)
    is_last = not operation.works_order.operations.filter(state__in=[State.WAITING, State.BEGUN]).exists()
    _order_is(
        operation,
        Order.State.DONE if is_last else Order.State.BEGUN,
        WorksOrder.State.DONE if is_last else WorksOrder.State.BEGUN,
    )
    return operation


@transaction.atomic
def undo_finish(*, operation: WorksOperation, by: User | None) -> WorksOperation:
    """Take "done" back: the posting is reversed and the operation is begun again. Unfinished work stays as it is.

    Raises:
        ProblemError: later work has begun, the trailer has gone, or what was made has moved on.
    """
    operation = _locked(operation)
    if operation.state != State.DONE:
        return operation
    _refuse_when_built_upon(operation)
    if operation.posting is not None:
        Replacement.objects.filter(posting=operation.posting).update(made_at=None, posting=None)
        unmake(order=_order(operation), posting=operation.posting, by=by)
    reopen_cards(operation)
    operation.posting, operation.state, operation.finished_at = None, State.BEGUN, None
    operation.save(update_fields=["posting", "state", "finished_at"])
    _order_is(operation, Order.State.BEGUN, WorksOrder.State.BEGUN)
    return operation


@transaction.atomic
def return_to_queue(*, operation: WorksOperation, by: User | None, problem: str) -> WorksOperation:
    """Begun work came to nothing and is to be begun anew: it waits again, so that the next plan finds a time for it.

    `problem` says why; what was done is kept by the room that did it. Work that is done stays done.
    """
    operation = _locked(operation)
    if operation.state == State.BEGUN:
        operation.state, operation.began_at = State.WAITING, None
    operation.problem, operation.by = problem.strip(), by
    operation.save(update_fields=["state", "began_at", "problem", "by"])
    return operation


@transaction.atomic
def report_problem(*, operation: WorksOperation, by: User | None, problem: str) -> WorksOperation:
    """Write down what stops the work, for the manager to see; an empty text says that it is solved.

    Raises:
        ProblemError: the text is too long.
    """
    most = WorksOperation._meta.get_field("problem").max_length or 200
    if len(problem) > most:
        raise ProblemError(
            Problem(f"The text has {len(problem)} characters", "problem", f"Write at most {most}.")
        )
    operation = _locked(operation)
    operation.problem, operation.by = problem.strip(), by
    operation.save(update_fields=["problem", "by"])
    return operation


def _locked(operation: WorksOperation) -> WorksOperation:
    """The operation as it is now. The works order's row is the lock for all its operations."""
    WorksOrder.objects.select_for_update().get(pk=operation.works_order_id)
    return WorksOperation.objects.select_related(
        "process", "posting", "works_order__order__purpose", "works_order__order__model"
    ).get(pk=operation.pk)


def _where(operation: WorksOperation) -> str:
    return f"{operation.works_order.number}, {operation.process.name}"


def _order(operation: WorksOperation) -> Order:
    order = operation.works_order.order
    if order is None:
        raise ProblemError(
            Problem(
                "This works order belongs to no order", _where(operation), "Post its parts in the stores."
            )
        )
    return order


def _key(operation: WorksOperation) -> str:
    """One key for each time the operation is finished: again after an undo, or after the order was changed."""
    base = f"{operation.process.code}:{operation.works_order.number}"
    before = Posting.objects.filter(key__startswith=f"{base}:").count()
    return f"{base}:{before + 1}"


def _refuse_unless_on_the_floor(operation: WorksOperation) -> None:
    order = operation.works_order.order
    if operation.state == State.CANCELLED or (order and order.state == Order.State.CANCELLED):
        raise ProblemError(
            Problem("The order is cancelled", _where(operation), "Put its parts back; do not work on it.")
        )
    if order and order.state in (Order.State.DRAFT, Order.State.CONFIRMED):
        raise ProblemError(
            Problem(
                f"Order {order.number} is {order.get_state_display()}, not released to the floor",
                _where(operation),
                "Ask the manager to release a plan with it.",
            )
        )


def _refuse_before_its_turn(operation: WorksOperation) -> None:
    if operation.process.code in SIDE_BY_SIDE:
        return
    earlier = operation.works_order.operations.filter(
        sequence__lt=operation.sequence, state__in=[State.WAITING, State.BEGUN]
    ).select_related("process")
    if open_ones := [one.process.name for one in earlier]:
        raise ProblemError(
            Problem(
                f"{operation.process.name} cannot be done before {', '.join(open_ones)}",
                _where(operation),
                "Finish that first; if it is done, say so at its station.",
            )
        )


def _refuse_while_held(operation: WorksOperation) -> None:
    if problems := held_by_weld(operation):
        raise ProblemError(*problems)


def _refuse_when_built_upon(operation: WorksOperation) -> None:
    order = operation.works_order.order
    if order and order.state == Order.State.GONE:
        raise ProblemError(
            Problem("The trailer has gone", _where(operation), "Nothing can be undone any more.")
        )
    later = (
        operation.works_order.operations.filter(
            sequence__gt=operation.sequence, state__in=[State.BEGUN, State.DONE]
        )
        .exclude(process__code__in=SIDE_BY_SIDE)
        .select_related("process")
    )
    if names := [one.process.name for one in later]:
        raise ProblemError(
            Problem(
                f"{', '.join(names)} has begun since, so {operation.process.name} cannot be undone",
                _where(operation),
                "Undo the later work first, the last one first.",
            )
        )


def _order_is(operation: WorksOperation, order_state: str, works_state: str) -> None:
    works = operation.works_order
    if works.state != works_state:
        works.state = works_state
        works.save(update_fields=["state"])
    if works.order is not None and works.order.state != order_state:
        works.order.state = order_state
        works.order.save(update_fields=["state"])
