"""Builds the demonstration: everything in one transaction, so that a failure leaves nothing half-built."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from math import sqrt
from random import Random

from django.db import transaction
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.buying.models import Supplier
from inventory.stores.labels.printing import add_usual_layouts
from production.orders.models import Customer
from production.site.costs.keeping import keep_costs
from production.site.demo import history
from production.site.demo.assembled import assembled_things
from production.site.demo.bought import bought_things
from production.site.demo.buying_desk import furnish_buying
from production.site.demo.coating import add_coating_figures, coat_some
from production.site.demo.costs import add_costs
from production.site.demo.customers import add_customers
from production.site.demo.cutting import add_cutting
from production.site.demo.deliveries import add_deliveries
from production.site.demo.drawn import add_drawn
from production.site.demo.flat_parts import flat_parts, raw_sheets
from production.site.demo.gate import add_gate, add_marks
from production.site.demo.gone import add_gone
from production.site.demo.handling import add_handling, begin_handling
from production.site.demo.levels import add_levels
from production.site.demo.numbers import add_numbers
from production.site.demo.offers import Offered, add_catalogue
from production.site.demo.orders import Book, add_orders, weeks_ahead
from production.site.demo.orders_before import add_orders_before
from production.site.demo.outside import add_outside_before, send_some_now
from production.site.demo.people import add_people
from production.site.demo.phantoms import fixing_sets
from production.site.demo.purchases import Purchased, add_purchases
from production.site.demo.ratings import add_ratings
from production.site.demo.recipes import Thing
from production.site.demo.sawing import add_sawing
from production.site.demo.sections import raw_sections, sawn_parts
from production.site.demo.shop import add_jigs, add_shop
from production.site.demo.stores import add_places, shelf_of_each, weekly_use
from production.site.demo.suppliers import add_suppliers
from production.site.demo.under_way import begin_some
from production.site.demo.welded import welded_things
from production.site.demo.writing import Written, write_things

WORKS_NAME = "Tiddersleigh Fen Trailer Works"
"""The name of the invented factory."""

HISTORY_WEEKS = 52

Progress = Callable[[int, str], None]


def silent(percent: int, step: str) -> None:
    """Hears of progress and says nothing."""


@dataclass(frozen=True)
class DemoSummary:
    """What was built."""

    name: str
    items: int
    flat_parts: int
    models: int
    customers: int
    suppliers: int
    open_orders: int
    drafts: int
    postings: int
    purchase_orders: int


def build(
    *,
    seed: int = 1,
    scale: int = 1,
    orders: int = 60,
    today: date | None = None,
    progress: Progress = silent,
    history_weeks: int = HISTORY_WEEKS,
) -> DemoSummary:
    """Build the workshop with `orders` × `scale` open orders, as it stands on `today`.

    `progress` hears a percentage and a sentence. A shorter history is built faster.

    Raises:
        ProblemError: there are items already, or a number is not above zero.
    """
    _refuse_unless_empty(seed, scale, orders, history_weeks)
    with transaction.atomic():
        return _Builder(
            Random(seed), scale, orders * scale, today or timezone.localdate(), progress, history_weeks
        ).run()


def all_things() -> list[Thing]:
    """Every item of the demonstration, raw and bought ones first, the trailers last."""
    return [
        *raw_sheets(),
        *raw_sections(),
        *bought_things(),
        *flat_parts(),
        *sawn_parts(),
        *fixing_sets(),
        *welded_things(),
        *assembled_things(),
    ]


def _refuse_unless_empty(seed: int, scale: int, orders: int, history_weeks: int) -> None:
    if scale < 1 or orders < 1 or history_weeks < 1:
        raise ProblemError(
            Problem(
                f"Scale {scale}, {orders} orders and {history_weeks} weeks of history cannot be built",
                "demonstration",
                "Give whole numbers above zero.",
            )
        )
    if Item.objects.exists():
        raise ProblemError(
            Problem(
                f"The workshop already has {Item.objects.count()} items",
                "demonstration",
                "Build the demonstration in an empty workshop, or throw the one that is there away first.",
            )
        )


@dataclass
class _Builder:
    random: Random
    scale: int
    orders: int
    today: date
    progress: Progress
    history_weeks: int

    def run(self) -> DemoSummary:
        self.progress(1, "people and the shop")
        people = add_people()
        processes = add_shop(self.today, self.growth)
        self.progress(4, "drawing the parts")
        things = all_things()
        self.progress(10, f"{len(things)} items with their bills")
        written = write_things(things, processes, self.today - timedelta(days=400))
        add_drawn(things, written)
        add_sawing(written)
        add_cutting(self.today - timedelta(days=400), people["manager"])
        offered = add_catalogue(written.items, written.colours)
        add_jigs(offered.models.values(), self.growth)
        add_ratings(written.items, offered.models, people["manager"])
        add_gate(WORKS_NAME)
        add_marks(written.items)
        add_deliveries()
        customers = add_customers(self.scale, offered.variants)
        self.progress(20, f"{self.orders} orders")
        book = self._order_book(written, offered, customers, people["office"])
        self.progress(60, f"{self.history_weeks} weeks of goods-in and issues")
        postings, purchases = self._stores(things, written, book, people)
        self.progress(100, "the workshop is built")
        return DemoSummary(
            name=WORKS_NAME,
            items=len(things),
            flat_parts=sum(thing.outline is not None for thing in things),
            models=len(offered.models),
            customers=len(customers),
            suppliers=Supplier.objects.count(),
            open_orders=len(book.confirmed),
            drafts=len(book.drafts),
            postings=postings,
            purchase_orders=purchases.orders,
        )

    @property
    def growth(self) -> int:
        """How many times the bays of the small workshop: orders grow as the square of it, and the weeks too."""
        return max(1, round(sqrt(self.scale)))

    def _order_book(
        self, written: Written, offered: Offered, customers: Mapping[str, Customer], by: User
    ) -> Book:
        def confirming(percent: int, sentence: str) -> None:
            self.progress(20 + percent * 40 // 100, sentence)

        return add_orders(
            self.random,
            self.orders,
            self.scale,
            self.today,
            offered,
            written.colours,
            customers,
            by,
            confirming,
        )

    def _stores(
        self, things: Sequence[Thing], written: Written, book: Book, people: Mapping[str, User]
    ) -> tuple[int, Purchased]:
        by = people["stores"]
        places = add_places()
        add_usual_layouts()
        add_numbers(list(written.items.values()))
        suppliers = add_suppliers(things, written.items)
        use = weekly_use(weeks_ahead(self.scale))
        simulated = [
            history.simulate(self.random, thing, use.get(thing.code, Decimal(0)), self.history_weeks)
            for thing in things
            if thing.is_stocked
        ]
        diary = history.Diary(written.items, shelf_of_each(things, places), places, self._first_monday(), by)
        postings = diary.write(simulated, self.history_weeks)
        self.progress(90, "purchase orders and levels")
        add_orders_before(diary.arrivals, suppliers, written.items, by)
        add_outside_before(written.items, places, self.today, self.history_weeks, by)
        purchases = add_purchases(simulated, use, suppliers, written.items, self.today, by)
        furnish_buying(purchases.coming, suppliers, WORKS_NAME, self.today, by)
        add_levels(written.items, self.today, self.history_weeks, by)
        self.progress(95, "the first orders are begun")
        yesterday = timezone.make_aware(datetime.combine(self.today - timedelta(days=1), time(16)))
        add_handling(written.items, by)
        add_coating_figures(written.items, people["manager"])
        coat_some(begin_some(book.confirmed, places, yesterday, by), people)
        send_some_now(written.items, places, self.today, by)
        begin_handling(written.items, places, by, people["manager"])
        self.progress(97, "trailers that have gone")
        add_gone(book.confirmed, people, self.today)
        self.progress(98, "what the stock cost")
        add_costs(f"{self.scale} {self.orders}", by)
        keep_costs()
        return postings, purchases

    def _first_monday(self) -> date:
        return self.today - timedelta(days=self.today.weekday(), weeks=self.history_weeks)
