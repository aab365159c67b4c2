"""Writes the orders: hulls, choices and colours; most are confirmed, a few stay drafts."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from math import sqrt
from random import Random

from bom.items.models import Colour
from bom.people.models import User
from production.orders.models import Customer, Hull, NumberSeries, Order, OrderChoice, OrderColour
from production.orders.numbers import ORDERS, take_numbers
from production.site.demo.offers import Offered
from production.site.demo.ratings import add_vehicles, send_some_abroad
from production.site.demo.shop import working_days
from production.site.demo.under_way import orders_begun
from production.site.demo.wishes import Wish, draw_wishes
from production.works.confirming import confirm_orders

FIRST_NUMBER = 2601
WEEKS_AHEAD = 8
_EARLIEST_DAYS = 6
# The first orders are under way and wanted within so many working days; the others come when there is time.
_DAYS_UNDER_WAY = 7
_ROWS = 500
# Taken by the boat's own figures, so that nothing else of the demonstration changes with them.
_KEELS = (Hull.Keel.SHALLOW, Hull.Keel.DEEP, Hull.Keel.FLAT, Hull.Keel.DEEP, Hull.Keel.LONG)
_CHINES = (Hull.Chine.HARD, Hull.Chine.HARD, Hull.Chine.ROUND, Hull.Chine.STEPPED)
_GEAR_KG = (0, 15, 20, 40)
_AT_ONCE = 500
_GOES_ON = "Agreed with the customer: to be put right before the trailer leaves."


@dataclass(frozen=True)
class Book:
    """The order book as written: open orders by the date asked for, and drafts."""

    confirmed: Sequence[Order]
    drafts: Sequence[Order]


def weeks_ahead(scale: int) -> int:
    """Over how many weeks the orders are spread: more orders fill a longer book, not only fuller weeks."""
    return round(WEEKS_AHEAD * sqrt(scale))


def add_orders(
    random: Random,
    count: int,
    scale: int,
    today: date,
    offered: Offered,
    colours: Mapping[str, Colour],
    customers: Mapping[str, Customer],
    by: User,
    progress: Callable[[int, str], None],
) -> Book:
    """Write `count` open orders and a few drafts; `progress` hears how many are confirmed."""
    NumberSeries.objects.create(code=ORDERS, last=FIRST_NUMBER - 1)
    begun = orders_begun(count)
    last_day = today + timedelta(days=_EARLIEST_DAYS, weeks=weeks_ahead(scale))
    days = working_days(today + timedelta(days=_EARLIEST_DAYS), last_day)
    first_days, days = days[:_DAYS_UNDER_WAY], days[_DAYS_UNDER_WAY:]
    wishes = draw_wishes(random, begun, scale, first_days)
    wishes += draw_wishes(random, count - begun, scale, days, already=begun)
    random.shuffle(wishes)
    drafts = draw_wishes(random, max(2, min(4, count // 15)), 1, days[len(days) // 2 :], already=count)
    open_orders = _write(wishes, offered, colours, customers, by)
    draft_orders = _write(drafts, offered, colours, customers, by)
    _confirm(open_orders, by, progress)
    confirmed = Order.objects.filter(pk__in=[order.pk for order in open_orders])
    return Book(list(confirmed.order_by("asked_for", "number")), draft_orders)


def _confirm(orders: Sequence[Order], by: User, progress: Callable[[int, str], None]) -> None:
    for start in range(0, len(orders), _AT_ONCE):
        progress(100 * start // len(orders), f"{start} of {len(orders)} orders confirmed")
        confirm_orders(orders=orders[start : start + _AT_ONCE], by=by, note=_GOES_ON)


def _write(
    wishes: Sequence[Wish],
    offered: Offered,
    colours: Mapping[str, Colour],
    customers: Mapping[str, Customer],
    by: User,
) -> list[Order]:
    hulls = Hull.objects.bulk_create([_hull(wish) for wish in wishes], batch_size=_ROWS)
    numbers = take_numbers(len(wishes))
    rows = [
        Order(
            number=number,
            customer=customers[wish.customer],
            model=offered.models[wish.model.code],
            variant=offered.variants.get(wish.variant),
            finish=wish.finish,
            hull=hull,
            asked_for=wish.asked_for,
            promised_on=wish.asked_for if number_ends_in(number, "02468") else None,
            weight=wish.weight,
            price=Decimal(wish.price),
            made_by=by,
        )
        for wish, hull, number in zip(wishes, hulls, numbers, strict=True)
    ]
    send_some_abroad(rows)
    orders = Order.objects.bulk_create(rows, batch_size=_ROWS)
    add_vehicles(orders)
    OrderChoice.objects.bulk_create(
        [
            OrderChoice(order=order, choice=offered.choices[pair])
            for order, wish in zip(orders, wishes, strict=True)
            for pair in wish.choices.items()
        ],
        batch_size=_ROWS,
    )
    OrderColour.objects.bulk_create(
        [
            OrderColour(order=order, place=place, colour=colours[code])
            for order, wish in zip(orders, wishes, strict=True)
            for place, code in wish.colours.items()
        ],
        batch_size=_ROWS,
    )
    return orders


def number_ends_in(number: str, digits: str) -> bool:
    return number[-1] in digits


def _hull(wish: Wish) -> Hull:
    boat = wish.boat
    return Hull(
        name=boat.name,
        mass_kg=boat.mass_kg,
        length_mm=boat.length_mm,
        beam_mm=boat.beam_mm,
        bow_to_transom_mm=boat.bow_to_transom_mm,
        centre_of_gravity_mm=boat.centre_of_gravity_mm,
        is_measured=boat.is_measured,
        keel=_KEELS[boat.mass_kg // 5 % len(_KEELS)],
        chine=_CHINES[boat.beam_mm // 10 % len(_CHINES)],
        gear_kg=_GEAR_KG[boat.length_mm // 10 % len(_GEAR_KG)],
        gear_at_mm=round(boat.length_mm * 0.3, -1),
    )
