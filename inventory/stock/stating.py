"""Saying what stock cost: a cost stated where no purchase line says it, charges on deliveries, and the method."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock import cost_rows
from inventory.stock.cost_models import Charge, ChargeShare, CostMethod, CostPoint, StatedCost
from inventory.stock.cost_points import forget_points
from inventory.stock.costs import shared
from inventory.stock.models import Movement, Posting
from inventory.stock.tasks import keep_worth

MONEY_PLACES = 2
_ROWS_AT_ONCE = 1000
_MOST_COST = Decimal(10) ** 8


@transaction.atomic
def state_cost(
    *, posting: Posting, item: Item, unit_cost: Decimal, reason: str, by: User | None
) -> StatedCost:
    """Say what one stock unit of an item cost that came with this posting. The latest word counts.

    The same word again is the first one.

    Raises:
        ProblemError: the item did not come with the posting, the cost is below zero or has more than four places
            before rounding, or no reason is given.
    """
    where = f"{item.code}, posting {posting.key}"
    if not unit_cost.is_finite() or not 0 <= unit_cost < _MOST_COST:
        raise ProblemError(Problem(f"{unit_cost} is not a cost", where, "Write a cost of zero or more."))
    if not reason.strip():
        raise ProblemError(Problem("A reason is missing", where, "Say where the cost is known from."))
    if not _came(posting, [item.pk]):
        raise ProblemError(
            Problem(
                f"{item.code} did not come in with this posting", where, "Choose the posting that brought it."
            )
        )
    said = {"unit_cost": unit_cost.quantize(Decimal("0.0001")), "reason": reason.strip()[:200], "by": by}
    last = StatedCost.objects.filter(posting=posting, item=item).last()
    if last is not None and all(getattr(last, name) == value for name, value in said.items()):
        return last
    _keep_points_anew()
    return StatedCost.objects.create(posting=posting, item=item, **said)


@dataclass(frozen=True)
class Said:
    """What one stock unit of an item cost that came with a posting."""

    posting_id: int
    item_id: int
    unit_cost: Decimal


@transaction.atomic
def state_many(*, costs: Sequence[Said], reason: str, by: User | None) -> int:
    """`state_cost` for many, as when the costs of a first stock are brought in. Returns how many were kept.

    Raises:
        ProblemError: a cost is below zero, an item did not come with its posting, or no reason is given.
    """
    if not reason.strip():
        raise ProblemError(Problem("A reason is missing", "costs", "Say where they are known from."))
    came = Movement.objects.filter(
        posting__in={one.posting_id for one in costs}, location__kind__in=cost_rows.OURS, quantity__gt=0
    )
    known = set(came.order_by().values_list("posting_id", "item_id"))
    problems = [
        Problem(f"{one.unit_cost} for item {one.item_id} cannot be kept", f"posting {one.posting_id}", "")
        for one in costs
        if not 0 <= one.unit_cost < _MOST_COST or (one.posting_id, one.item_id) not in known
    ]
    if problems:
        raise ProblemError(*problems)
    rows = [
        StatedCost(
            posting_id=one.posting_id,
            item_id=one.item_id,
            unit_cost=one.unit_cost.quantize(Decimal("0.0001")),
            reason=reason.strip()[:200],
            by=by,
        )
        for one in costs
    ]
    _keep_points_anew()
    return len(StatedCost.objects.bulk_create(rows, batch_size=_ROWS_AT_ONCE))


@transaction.atomic
def add_charge(
    *,
    postings: Sequence[Posting],
    kind: str,
    amount: Decimal,
    shared_by: str,
    paper: str,
    by: User | None,
    key: str,
) -> Charge:
    """Share freight, duty or another charge over what these deliveries brought. A repeat of the key is the first.

    By value: quantity × unit cost as it stands now (purchase price, else stated, else standard). By mass: quantity ×
    the item's mass. The parts are whole pennies and add up to the charge exactly; a credit is below zero.

    Raises:
        ProblemError: the amount is zero or has parts of a penny, no paper is named, nothing came with the postings,
            or there is nothing to share by (all values or masses are zero).
    """
    before = Charge.objects.filter(key=key).first()
    if before is not None:
        return before
    _refuse_bad_charge(kind, amount, shared_by, paper)
    came = [
        (posting, item_id, quantity)
        for posting in postings
        for item_id, quantity in sorted(_came(posting).items())
    ]
    weights = _weights(came, shared_by)
    if not any(weights):
        raise ProblemError(
            Problem(
                f"There is nothing to share {amount} by: what came has no {shared_by}",
                paper,
                "Share it by another measure, or enter the missing figures of the items.",
            )
        )
    charge = Charge.objects.create(
        key=key, kind=kind, amount=amount, shared_by=shared_by, paper=paper.strip()[:80], by=by
    )
    _keep_points_anew()
    parts = shared(amount.quantize(Decimal("0.01")), weights, MONEY_PLACES)
    ChargeShare.objects.bulk_create(
        ChargeShare(charge=charge, posting=posting, item_id=item_id, amount=part)
        for (posting, item_id, _), part in zip(came, parts, strict=True)
    )
    return charge


@transaction.atomic
def choose_method(*, method: str, item: Item | None = None) -> CostMethod:
    """Value an item, or without one the workshop, by this method; its whole history is valued anew.

    Raises:
        ProblemError: there is no such method.
    """
    if method not in CostMethod.Method.values:
        raise ProblemError(Problem(f"{method!r} is no way to value stock", "", "Choose one of the list."))
    rule, _ = CostMethod.objects.update_or_create(item=item, defaults={"method": method})
    _keep_points_anew()
    forget_points()
    return rule


@transaction.atomic
def follow_the_workshop(*, item: Item) -> None:
    """The item is valued by the workshop's method again."""
    if CostMethod.objects.filter(item=item).delete()[0]:
        _keep_points_anew()
        forget_points()


