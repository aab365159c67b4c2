"""What is wrong with the netting's input, said item by item."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from bom.kernel.errors import Problem
from production.planning.netting.data import Bills, Components, Demand, ItemRule, LotRule, Receipt, Stock

_WEIGHED = (LotRule.LEAST_AVERAGE, LotRule.LEAST_TOTAL)


def input_problems(
    demands: Sequence[Demand],
    bills: Bills,
    rules: Sequence[ItemRule],
    stock: Stock,
    receipts: Sequence[Receipt],
) -> list[Problem]:
    """Everything that makes no sense; empty when the netting may begin."""
    return [
        *(problem for rule in rules for problem in _rule_problems(rule)),
        *_missing_rules(demands, bills, rules),
        *_quantity_problems(demands, stock, receipts),
        *_bill_problems(demands, bills),
    ]


def _rule_problems(rule: ItemRule) -> Iterator[Problem]:
    where = f"item {rule.item}"
    if rule.lead_days < 0:
        yield Problem("The lead time is below zero", where, "Give the days it takes, or 0.")
    if rule.safety_stock < 0 or rule.lot_size < 0:
        yield Problem("Lot size and safety stock cannot be below zero", where, "Give 0 for none.")
    if rule.lot_rule in _WEIGHED:
        if rule.order_cost <= 0 or rule.holding_cost <= 0:
            yield Problem(
                f"The lot rule “{rule.lot_rule}” does not know what an order and keeping cost",
                where,
                "Give both costs above zero, or another lot rule.",
            )
    elif rule.lot_rule != LotRule.AS_NEEDED and rule.lot_size <= 0:
        yield Problem(f"The lot rule “{rule.lot_rule}” has no lot size", where, "Give a lot size above zero.")
    if not 0 <= rule.scrap_fraction < 1:
        yield Problem(
            f"The scrap fraction {rule.scrap_fraction} is not from 0 to below 1", where, "Give 0.02 for 2 %."
        )


def _missing_rules(demands: Sequence[Demand], bills: Bills, rules: Sequence[ItemRule]) -> Iterator[Problem]:
    known = {rule.item for rule in rules}
    used: dict[str, str] = {demand.item: f"order {demand.order}" for demand in demands}
    for name, edges in (*bills.edges.items(), ("standard", bills.standard)):
        for parent, components in edges.items():
            if parent not in known:
                used.setdefault(parent, f"bill {name}")
            for component, _ in components:
                if component not in known:
                    used.setdefault(component, f"bill {name}, {parent}")
    for item, where in used.items():
        if item not in known:
            yield Problem(
                f"Nothing is known of item {item}",
                where,
                "Say whether it is made or bought, and its lead time.",
            )


def _quantity_problems(
    demands: Sequence[Demand], stock: Stock, receipts: Sequence[Receipt]
) -> Iterator[Problem]:
    for demand in demands:
        if demand.quantity < 0:
            yield Problem(
                f"The quantity of {demand.item} is below zero", f"order {demand.order}", "Give it above 0."
            )
    for item, quantity in stock.free.items():
        if quantity < 0:
            yield Problem(f"The stock of {item} is below zero", "stock", "Count it, then plan again.")
    for (order, item), quantity in stock.reserved.items():
        if quantity < 0:
            yield Problem(
                f"The reserved stock of {item} is below zero", f"order {order}", "Reserve it again."
            )
    for receipt in receipts:
        if receipt.quantity < 0:
            yield Problem(
                f"{receipt.item} is to come in below zero", receipt.reference, "Give what is still to come."
            )


def _bill_problems(demands: Iterable[Demand], bills: Bills) -> Iterator[Problem]:
    for order in dict.fromkeys(demand.order for demand in demands):
        digest = bills.digests.get(order)
        if digest is not None and digest not in bills.edges:
            yield Problem(f"The bill {digest} is missing", f"order {order}", "Confirm the order again.")
    for name, edges in (*bills.edges.items(), ("standard", bills.standard)):
        for parent, component in _not_above_zero(edges):
            yield Problem(
                f"None of {component} goes into {parent}", f"bill {name}", "Give a quantity above zero."
            )


def _not_above_zero(edges: Components) -> Iterator[tuple[str, str]]:
    for parent, components in edges.items():
        for component, quantity in components:
            if quantity <= 0:
                yield parent, component
