"""After the trailer has gone: a new owner, a recall with its list, a warranty claim."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.dispatch import tracing
from production.dispatch.models import BuiltRow, Claim, Owner, Recall, RecallTrailer, Source
from production.orders.models import NumberSeries, Order


@dataclass(frozen=True)
class Complaint:
    """What is claimed: the part, the cause, in words, when it was said, what it cost us."""

    item: Item
    cause: str
    words: str
    reported_on: date
    cost: Decimal = Decimal(0)


@transaction.atomic
def change_owner(*, order: Order, name: str, contact: str, since: date, by: User) -> Owner:
    """The trailer was sold on. The owner it has already is left as it is.

    Raises:
        ProblemError: no name, or the trailer has not gone yet.
    """
    Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    if order.state != Order.State.GONE:
        raise ProblemError(
            Problem("The trailer has not gone yet", f"order {order.number}", "Change the order.")
        )
    if not name.strip():
        raise ProblemError(Problem("The new owner has no name", f"order {order.number}", "Write a name."))
    last: Owner | None = Owner.objects.filter(order=order).order_by("-pk").first()
    if last is not None and (last.name, last.contact) == (name.strip(), contact.strip()):
        return last
    made: Owner = Owner.objects.create(
        order=order, name=name.strip()[:120], contact=contact.strip()[:200], since=since, by=by
    )
    return made


@transaction.atomic
def open_recall(*, source: Source, by: User, reason: str) -> Recall:
    """Fix the list of trailers that carry the source. A recall of this source for this reason is opened once.

    Raises:
        ProblemError: no reason, or no trailer carries it.
    """
    series = _series("recalls")
    reason = reason.strip()[:300]
    if found := Recall.objects.filter(source=source, reason=reason).first():
        return found
    if not reason:
        raise ProblemError(Problem("A recall needs a reason", str(source), "Say what is wrong with it."))
    orders = list(tracing.trailers_with(source).values_list("pk", flat=True))
    if not orders:
        raise ProblemError(Problem("No trailer carries it", str(source), "There is nobody to tell."))
    recall = Recall.objects.create(number=_next(series, "RC"), source=source, reason=reason, by=by)
    RecallTrailer.objects.bulk_create(
        [RecallTrailer(recall=recall, order_id=order) for order in orders], batch_size=500
    )
    return recall


@transaction.atomic
def mark(*, trailer: RecallTrailer, by: User, is_done: bool, on: date | None = None) -> RecallTrailer:
    """The owner was told, or the trailer was put right. What is written already stays."""
    trailer = RecallTrailer.objects.select_for_update(of=("self",)).get(pk=trailer.pk)
    on = on or timezone.localdate()
    trailer.told_on = trailer.told_on or on
    if is_done:
        trailer.done_on = trailer.done_on or on
    trailer.by = by
    trailer.save(update_fields=["told_on", "done_on", "by"])
    return trailer


@transaction.atomic
def write_claim(*, order: Order, complaint: Complaint, key: str, by: User) -> Claim:
    """Write a claim down; the batch of the part is found from the trailer's record where it is the only one.

    Raises:
        ProblemError: the trailer has not gone, or nothing is said.
    """
    series = _series("claims")
    if found := Claim.objects.filter(key=key).first():
        return found
    if order.state != Order.State.GONE:
        raise ProblemError(Problem("The trailer has not gone yet", f"order {order.number}", "Mend it here."))
    if not complaint.words.strip():
        raise ProblemError(Problem("Nothing is said", f"order {order.number}", "Write what failed."))
    sources = set(
        BuiltRow.objects.filter(order=order, item=complaint.item, source__isnull=False).values_list(
            "source_id", flat=True
        )
    )
    return Claim.objects.create(
        number=_next(series, "WC"),
        key=key,
        order=order,
        item=complaint.item,
        source_id=sources.pop() if len(sources) == 1 else None,
        cause=complaint.cause,
        words=complaint.words.strip()[:300],
        reported_on=complaint.reported_on,
        cost=complaint.cost,
        by=by,
    )


def _series(code: str) -> NumberSeries:
    """The series, its row locked until the transaction ends."""
    series, _ = NumberSeries.objects.select_for_update().get_or_create(code=code)
    return series


def _next(series: NumberSeries, letters: str) -> str:
    series.last += 1
    series.save(update_fields=["last"])
    return f"{letters}-{series.last:04d}"
