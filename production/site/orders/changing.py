"""A change of a confirmed order as people see it before they accept it, and its acceptance in every room at once."""

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.costing.costs import Parts
from bom.items.models import Item
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from inventory.stock.queries import Availability, availability
from inventory.stock.reassigning import picked
from production.assembly.refitting import put_back_surplus, refit_kit
from production.coating.leaving import leave_batches
from production.cutting.completing import finish_cut_orders
from production.cutting.freeing import free_placements, waiting_for
from production.orders.drafting import Wish
from production.orders.models import Order
from production.orders.rolling import roll_expansions
from production.orders.version_models import OrderVersion
from production.planning.models import Peg
from production.site.costs.pricing import prices_on
from production.site.costs.reckoning import Reckoned, reckon, reckon_orders
from production.works.changing import Proposal, change_order, propose_change

NOTHING = Decimal(0)
NO_COST = Parts()


@dataclass(frozen=True)
class ChangedPart:
    """A part that differs: wanted before and after, what is there of it, what becomes of that, and what is to get.

    `cost` is what the surplus has cost by today's prices and rates: material, work, coating. `done` and `coming` are
    in words; `short` is how much more must be bought or made than is free on the shelf.
    """

    item: Item
    before: Decimal
    after: Decimal
    kept: Decimal
    surplus: Decimal
    more_to_get: Decimal
    short: Decimal
    cost: Parts
    done: str
    coming: str

    @property
    def more(self) -> Decimal:
        return self.after - self.before

    @property
    def work_cost(self) -> Decimal:
        return self.cost.labour + self.cost.overhead

    @property
    def goods_cost(self) -> Decimal:
        """Material, bought parts, coating and scrap allowance."""
        return self.cost.total - self.work_cost

    @property
    def can_scrap(self) -> bool:
        return self.item.is_made and self.surplus > 0


@dataclass(frozen=True)
class Look:
    """A proposed change with everything that is shown before it is accepted."""

    proposal: Proposal
    parts: list[ChangedPart]
    before: Reckoned
    after: Reckoned

    @property
    def surplus(self) -> list[ChangedPart]:
        return [one for one in self.parts if one.surplus > 0]

    @property
    def surplus_cost(self) -> Decimal:
        return sum((one.cost.total for one in self.surplus), NOTHING)

    @property
    def surplus_work(self) -> Decimal:
        return sum((one.work_cost for one in self.surplus), NOTHING)

    @property
    def new_price(self) -> Decimal:
        return self.proposal.order.price + self.proposal.price

    @property
    def cost_more(self) -> Decimal:
        return self.after.cost - self.before.cost


def look_at(*, order: Order, wish: Wish) -> Look:
    """What the change would do, for the page. Nothing is written.

    Raises:
        ProblemError: as `production.works.changing.propose_change`.
    """
    proposal = propose_change(order=order, wish=wish)
    day = timezone.localdate()
    before = reckon_orders([order], day)[order.pk]
    bill = roll_expansions([proposal.prepared.expansion], proposal.book)[0]
    prices = prices_on(day, bill.items.values())
    price = order.price + proposal.price
    after = reckon(bill, proposal.prepared.answers.finish, price, prices)
    return Look(proposal, _parts(proposal, before), before, after)


def accept(
    *,
    order: Order,
    wish: Wish,
    by: User,
    reason: str,
    key: str,
    seen: str,
    scrapped: Collection[str] = (),
    note: str = "",
) -> OrderVersion:
    """Change the order, and with it its kit, its places on sheets, loads and powder batches; all or nothing.

    Raises:
        ProblemError: as `production.works.changing.change_order`, or its kit stands in an assembly bay.
    """
    with transaction.atomic():
        locked = Order.objects.select_for_update(of=("self",)).select_related("model__item").get(pk=order.pk)
        if done := OrderVersion.objects.filter(key=key, order=order).first():
            return done
        proposal = propose_change(order=locked, wish=wish)
        ids = proposal.book.loaded.item_ids
        wanted = proposal.needed.wanted
        put_back_surplus(
            order=order, wanted={ids[code]: wanted.get(code, NOTHING) for code in proposal.surplus}, by=by
        )
        version = change_order(
            order=order, wish=wish, by=by, reason=reason, key=key, seen=seen, scrapped=scrapped, note=note
        )
        changed = Order.objects.select_related("purpose", "model__item").get(pk=order.pk)
        refit_kit(order=changed)
        to_get = {ids[code]: quantity for code, quantity in proposal.needed.to_get.items()}
        free_placements(order=changed, wanted=to_get)
        answers = proposal.prepared.answers
        leave_batches(
            order=changed,
            galvanised="galvanise" in proposal.prepared.minutes,
            powder=answers.colours.get("powder", "") if "powder" in proposal.prepared.minutes else "",
        )
        if proposal.standing.is_under_way("laser"):
            finish_cut_orders(order_ids=[order.pk], by=by)
    return version


