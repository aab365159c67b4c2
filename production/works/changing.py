"""Changing a confirmed order: a new frozen bill in place of the old one, which stays as history.

The rule of revisions: what no work has begun on is made by the bills of today. What has begun (its first operation
is begun or finished, or some of it is kept for the order) keeps the revision that it was begun with. Where the new
choices would still alter what goes into something begun, the change is refused: nobody unwelds a chassis.
"""

import hashlib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from bom.catalogue.configuring import load_range, price_of
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from bom.structure.models import Process
from inventory.stock import ledger
from inventory.stock.models import Location, Posting, Purpose
from inventory.stock.queries import place, stacks
from inventory.stock.reassigning import let_go
from production.orders.drafting import Wish, answers_in, hull_in, write_wish
from production.orders.freezing import Book, freeze, keep_revisions, load_book
from production.orders.models import Order
from production.orders.numbers import trailer_number
from production.orders.queries import answers_of
from production.orders.rating import load_desk, vehicles_of
from production.orders.recording import refuse_unmet, write_ratings
from production.orders.version_models import OrderVersion, OrderVersionChoice, OrderVersionColour
from production.works.change_rules import (
    CENT,
    more_to_get,
    refuse_substitutes,
    refuse_what_is_begun,
    reopened_minutes,
)
from production.works.confirming import Prepared, operations_for, prepare_one
from production.works.models import WorksOperation, WorksOrder
from production.works.standard_times import factors_in_force
from production.works.standing import Standing, standing_of
from production.works.still_needed import StillNeeded, still_needed

State = WorksOperation.State


@dataclass(frozen=True)
class Proposal:
    """What changing the order would do. Nothing of it is written.

    `surplus`: kept for the order and no longer wanted. `to_get` against `to_get_before`: what is still to be made or
    bought. `reopened`: minutes of finished operations that have something to do again. `old_revisions`: items that
    keep their revision because they are begun, with its letter and today's. `price` is what is added to the order's.
    `seen` is the same for two proposals exactly when they say the same.
    """

    order: Order
    standing: Standing
    prepared: Prepared
    book: Book
    needed: StillNeeded
    needed_before: StillNeeded
    surplus: Mapping[str, Decimal]
    reopened: Mapping[str, Decimal]
    old_revisions: tuple[tuple[str, str, str], ...]
    price: Decimal
    seen: str

    @property
    def before(self) -> Mapping[str, Decimal]:
        return self.standing.totals

    @property
    def after(self) -> Mapping[str, Decimal]:
        return self.prepared.expansion.totals


def propose_change(*, order: Order, wish: Wish) -> Proposal:
    """Work out what changing a confirmed order to this wish would do; nothing is written. About 25 queries.

    Raises:
        ProblemError: the order is not open or is of another model or customer, the wish cannot be built, or work
            that has begun stands against it (everything that does is said).
    """
    _refuse_unless_changeable(order, wish)
    standing = standing_of(order)
    today = load_book(timezone.localdate(), trailer_number(order.number))
    kept = {code: one for code, one in standing.revisions.items() if code in standing.begun}
    book = keep_revisions(today, kept)
    catalogue, answers = load_range(), answers_in(wish)
    desk = load_desk(timezone.localdate(), catalogue=catalogue, loaded=book.loaded)
    vehicle = vehicles_of([order.pk]).get(order.pk)
    prepared = prepare_one(answers, hull_in(wish), wish.market, vehicle, desk, book, {})
    new_edges = [(edge.parent, edge.component, edge.quantity_per) for edge in prepared.expansion.edges]
    needed = still_needed(standing.top, new_edges, standing.kept)
    before = still_needed(standing.top, standing.edges, standing.kept)
    more = more_to_get(needed, before)
    refuse_what_is_begun(order, standing, prepared, new_edges, more, book)
    surplus = needed.surplus(standing.kept)
    refuse_substitutes(order, standing, surplus)
    price = prepared.price - price_of(answers_of([order])[order.pk], catalogue)
    reopened = reopened_minutes(standing, more, book)
    old = _old_revisions(kept, today, prepared.expansion.totals)
    seen = _fingerprint(order, prepared, surplus, reopened, price, standing)
    return Proposal(order, standing, prepared, book, needed, before, surplus, reopened, old, price, seen)