def _keep_points_anew() -> None:
    """Points that no longer hold are kept anew in the background; until then pages work further back."""
    if CostPoint.objects.exists():
        transaction.on_commit(keep_worth.delay, robust=True)


def _refuse_bad_charge(kind: str, amount: Decimal, shared_by: str, paper: str) -> None:
    problems = []
    if not amount.is_finite() or amount == 0 or abs(amount) >= _MOST_COST:
        problems.append(Problem(f"{amount} is not a charge", "amount", "Write what the bill says."))
    elif amount != amount.quantize(Decimal("0.01")):
        problems.append(Problem(f"{amount} has parts of a penny", "amount", "Write two places."))
    if kind not in Charge.Kind.values or shared_by not in Charge.SharedBy.values:
        problems.append(Problem("That charge or measure is not known", "", "Choose from the lists."))
    if not paper.strip():
        problems.append(Problem("The paper is missing", "paper", "Write the number of the bill."))
    if problems:
        raise ProblemError(*problems)


def _came(posting: Posting, item_ids: Sequence[int] | None = None) -> dict[int, Decimal]:
    """What the posting brought into the house, net, by item."""
    rows = Movement.objects.filter(posting=posting).order_by("item_id")
    if item_ids is not None:
        rows = rows.filter(item__in=item_ids)
    found: dict[int, Decimal] = {}
    for item_id, kind, quantity in rows.values_list("item_id", "location__kind", "quantity"):
        if kind in cost_rows.OURS:
            found[item_id] = found.get(item_id, Decimal(0)) + quantity
    return {item_id: quantity for item_id, quantity in found.items() if quantity > 0}


def _weights(came: Sequence[tuple[Posting, int, Decimal]], shared_by: str) -> list[Decimal]:
    if shared_by == Charge.SharedBy.QUANTITY:
        return [quantity for _, _, quantity in came]
    items = Item.objects.in_bulk({item_id for _, item_id, _ in came})
    if shared_by == Charge.SharedBy.MASS:
        return [quantity * items[item_id].mass_kg for _, item_id, quantity in came]
    costs = _unit_costs([posting for posting, _, _ in came])
    return [
        quantity * costs.get((posting.pk, item_id), items[item_id].standard_cost)
        for posting, item_id, quantity in came
    ]


def _unit_costs(postings: Sequence[Posting]) -> dict[tuple[int, int], Decimal]:
    """The unit cost known of what came with these postings, without charges."""
    keys = {posting.pk for posting in postings}
    rows = Posting.objects.filter(pk__in=keys, receipt__isnull=False).order_by()
    found = {
        (posting_id, item_id): price
        for posting_id, item_id, price in rows.values_list(
            "pk", "receipt__line__item_id", "receipt__line__price"
        )
    }
    stated = StatedCost.objects.filter(posting__in=keys).order_by("pk")
    for posting_id, item_id, cost in stated.values_list("posting_id", "item_id", "unit_cost"):
        found[posting_id, item_id] = cost
    return found
