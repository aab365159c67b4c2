"""What orders and models cost, weigh and leave: bills, prices and rates brought together."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from functools import cached_property
from typing import Any

from django.db.models import Case, OuterRef, QuerySet, Subquery, Sum, When

from bom.catalogue.configuring import Answers
from bom.catalogue.models import ColourPlace, Finish, ModelFinish, ModelOption, TrailerModel
from bom.costing.costs import Branch, Costed, Parts, Prices, cost_tree, costs_of_all, masses_sent_out
from bom.items.models import Colour, Item
from bom.kernel.errors import ProblemError
from bom.structure.conditions import Scope
from bom.structure.expansion import Expansion
from bom.structure.wording import HULL_FIELDS, MODEL_FIELDS
from production.orders.freezing import Book, expand_bill, load_book
from production.orders.models import Order, OrderChoice
from production.orders.queries import asked_of, hull_values
from production.orders.rolling import RolledBill, roll_expansions, rolled_bills
from production.site.costs.pricing import prices_on
from production.works.confirming import COATINGS

PENNY = Decimal("0.01")
ALL_COATINGS = frozenset(code for codes in COATINGS.values() for code in codes)


@dataclass(frozen=True)
class Reckoned:
    """One trailer reckoned through: its bill, what everything in it costs, and what it is sold for."""

    bill: RolledBill
    finish: str
    price: Decimal
    costs: Mapping[str, Costed]
    prices: Prices

    @property
    def parts(self) -> Parts:
        return self.costs[self.bill.expansion.top_item].unit

    @property
    def cost(self) -> Decimal:
        """Rounded once, here."""
        return self.parts.total.quantize(PENNY, ROUND_HALF_EVEN)

    @property
    def margin(self) -> Decimal:
        return self.price - self.cost

    @property
    def margin_share(self) -> Decimal | None:
        """Of the price; None without a price."""
        return self.margin / self.price if self.price else None

    @property
    def is_galvanised(self) -> bool:
        return "galvanise" in COATINGS.get(self.finish, ())

    @property
    def zinc_kg(self) -> Decimal:
        return self.bill.zinc_kg if self.is_galvanised else Decimal(0)

    @cached_property
    def tree(self) -> Branch:
        return cost_tree(self.bill.expansion.top_item, self.bill.expansion.edges, self.costs)


def reckon(bill: RolledBill, finish: str, price: Decimal, prices: Prices) -> Reckoned:
    """One bill with prices already fetched. No query."""
    expansion = bill.expansion
    without = ALL_COATINGS - set(COATINGS.get(finish, ()))
    sent = bill.galvanised if "galvanise" not in without else frozenset[str]()
    outside = masses_sent_out(expansion.totals, expansion.edges, bill.masses, sent, expansion.top_item)
    costs = costs_of_all(
        expansion.totals, expansion.edges, bill.facts, bill.work, prices, outside, without=without
    )
    return Reckoned(bill, finish, price, costs, prices)


def reckon_orders(orders: Collection[Order], day: date) -> dict[int, Reckoned]:
    """Confirmed orders by id, each with its frozen bill. A constant number of queries."""
    bills = rolled_bills({order.bill_id for order in orders if order.bill_id})
    if not bills:
        return {}
    prices = prices_on(day, _items_of(list(bills.values())))
    return {
        order.pk: reckon(bills[order.bill_id], order.finish, order.price, prices)
        for order in orders
        if order.bill_id
    }


@dataclass(frozen=True)
class Asked:
    """A trailer that is not confirmed: what was asked for, of which model, at which price."""

    model: TrailerModel
    answers: Answers
    price: Decimal


def reckon_asked(asked: Sequence[Asked], day: date, trailer: int | None = None) -> list[Reckoned | None]:
    """Expanded with the bills of the day, for one trailer or else the next to be ordered; None where it cannot be
    built. Eleven queries however many."""
    book = load_book(day, trailer)
    expansions = [expanded(one, book) for one in asked]
    bills = roll_expansions([one for one in expansions if one], book)
    prices = prices_on(day, _items_of(bills))
    waiting = iter(bills)
    return [
        reckon(next(waiting), one.answers.finish, one.price, prices) if expansion else None
        for expansion, one in zip(expansions, asked, strict=True)
    ]


def asked_by(number: str) -> tuple[Order, Asked]:
    """An order with what it asks for and its price as the catalogue has it, agreed prices first. Two queries.

    Raises:
        Order.DoesNotExist: there is no such order.
    """
    finish = ModelFinish.objects.filter(model=OuterRef("model"), finish=OuterRef("finish"))
    options = ModelOption.objects.filter(
        model=OuterRef("model"),
        choice__in=OrderChoice.objects.filter(order=OuterRef(OuterRef("pk"))).values("choice"),
    )
    order: Any = (
        Order.objects.select_related("customer", "model__item", "variant", "hull", "bill")
        .annotate(
            finish_price=Subquery(finish.values("price")[:1]),
            options_price=Subquery(
                options.order_by().values("model").annotate(all=Sum("price")).values("all")
            ),
        )
        .get(number=number)
    )
    chosen = asked_of(order)
    answers = Answers(
        model=order.model.code,
        finish=order.finish,
        choices={one.question: one.answer for one in chosen if not one.is_colour},
        colours={one.question: one.answer for one in chosen if one.is_colour},
        hull=hull_values(order.hull),
    )
    listed = order.model.base_price + (order.finish_price or 0) + (order.options_price or 0)
    has_agreed = order.variant is not None and order.variant.price is not None
    agreed = order.variant.price if has_agreed else listed
    return order, Asked(order.model, answers, order.price or agreed)


def usual_forms(models: QuerySet[TrailerModel]) -> list[Asked]:
    """Each model as it is mostly ordered: standard choices, galvanised if it may be, a hull in the middle of its
    range, of the mass the model may carry, as broad as itself, the first colour. Two queries.
    """
    galvanised_first = Case(When(finish=Finish.GALVANISED, then=0), default=1)
    finish = ModelFinish.objects.filter(model=OuterRef("pk")).order_by(galvanised_first, "finish")
    rows = models.select_related("item").annotate(
        usual_finish=Subquery(finish.values("finish")[:1]),
        finish_price=Subquery(finish.values("price")[:1]),
        a_colour=Subquery(Colour.objects.order_by("code").values("code")[:1]),
    )
    choices: dict[str, dict[str, str]] = defaultdict(dict)
    prices: dict[str, Decimal] = defaultdict(Decimal)
    for model, group, choice, price in ModelOption.objects.filter(
        is_default=True, model__in=models
    ).values_list("model__code", "choice__group__code", "choice__code", "price"):
        choices[model][group] = choice
        prices[model] += price
    return [
        Asked(
            row,
            _usual_answers(row, choices[row.code]),
            row.base_price + (row.finish_price or 0) + prices[row.code],
        )
        for row in rows
    ]


def _usual_answers(model: Any, choices: Mapping[str, str]) -> Answers:
    length = (model.hull_length_min_mm + model.hull_length_max_mm) // 2
    finish, colour = model.usual_finish or "", model.a_colour or ""
    places = [ColourPlace.PORT, ColourPlace.STARBOARD]
    if finish != Finish.GALVANISED:
        places.append(ColourPlace.POWDER)
    return Answers(
        model=model.code,
        finish=finish,
        choices=choices,
        colours={place.value: colour for place in places},
        hull={
            "length_mm": length,
            "beam_mm": model.width_mm,
            "bow_to_transom_mm": length,
            "mass_kg": max(model.max_mass_kg - model.own_mass_kg, 0),
        },
    )


def expanded(asked: Asked, book: Book) -> Expansion | None:
    """What was asked for as a bill of the book; None where it cannot be built. No query."""
    scope = Scope(
        option=dict(asked.answers.choices),
        colour=dict(asked.answers.colours),
        finish=asked.answers.finish,
        model={name: getattr(asked.model, name) for name, _ in MODEL_FIELDS},
        hull={name: asked.answers.hull.get(name) for name, _ in HULL_FIELDS},
    )
    try:
        return expand_bill(book.loaded, asked.model.item.code, scope)
    except ProblemError:
        return None


def _items_of(bills: Sequence[RolledBill]) -> list[Item]:
    found: dict[str, Item] = {}
    for bill in bills:
        found |= bill.items
    return list(found.values())