def change_order(
    *,
    order: Order,
    wish: Wish,
    by: User | None,
    reason: str,
    key: str,
    seen: str,
    scrapped: Collection[str] = (),
    note: str = "",
) -> OrderVersion:
    """Change a confirmed order to this wish and keep what it was as its history.

    Freezes a new bill, brings the works order's operations in line, lets go of what is no longer wanted (made parts
    whose code is in `scrapped` are scrapped), and rates the trailer anew. A repeat of `key` returns the first change.
    `seen` is the fingerprint of the proposal that the person looked at.

    Raises:
        ProblemError: as `propose_change`; no reason; something was done on the order since it was looked at; a
            rating is not met and there is no note. Nothing is changed then.
    """
    if not reason.strip():
        raise ProblemError(Problem("No reason is given", f"order {order.number}", "Say why it is changed."))
    with transaction.atomic():
        locked = _locked(order)
        if done := OrderVersion.objects.filter(key=key, order=order).first():
            return done
        proposal = propose_change(order=locked, wish=wish)
        if proposal.seen != seen:
            raise ProblemError(
                Problem(
                    f"Something was done on order {order.number} since you looked at this change",
                    f"order {order.number}",
                    "Look at what it would do now, then accept it again.",
                )
            )
        refuse_unmet([(locked, proposal.prepared.rated)], note)
        return _write(proposal, wish, by=by, reason=reason.strip(), key=key, scrapped=scrapped, note=note)


def _locked(order: Order) -> Order:
    """The works order's row is the lock of its operations, so it comes first everywhere."""
    WorksOrder.objects.select_for_update().filter(order=order).first()
    rows = Order.objects.select_for_update(of=("self",)).select_related(
        "purpose", "model__item", "hull", "variant", "customer", "market"
    )
    return rows.get(pk=order.pk)


def _refuse_unless_changeable(order: Order, wish: Wish) -> None:
    where = f"order {order.number}"
    if not order.is_open:
        raise ProblemError(
            Problem(
                f"Order {order.number} is {order.get_state_display()}; what it asks for cannot be changed",
                where,
                "A draft is changed in its form; for a finished trailer write a new order.",
            )
        )
    if wish.model.pk != order.model_id or wish.customer.pk != order.customer_id:
        raise ProblemError(
            Problem(
                "Another model or another customer is another order",
                where,
                "Cancel this order and write a new one.",
            )
        )


def _old_revisions(
    kept: Mapping[str, tuple[int, str]], today: Book, totals: Mapping[str, Decimal]
) -> tuple[tuple[str, str, str], ...]:
    structures = today.loaded.catalogue.structures
    return tuple(
        (code, letter, structures[code].revision if code in structures else "none")
        for code, (pk, letter) in sorted(kept.items())
        if code in totals and today.loaded.revision_ids.get(code) != pk
    )


def _fingerprint(
    order: Order,
    prepared: Prepared,
    surplus: Mapping[str, Decimal],
    reopened: Mapping[str, Decimal],
    price: Decimal,
    standing: Standing,
) -> str:
    states = sorted((code, one.state) for code, one in standing.operations.items())
    said = (order.bill_id, prepared.expansion.digest, prepared.answers.finish, price, states)
    parts = [(code, format_quantity(quantity)) for code, quantity in (*surplus.items(), *reopened.items())]
    return hashlib.sha256(repr((said, parts)).encode()).hexdigest()[:32]


def _write(
    proposal: Proposal,
    wish: Wish,
    *,
    by: User | None,
    reason: str,
    key: str,
    scrapped: Collection[str],
    note: str,
) -> OrderVersion:
    order, prepared = proposal.order, proposal.prepared
    bill = freeze([(prepared.expansion, proposal.book)])[prepared.expansion.digest]
    price = order.price + proposal.price
    version = _keep_version(proposal, bill_id=bill.pk, price=price, by=by, reason=reason, key=key)
    write_wish(order, wish)
    order.bill, order.price = bill, price
    order.save(update_fields=["bill", "price"])
    purpose = order.purpose
    assert purpose is not None  # the database holds this of every open order
    purpose.needed_on = order.due_on
    purpose.save(update_fields=["needed_on"])
    _adjust_operations(proposal)
    _free(proposal, purpose, by=by, reason=reason, scrapped=scrapped, key=key)
    last = order.ratings.aggregate(last=Max("number"))["last"] or 0
    why = f"order changed: {reason}"[:200]
    write_ratings([(order, prepared.rated)], by=by, reason=why, number=last + 1, note=note)
    return version


