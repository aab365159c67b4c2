"""Offering a date: an order's earliest day beside everything planned, then many futures of it. Background only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from time import monotonic

from django.db import transaction
from django.utils import timezone

from bom.catalogue.configuring import configuration_of, load_range
from bom.costing.masses import mass_to_galvanise, unit_masses
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.running import Pulse, Stopped
from production.orders.freezing import Book, expand_bill, load_book, minutes_by_process
from production.orders.models import Order
from production.orders.numbers import trailer_number
from production.orders.queries import answers_of
from production.planning.models import Plan
from production.planning.needs import Needs, read_needs
from production.planning.netting.data import SupplyKind
from production.scheduling.asked.adding import LAST_STAGES, Supply, Wanted, add_order, place_order, there_at
from production.scheduling.asked.questions import standing_of
from production.scheduling.asked.reading import read_floor
from production.scheduling.board.drafts import Draft, draft_of, read_desk
from production.scheduling.board.wording import Namer
from production.scheduling.follow.history import delivery_days, load_days, ratios_by_station
from production.scheduling.futures.promise import curve_of
from production.scheduling.futures.simulate import simulate
from production.scheduling.futures.spread import Spread, learn
from production.scheduling.making.making import days_away, net_of, working_days
from production.scheduling.promises.offer_runs import RUNNER
from production.scheduling.promises.promise_models import PromisePoint, PromiseRun
from production.scheduling.reasons.chains import raw_chain, words_of
from production.scheduling.solver.job import Schedule, Work
from production.shop.calendars import load_shop
from production.works.confirming import minutes_with_coating

MOST_POINTS = 120
SHARE = Decimal("0.0001")
RANKED = ("material", "held", "busy", "full", "departure")


@dataclass(frozen=True)
class Offer:
    """The work with the order in it, where everything then stands, and why it is no sooner."""

    work: Work
    schedule: Schedule
    because: str


def carry_out(run_id: int) -> None:
    """Work a queued offer out; one that another worker has claimed is left alone."""
    RUNNER.carry_out(run_id, _work_out)


def _work_out(run: PromiseRun, pulse: Pulse) -> None:
    began = monotonic()
    plan = Plan.current()
    standing = standing_of(plan) if plan is not None else None
    if plan is None or standing is None:
        raise ProblemError(
            Problem("There is no released plan to look for a date in", "plan", "Release a plan first.")
        )
    order = Order.objects.select_related("model__item", "hull", "market", "bill", "customer").get(
        pk=run.order_id
    )
    draft = draft_of(plan, standing, read_desk(), ())
    pulse.step(20, "looking for its earliest day")
    offer = offer_for(draft, order)
    earliest = offer.schedule.finish_min[order.number]
    seconds = monotonic() - began
    pulse.step(60, f"living through {run.futures} futures")
    ends = simulate(offer.work, offer.schedule, learned(), count=run.futures)[order.number]
    curve = curve_of([draft.clock.day_of(int(minute)) for minute in ends])
    with transaction.atomic():
        if not RUNNER.close(run.pk, PromiseRun.Outcome.SUCCEEDED):
            raise Stopped
        PromiseRun.objects.filter(pk=run.pk).update(
            plan=plan,
            earliest_at=draft.clock.moment(earliest),
            because=offer.because[:300],
            seconds=Decimal(repr(seconds)).quantize(Decimal("0.01")),
        )
        PromisePoint.objects.bulk_create(
            PromisePoint(run=run, on=point.on, share=Decimal(repr(point.share)).quantize(SHARE))
            for point in curve[-MOST_POINTS:]
        )


def learned() -> Spread:
    """What history says of times, deliveries and loads. Seven queries."""
    return learn(ratios_by_station(), delivery_days(), load_days())


def offer_for(draft: Draft, order: Order) -> Offer:
    """Where an order stands in the plan, or would if it were put into what is left."""
    if order.number in draft.after.finish_min and any(
        one.job == order.number for one in draft.work.operations
    ):
        return Offer(draft.work, draft.after, _because(draft, draft.work, draft.after, order.number))
    if order.state not in (Order.State.DRAFT, *Order.OPEN):
        raise ProblemError(
            Problem(
                f"Order {order.number} is {order.get_state_display()}",
                "order",
                "Only what is still to be made gets a date.",
            )
        )
    places = {centre.process.code: centre.code for centre in reversed(list(draft.desk.centres.values()))}
    wanted = wanted_of(draft, order)
    work = add_order(draft.work, draft.after, wanted, places, draft.standing.now)
    schedule = place_order(work, draft.after, order.number)
    if schedule is None:
        raise ProblemError(
            Problem(
                f"Order {order.number} does not fit into the time the plan looks ahead",
                "plan",
                "Make a new plan.",
            )
        )
    return Offer(work, schedule, _because(draft, work, schedule, order.number, order.pk))


def _because(draft: Draft, work: Work, schedule: Schedule, number: str, new_id: int | None = None) -> str:
    """The link of its chain that says most. `new_id` is the order's where the plan does not hold it yet."""
    namer = Namer(draft)
    if new_id is not None:
        namer.add(new_id, number, [one.id for one in work.operations if one.job == number])
    links = [link for link in raw_chain(work, schedule, number) if link.kind.value in RANKED]
    best = min(links, key=lambda link: RANKED.index(link.kind.value), default=None)
    return words_of(draft, namer, best) if best else "The work itself: nothing stands in its way."