def _parts(proposal: Proposal, before: Reckoned) -> list[ChangedPart]:
    to_get, had = proposal.needed.to_get, proposal.needed_before.to_get
    codes = {
        code
        for code in {*proposal.before, *proposal.after}
        if proposal.before.get(code, NOTHING) != proposal.after.get(code, NOTHING)
    }
    items = Item.objects.in_bulk(sorted({*codes, *proposal.surplus}), field_name="code")
    free = availability(item.pk for item in items.values())
    done = _done_words(proposal, items)
    coming = _coming_words(proposal.order, items)
    rows = []
    for code, item in sorted(items.items(), key=lambda pair: (not pair[1].is_made, pair[0])):
        more = max(NOTHING, to_get.get(code, NOTHING) - had.get(code, NOTHING))
        surplus = proposal.surplus.get(code, NOTHING)
        costed = before.costs.get(code)
        rows.append(
            ChangedPart(
                item=item,
                before=proposal.before.get(code, NOTHING),
                after=proposal.after.get(code, NOTHING),
                kept=proposal.standing.kept.get(code, NOTHING),
                surplus=surplus,
                more_to_get=more,
                short=max(NOTHING, more - max(NOTHING, _free(free, item))),
                cost=costed.unit.times(surplus) if costed else NO_COST,
                done=done.get(code, ""),
                coming=coming.get(code, ""),
            )
        )
    return rows


def _free(free: Mapping[int, Availability], item: Item) -> Decimal:
    return free[item.pk].available if item.pk in free else NOTHING


def _done_words(proposal: Proposal, items: Mapping[str, Item]) -> dict[str, str]:
    """What is there of each part, in words: made by which work, waiting on a sheet, picked, kept on the shelf."""
    order, standing = proposal.order, proposal.standing
    ids = [item.pk for item in items.values()]
    in_kit = picked(ids, [order.purpose_id or 0])
    on_sheets = Counter(
        waiting_for(order).filter(part__item__in=ids).order_by().values_list("part__item__code", flat=True)
    )
    words: dict[str, list[str]] = defaultdict(list)
    for code, item in items.items():
        kept, inside = standing.kept.get(code, NOTHING), in_kit.get((item.pk, order.purpose_id or 0), NOTHING)
        made = standing.made.get(code)
        if inside > 0:
            words[code].append(f"{format_quantity(inside)} picked into the kit")
        if kept - inside > 0:
            how = f"made ({made.first})" if made else "kept on the shelf"
            words[code].append(f"{format_quantity(kept - inside)} {how}")
        elif made and standing.is_under_way(made.first):
            words[code].append(f"{made.first} {standing.operations[made.first].get_state_display()}")
        if on_sheets[code]:
            words[code].append(f"{on_sheets[code]} on sheets to be cut")
    return {code: ", ".join(said) for code, said in words.items()}


def _coming_words(order: Order, items: Mapping[str, Item]) -> dict[str, str]:
    """What the released plan has pegged to the order from purchase orders."""
    pegs = Peg.objects.filter(
        plan__is_current=True, order=order, item__in=list(items.values()), purchase_line__isnull=False
    )
    words: dict[str, list[str]] = defaultdict(list)
    for code, quantity, number in pegs.values_list("item__code", "quantity", "purchase_line__order__number"):
        words[code].append(f"{format_quantity(quantity)} with {number}")
    return {code: ", ".join(said) for code, said in words.items()}
