"""A made part that was lost or spoilt is made again: its order's operations are opened once more for these pieces.

From the first process of what it is made of to the part's own last one before assembly. The laser and the saw then owe
the parts, saw, fold and weld get cards to make again, and the next plan finds times and a lorry for all of it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from decimal import Decimal

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from bom.structure.models import Operation
from inventory.stock import reserving
from production.orders.models import FrozenTotal, Order
from production.works.card_closing import cancel_cards
from production.works.card_making import WITHOUT_CARDS, take_card_numbers
from production.works.card_models import CardLine, JobCard
from production.works.first_process import Made
from production.works.made_again import lines_below, made_once_more, pieces_below
from production.works.making import scrap_inputs
from production.works.models import WorksOperation, WorksOrder
from production.works.replacement_models import Replacement
from production.works.standard_times import factors_in_force

State = WorksOperation.State
CENT = Decimal("0.01")
LONGEST = 200
OPEN = {"made_at__isnull": True, "called_off_at__isnull": True}
# Cards follow the parts through these; coating, assembly and inspection have screens of their own.
COATED_AT = ("galvanise", "powder")


@transaction.atomic
def replace(
    *,
    order: Order,
    pieces: Mapping[Item, Decimal],
    reason: str,
    key: str,
    by: User,
    is_here: bool = False,
) -> list[Replacement]:
    """Have so many pieces of welded parts made again. The same key again returns the first replacements.

    `is_here` says that the spoilt pieces still lie at the racks: they are posted to scrap. Without it they have left
    the stock already, or nobody finds them and the next count tells the shelf.

    Raises:
        ProblemError: no reason, a part that is not welded or not finished yet for this order, more than the trailer
            has, parts that are being made again already, an assembled trailer, or scrap that does not lie there.
    """
    works = WorksOrder.objects.select_for_update(of=("self",)).select_related("order__model").get(order=order)
    if before := list(_of(works).filter(key__startswith=f"{key}:")):
        return before
    operations = {
        one.process.code: one for one in works.operations.select_related("process").order_by("sequence")
    }
    parts = made_once_more(order, _below(order, pieces))
    if problems := _problems(works, operations, parts, pieces, reason):
        raise ProblemError(*problems)
    reason = reason.strip()[:LONGEST]
    if is_here:
        scrap_inputs(
            order=order,
            process="",
            used={item.pk: count for item, count in pieces.items()},
            key=f"replaced:{key}",
            reason=reason,
            by=by,
        )
    made = [
        Replacement.objects.create(
            key=f"{key}:{item.pk}", works_order=works, item=item, pieces=count, reason=reason, by=by
        )
        for item, count in pieces.items()
    ]
    _open_once_more(works, operations, parts, reason)
    return made


@transaction.atomic
def call_off(*, order: Order, by: User) -> list[Replacement]:
    """The lost parts have turned up before they were made again: the work is closed, its cards are cancelled.

    What was cut or sawn for them by then stays on the rack, free for others. Where nothing is open nothing changes.
    """
    works = WorksOrder.objects.select_for_update(of=("self",)).get(order=order)
    found = list(_of(works).filter(**OPEN).select_related("item"))
    if not found:
        return []
    now = timezone.now()
    wanted = {one.item: one.pieces for one in found}
    parts = made_once_more(order, _below(order, wanted))
    processes = {code for one in parts.values() for code in one.processes if code not in COATED_AT}
    opened = works.operations.filter(process__code__in=processes, state__in=[State.WAITING, State.BEGUN])
    numbers = list(opened.values_list("pk", flat=True))
    cancel_cards(opened)
    WorksOperation.objects.filter(pk__in=numbers).update(state=State.DONE, finished_at=now, problem="")
    if order.purpose is not None:
        replaced = {item.pk for item in wanted}
        free = {pk: one.quantity for pk, one in parts.items() if pk not in replaced}
        reserving.use_many(used=free, purpose=order.purpose)
    _of(works).filter(pk__in=[one.pk for one in found]).update(called_off_at=now)
    return found


def _of(works: WorksOrder) -> QuerySet[Replacement]:
    return Replacement.objects.filter(works_order=works)


def _below(order: Order, pieces: Mapping[Item, Decimal]) -> dict[int, Decimal]:
    below = lines_below([order.bill_id or 0])[order.bill_id or 0]
    return pieces_below({item.pk: count for item, count in pieces.items()}, below)


def _problems(
    works: WorksOrder,
    operations: Mapping[str, WorksOperation],
    parts: Mapping[int, Made],
    pieces: Mapping[Item, Decimal],
    reason: str,
) -> list[Problem]:
    order, where = works.order, f"order {works.order.number if works.order else works.number}"
    if order is None or order.state not in (Order.State.RELEASED, Order.State.BEGUN):
        return [Problem("The order is not on the floor", where, "Nothing is made for it.")]
    problems = []
    if not pieces or not reason.strip():
        problems.append(Problem("It is not said what is made again and why", where, "Name parts and reason."))
    totals = dict(FrozenTotal.objects.filter(bill=order.bill_id).values_list("item_id", "quantity"))
    for item, count in pieces.items():
        made, total = parts.get(item.pk), totals.get(item.pk, Decimal(0))
        if made is None or made.first != "weld":
            mend = "A part that is cut or sawn is counted as lost at its sheet or bar, or scrapped in the stores."
            problems.append(Problem(f"{item.code} is not welded for this trailer", where, mend))
        elif not 0 < count <= total:
            what = f"{format_quantity(count)} of {item.code} cannot be made again"
            problems.append(Problem(what, where, f"The trailer has {format_quantity(total)}."))
    weld, assembly = operations.get("weld"), operations.get("assemble")
    if _of(works).filter(**OPEN).exists():
        problems.append(
            Problem("Parts of this order are being made again already", where, "Let that be done first.")
        )
    elif weld is None or weld.state != State.DONE:
        mend = "Finish the weld first; what is spoilt there is counted on its card."
        problems.append(Problem("The weld of this order is not done", where, mend))
    if assembly is not None and assembly.state == State.DONE:
        problems.append(
            Problem("The trailer is assembled", where, "Undo its assembly first: the part is on it.")
        )
    return problems


def _open_once_more(
    works: WorksOrder, operations: Mapping[str, WorksOperation], parts: Mapping[int, Made], reason: str
) -> None:
    """Every done operation on the way of these parts waits again, with the minutes they take; each gets a card."""
    minutes = _minutes(works, parts)
    opened = [one for code, one in operations.items() if code in minutes and one.state == State.DONE]
    for operation in opened:
        code = operation.process.code
        operation.state, operation.began_at, operation.finished_at = State.WAITING, None, None
        operation.posting = None
        operation.minutes = minutes[code] if code not in COATED_AT else operation.minutes
        operation.problem = f"Made again: {reason}"[:LONGEST] if code == "weld" else ""
    fields = ["state", "began_at", "finished_at", "posting", "minutes", "problem"]
    WorksOperation.objects.bulk_update(opened, fields)
    carded = [one for one in opened if one.process.code not in (*WITHOUT_CARDS, *COATED_AT)]
    for number, operation in zip(take_card_numbers(len(carded)), carded, strict=True):
        # The usual kind: what the station counts on a screen of its own closes them with the operation.
        card = JobCard.objects.create(
            number=number, process=operation.process, reason=f"Made again: {reason}"[:LONGEST]
        )
        CardLine.objects.bulk_create(
            CardLine(card=card, operation=operation, item_id=part.item_id, pieces=part.quantity)
            for part in parts.values()
            if operation.process.code in part.processes
        )


def _minutes(works: WorksOrder, parts: Mapping[int, Made]) -> dict[str, Decimal]:
    """By process what these pieces take, corrected as standard times are. Three queries."""
    bill = works.order.bill_id if works.order else None
    pieces = {
        revision: parts[item].quantity
        for item, revision in FrozenTotal.objects.filter(
            bill=bill, item__in=parts, revision__isnull=False
        ).values_list("item_id", "revision_id")
    }
    factors, found = factors_in_force(), defaultdict[str, Decimal](Decimal)
    rows = Operation.objects.filter(revision__in=pieces).values_list(
        "revision_id", "process__code", "setup_minutes", "run_minutes"
    )
    for revision, code, set_up, run in rows:
        found[code] += (set_up + run * pieces[revision]) * factors.get(code, Decimal(1))
    return {code: total.quantize(CENT) for code, total in found.items()}