def wanted_of(draft: Draft, order: Order) -> Wanted:
    """What the order asks of the floor, by the bills in force, and when its parts can be there."""
    book = load_book(timezone.localdate(), trailer_number(order.number))
    catalogue = load_range()
    answers = answers_of([order])[order.pk]
    configuration = configuration_of(answers, catalogue)
    expansion = expand_bill(book.loaded, order.model.item.code, configuration)
    minutes = minutes_with_coating(minutes_by_process(expansion, book), answers.finish)
    masses = unit_masses(expansion, book.loaded.own_kg, book.loaded.raw)
    used_at = _used_at(book, order.model.item.code)
    needed: dict[str, dict[str, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for edge in expansion.edges:
        if edge.component not in book.work:
            needed[edge.component][used_at(edge.parent)] += edge.quantity_per * expansion.totals.get(
                edge.parent, Decimal(1)
            )
    supply, needs = supply_of(draft)
    waits: dict[str, tuple[int, str]] = {}
    for item, by_process in needed.items():
        whole = sum(by_process.values(), Decimal(0))
        minute = there_at(supply, item, whole)
        for process in by_process:
            if minute > waits.get(process, (0, ""))[0]:
                name = needs.items[item].name if item in needs.items else item
                waits[process] = (minute, f"{whole.normalize():f} × {item} {name}")
    return Wanted(
        order.number,
        max(0, draft.clock.end_of(order.due_on)),
        {process: float(time) for process, time in minutes.items()},
        float(mass_to_galvanise(expansion, masses, book.galvanised(expansion.totals))),
        float(
            max(
                (
                    needs.items[code].length_mm or 0
                    for code in book.galvanised(expansion.totals)
                    if code in needs.items
                ),
                default=0,
            )
        ),
        answers.colours.get("powder", ""),
        waits,
    )


def _used_at(book: Book, top: str) -> Callable[[str], str]:
    """The process at which the parts of a made item are first needed."""

    def first(parent: str) -> str:
        processes = {work.process for work in book.work.get(parent, ())}
        if parent == top and "assemble" in processes:
            return "assemble"
        return next((one for one in ("laser", "saw", "fold", *LAST_STAGES) if one in processes), "assemble")

    return first


def supply_of(draft: Draft) -> tuple[Supply, Needs]:
    """What is left on shelves and on its way when every open order has taken its own."""
    floor = read_floor()
    clock = draft.clock
    today = timezone.localdate()
    shop = load_shop(clock, 2)
    days = working_days(shop, max((order.due_on for order in floor.orders), default=today))
    needs = read_needs(
        floor.orders, under_way=floor.under_way, today=today, days=days, galvanising_days=days_away(shop)
    )
    taken: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for peg in net_of(needs).pegs:
        key = peg.reference if peg.kind == SupplyKind.RECEIPT else ""
        if peg.kind in (SupplyKind.STOCK, SupplyKind.RECEIPT):
            taken[peg.item, key] += peg.quantity
    reserved: dict[str, Decimal] = defaultdict(Decimal)
    for (_, item), quantity in needs.stock.reserved.items():
        reserved[item] += quantity
    # What is reserved serves its order before the free stock does.
    free = {
        item: max(Decimal(0), quantity - max(Decimal(0), taken[item, ""] - reserved[item]))
        for item, quantity in needs.stock.free.items()
    }
    coming: dict[str, list[tuple[int, Decimal]]] = defaultdict(list)
    for receipt in sorted(needs.receipts, key=lambda one: one.day):
        left = receipt.quantity - taken[receipt.item, receipt.reference]
        if left > 0:
            coming[receipt.item].append((_minute(draft, receipt.day), left))
    lead = {
        rule.item: _minute(draft, days.shift(needs.today, rule.lead_days))
        for rule in needs.rules
        if not rule.make
    }
    return Supply(free, _fixed(coming), lead), needs


def _fixed(coming: Mapping[str, list[tuple[int, Decimal]]]) -> dict[str, tuple[tuple[int, Decimal], ...]]:
    return {item: tuple(rows) for item, rows in coming.items()}


def _minute(draft: Draft, day: int) -> int:
    return max(0, draft.clock.start_of(date.fromordinal(day)))