def _keep_version(
    proposal: Proposal, *, bill_id: int, price: Decimal, by: User | None, reason: str, key: str
) -> OrderVersion:
    order = proposal.order
    last = order.versions.aggregate(last=Max("number"))["last"] or 0
    version = OrderVersion.objects.create(
        order=order,
        number=last + 1,
        key=key,
        bill_id=order.bill_id or 0,
        next_bill_id=bill_id,
        variant=order.variant,
        finish=order.finish,
        hull=order.hull,
        asked_for=order.asked_for,
        price=order.price,
        next_price=price,
        reason=reason[:200],
        by=by,
    )
    OrderVersionChoice.objects.bulk_create(
        [OrderVersionChoice(version=version, choice_id=row.choice_id) for row in order.choices.all()]
    )
    OrderVersionColour.objects.bulk_create(
        [
            OrderVersionColour(version=version, place=row.place, colour_id=row.colour_id)
            for row in order.colours.all()
        ]
    )
    return version


def _adjust_operations(proposal: Proposal) -> None:
    """What has not begun follows the new bill; what is finished stays, unless it has more to do."""
    factors = factors_in_force()
    minutes, reopened = (
        {code: (time * factors.get(code, Decimal(1))).quantize(CENT) for code, time in found.items()}
        for found in (proposal.prepared.minutes, proposal.reopened)
    )
    standing = proposal.standing.operations
    for code, operation in standing.items():
        if code not in minutes and operation.state == State.WAITING:
            operation.delete()
        elif code in reopened:
            operation.state, operation.posting, operation.finished_at = State.WAITING, None, None
            operation.minutes = reopened[code]
            operation.save(update_fields=["state", "posting", "finished_at", "minutes"])
        elif code in minutes and operation.state != State.DONE:
            operation.minutes = minutes[code]
            operation.save(update_fields=["minutes"])
    works = WorksOrder.objects.get(order=proposal.order)
    processes = {process.code: process for process in Process.objects.all()}
    added = {code: time for code, time in minutes.items() if code not in standing}
    WorksOperation.objects.bulk_create(operations_for(works, added, processes, {}))


def _free(
    proposal: Proposal,
    purpose: Purpose,
    *,
    by: User | None,
    reason: str,
    scrapped: Collection[str],
    key: str,
) -> None:
    """Let go of what is no longer wanted; made parts that somebody wants scrapped are scrapped."""
    items = Item.objects.in_bulk(list(proposal.surplus), field_name="code")
    why = f"order {proposal.order.number} changed: {reason}"[:200]
    for code, quantity in proposal.surplus.items():
        let_go(item=items[code], purpose=purpose, quantity=quantity, by=by, reason=why)
    away = {
        items[code].pk: quantity
        for code, quantity in proposal.surplus.items()
        if code in scrapped and items[code].is_made
    }
    if away:
        lines = _scrap_lines(away, {item.pk: item for item in items.values()})
        ledger.post(
            key=f"changed:{key}", kind=Posting.Kind.SCRAP, lines=lines, by=by, reason=why, purpose=purpose
        )


def _scrap_lines(away: Mapping[int, Decimal], items: Mapping[int, Item]) -> list[ledger.Line]:
    """From where they lie, at work before on a shelf. ProblemError where fewer lie here than are kept."""
    scrap, lines, problems = place("SCRAP"), [], []
    lying = stacks(away, kinds=[Location.Kind.WORK, Location.Kind.SHELF])
    for item_id, quantity in away.items():
        left = quantity
        for stack in sorted(lying.get(item_id, []), key=lambda one: one.location_kind != Location.Kind.WORK):
            taken = min(left, stack.quantity)
            if taken > 0 and stack.location_code != "KIT":
                lines += [
                    ledger.Line(item_id, stack.location_id, -taken, stack.lot_id),
                    ledger.Line(item_id, scrap.pk, taken, stack.lot_id),
                ]
                left -= taken
        if left > 0:
            problems.append(
                Problem(
                    f"{format_quantity(left)} of {items[item_id].code} do not lie here, so they cannot be scrapped",
                    "scrap",
                    "Give them back to the shelf; scrap them when they are here.",
                )
            )
    if problems:
        raise ProblemError(*problems)
    return lines
