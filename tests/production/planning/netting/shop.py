"""A small bill of materials, and random order books with their own bills, to net."""

import random
from decimal import Decimal

from production.planning.netting.data import Bills, Demand, ItemRule, LotRule, Receipt, Stock

D = Decimal
# A trailer of one chassis and one axle; the chassis of two rails cut from tube.
TRAILER = {
    "trailer": (("chassis", D(1)), ("axle", D(1))),
    "chassis": (("rail", D(2)),),
    "rail": (("tube", D("1.5")),),
}
LEAD_DAYS = {"trailer": 2, "chassis": 3, "rail": 1, "axle": 30, "tube": 5}


def rules(**changes):
    """The rules of the trailer's items; `changes` replaces whole rules by item."""
    usual = {item: ItemRule(item, item in TRAILER, days) for item, days in LEAD_DAYS.items()}
    return list({**usual, **changes}.values())


def bills(*orders):
    return Bills(digests=dict.fromkeys(orders, "usual"), edges={"usual": TRAILER}, standard=TRAILER)


def trailer(order, day, quantity=1, priority=0):
    return Demand(order, "trailer", D(quantity), day, priority)


def random_edges(draw, levels):
    """A bill over four levels: any item of a level may hold items of deeper levels."""
    edges = {}
    for depth, items in enumerate(levels[:-1]):
        below = [item for level in levels[depth + 1 :] for item in level]
        for item in items:
            chosen = draw.sample(below, draw.randint(1, min(4, len(below))))
            edges[item] = tuple((child, D(draw.randint(1, 40)) / draw.choice([1, 1, 4])) for child in chosen)
    return edges


def random_book(seed, *, stocked=True, lots=True):
    """Demands, bills, rules, stock and receipts of a random order book; today is day 0."""
    draw = random.Random(seed)
    levels = [[f"{letter}{number}" for number in range(4)] for letter in "PQRS"]
    items = [item for level in levels for item in level]
    orders = [f"O{number}" for number in range(draw.randint(1, 8))]
    edges = {f"bill{number}": random_edges(draw, levels) for number in range(3)}
    demands = [
        Demand(order, draw.choice(levels[0]), D(draw.randint(1, 5)), draw.randint(-5, 60), draw.randint(0, 2))
        for order in orders
        for _ in range(draw.randint(1, 2))
    ]
    found = Bills({order: draw.choice(list(edges)) for order in orders}, edges, random_edges(draw, levels))
    made = [random_rule(draw, item, item not in levels[-1], lots) for item in items]
    if not stocked:
        return demands, found, made, Stock(), []
    stock = Stock(
        {item: D(draw.randint(0, 90)) for item in items if draw.random() < 0.5},
        {(draw.choice(orders), item): D(draw.randint(1, 20)) for item in items if draw.random() < 0.3},
    )
    receipts = [
        Receipt(item, D(draw.randint(1, 200)), draw.randint(-3, 50), f"R-{item}-{number}")
        for item in items
        for number in range(draw.randint(0, 2))
    ]
    return demands, found, made, stock, receipts


def random_rule(draw, item, make, lots):
    if not lots:
        return ItemRule(item, make, draw.randint(0, 6))
    return ItemRule(
        item,
        make,
        draw.randint(0, 6),
        draw.choice(list(LotRule)),
        D(draw.randint(1, 30)),
        D(draw.choice([0, 0, 10])),
        D(draw.choice([0, 0, 5])) / 100,
        phantom=make and draw.random() < 0.15,
        whole=draw.random() < 0.5,
        order_cost=D(60),
        holding_cost=D("0.25"),
    )
