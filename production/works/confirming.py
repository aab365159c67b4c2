"""Confirming orders: from a draft to a frozen bill, a purpose for its stock, and a works order for the floor."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.catalogue.configuring import Answers, configuration_of, load_range, price_of, problems_of
from bom.catalogue.models import Finish
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from bom.ratings.figures import Vehicle
from bom.ratings.models import Market
from bom.ratings.rating import Rated, Trailer, rate
from bom.structure.expansion import Expansion
from bom.structure.models import Process
from inventory.stock.models import Purpose
from production.orders.freezing import Book, expand_bill, freeze, load_book, minutes_by_process
from production.orders.models import FrozenBill, Hull, Order
from production.orders.numbers import trailer_number
from production.orders.queries import answers_of
from production.orders.rating import Desk, hull_record, load_desk, trailer_of, vehicles_of
from production.orders.recording import refuse_unmet, write_ratings
from production.works.models import WorksOperation, WorksOrder
from production.works.standard_times import factors_in_force

ROWS_AT_ONCE = 1000
CENT = Decimal("0.01")

COATINGS: Mapping[str, tuple[str, ...]] = {
    Finish.GALVANISED: ("galvanise",),
    Finish.DUPLEX: ("galvanise", "powder"),
    Finish.PAINTED: ("powder",),
}
"""What each finish asks for, whatever operations the bill names."""


@dataclass(frozen=True)
class Prepared:
    """What confirming an order will write, worked out before any row is locked."""

    answers: Answers
    expansion: Expansion
    minutes: Mapping[str, Decimal]
    price: Decimal
    rated: Rated
    book: Book


def confirm_order(*, order: Order, by: User | None, note: str = "") -> Order:
    """Freeze the order's bill, keep its rating and set-up, make its works order, and hold the order as confirmed.

    `note` is why it goes on although a rating is not met; who may write it is for the caller to ask.

    Raises:
        ProblemError: the order is not a draft, its configuration cannot be built, its bill cannot be worked out,
            a rating is not met and there is no note, or somebody changed it meanwhile. Nothing is changed then.
    """
    return confirm_orders(orders=[order], by=by, note=note)[0]


def confirm_orders(*, orders: Sequence[Order], by: User | None, note: str = "") -> list[Order]:
    """`confirm_order` for many: all of them, or none with every problem said.

    Orders whose bills cannot differ share one expansion; the number of queries grows with the orders only by the
    batches in which rows are written.
    """
    _refuse_unless_drafts(orders)
    book = load_book(timezone.localdate())
    prepared = _prepare(orders, book)
    refuse_unmet(((order, prepared[order.pk].rated) for order in orders), note)
    with transaction.atomic():
        locked = list(
            Order.objects.select_for_update(of=("self",))
            .filter(pk__in=prepared)
            .select_related("customer", "model__item", "hull", "market")
            .order_by("pk")
        )
        _refuse_unless_drafts(locked)
        _refuse_changed(locked, prepared)
        bills = freeze((one.expansion, one.book) for one in prepared.values())
        _write(locked, prepared, bills)
        write_ratings([(order, prepared[order.pk].rated) for order in locked], by=by, note=note)
    return locked


def _prepare(orders: Sequence[Order], book: Book) -> dict[int, Prepared]:
    catalogue, answers = load_range(), answers_of(orders)
    desk = load_desk(timezone.localdate(), catalogue=catalogue, loaded=book.loaded)
    vehicles = vehicles_of(order.pk for order in orders)
    shared: dict[tuple[object, ...], tuple[Expansion, Trailer]] = {}
    prepared: dict[int, Prepared] = {}
    problems: list[Problem] = []
    for order in orders:
        own = book.for_trailer(trailer_number(order.number))
        try:
            prepared[order.pk] = prepare_one(
                answers[order.pk],
                order.hull,
                order.market,
                vehicles.get(order.pk),
                desk.with_bills(own.loaded),
                own,
                shared,
            )
        except ProblemError as error:
            problems += error.within(f"order {order.number}").problems
    if problems:
        raise ProblemError(*problems)
    return prepared


def prepare_one(
    answers: Answers,
    hull: Hull,
    market: Market | None,
    vehicle: Vehicle | None,
    desk: Desk,
    book: Book,
    shared: dict[tuple[object, ...], tuple[Expansion, Trailer]],
) -> Prepared:
    """One trailer as it is asked for: its bill, minutes, price and rating. No query.

    Raises:
        ProblemError: it cannot be built, or its bill cannot be worked out.
    """
    if problems := problems_of(answers, desk.catalogue):
        raise ProblemError(*problems)
    configuration, model = configuration_of(answers, desk.catalogue), desk.catalogue.models[answers.model]
    key = book.same_bill_key(model.item.code, configuration)
    if key not in shared:
        expansion = expand_bill(book.loaded, model.item.code, configuration)
        shared[key] = (expansion, trailer_of(model, expansion, desk))
    expansion, trailer = shared[key]
    minutes = minutes_with_coating(minutes_by_process(expansion, book), answers.finish)
    code = market.code if market else ""
    rated = rate(trailer, hull_record(hull), desk.ratings, market=code, vehicle=vehicle)
    return Prepared(answers, expansion, minutes, price_of(answers, desk.catalogue), rated, book)


def minutes_with_coating(minutes: Mapping[str, Decimal], finish: str) -> dict[str, Decimal]:
    """The minutes without the coatings that this finish does not ask for, and with those that it does."""
    coatings = {code for codes in COATINGS.values() for code in codes}
    wanted = dict.fromkeys(COATINGS.get(finish, ()), Decimal(0))
    return {
        **wanted,
        **{code: time for code, time in minutes.items() if code in wanted or code not in coatings},
    }


def _refuse_unless_drafts(orders: Sequence[Order]) -> None:
    problems = [
        Problem(
            f"Order {order.number} is already {order.get_state_display()}; it was not confirmed again",
            f"order {order.number}",
            "Look at its page; only a draft can be confirmed.",
        )
        for order in orders
        if order.state != Order.State.DRAFT
    ]
    if problems:
        raise ProblemError(*problems)


def _refuse_changed(locked: Sequence[Order], prepared: Mapping[int, Prepared]) -> None:
    """Between working the bill out and locking the order somebody may have changed what it asks for."""
    now = answers_of(locked)
    changed = [order for order in locked if now[order.pk] != prepared[order.pk].answers]
    if changed:
        raise ProblemError(
            *(
                Problem(
                    f"Order {order.number} was changed by somebody while it was being confirmed",
                    f"order {order.number}",
                    "Look at what it asks for now and confirm again.",
                )
                for order in changed
            )
        )


def _write(
    orders: Sequence[Order], prepared: Mapping[int, Prepared], bills: Mapping[str, FrozenBill]
) -> None:
    purposes = Purpose.objects.bulk_create([_purpose(order) for order in orders], batch_size=ROWS_AT_ONCE)
    now = timezone.now()
    for order, purpose in zip(orders, purposes, strict=True):
        order.bill = bills[prepared[order.pk].expansion.digest]
        order.purpose = purpose
        order.price = order.price or prepared[order.pk].price
        order.state = Order.State.CONFIRMED
        order.confirmed_at = now
    Order.objects.bulk_update(
        orders, ["bill", "purpose", "price", "state", "confirmed_at"], batch_size=ROWS_AT_ONCE
    )
    works = WorksOrder.objects.bulk_create(
        [WorksOrder(number=f"W-{order.number}", order=order, item=order.model.item) for order in orders],
        batch_size=ROWS_AT_ONCE,
    )
    processes = {process.code: process for process in Process.objects.all()}
    factors = factors_in_force()
    WorksOperation.objects.bulk_create(
        [
            operation
            for order, work in zip(orders, works, strict=True)
            for operation in operations_for(work, prepared[order.pk].minutes, processes, factors)
        ],
        batch_size=ROWS_AT_ONCE,
    )


def _purpose(order: Order) -> Purpose:
    label = f"{order.model.code} for {order.customer.name}"[:120]
    return Purpose(code=order.number, label=label, needed_on=order.due_on)


def operations_for(
    work: WorksOrder,
    minutes: Mapping[str, Decimal],
    processes: Mapping[str, Process],
    factors: Mapping[str, Decimal],
) -> list[WorksOperation]:
    """One operation a process, in the order of the processes; not written yet. `factors` correct its standard time.

    Raises:
        ProblemError: a process that is not known.
    """
    if unknown := sorted(minutes.keys() - processes.keys()):
        raise ProblemError(
            *(
                Problem(f"There is no process {code}", work.number, "Add it to the processes.")
                for code in unknown
            )
        )
    return [
        WorksOperation(
            works_order=work,
            sequence=processes[code].sequence,
            process=processes[code],
            minutes=(time * factors.get(code, Decimal(1))).quantize(CENT),
        )
        for code, time in sorted(minutes.items(), key=lambda pair: processes[pair[0]].sequence)
    ]
