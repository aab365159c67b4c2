"""What the release of a draft bill costs: the orders that take it, and each model as usually ordered, reckoned with the
bills of today and again with the draft among them; the difference opened down to its figures."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from django.utils import timezone

from bom.catalogue.models import TrailerModel
from bom.costing.costs import KINDS, Costed, Parts, Piece
from bom.items.models import Item
from bom.structure.expansion import Expansion
from bom.structure.models import Revision
from inventory.stock.models import Reservation
from production.orders.freezing import Book, keep_revisions, load_book
from production.orders.models import Order
from production.orders.numbers import trailer_number
from production.orders.queries import answers_of
from production.orders.rolling import roll_pairs
from production.site.costs.pricing import prices_on
from production.site.costs.reckoning import PENNY, Asked, Reckoned, expanded, reckon, usual_forms
from production.site.costs.showing import KIND_WORDS
from production.works.still_needed import Triple, still_needed

NOTHING = Decimal(0)
BELOW_ALL = 0
"""A trailer number before every other: the book is fetched once for it and then asked for each trailer."""


@dataclass(frozen=True)
class Figure:
    """One figure of a part in all orders: `words` is its kind and what it is of; before and after, with the working
    for one trailer each."""

    words: str
    before: Decimal
    after: Decimal
    working_before: str
    working_after: str
    source: str

    @property
    def more(self) -> Decimal:
        return self.after - self.before


@dataclass(frozen=True)
class PartCost:
    """A part that costs more or less itself: how many in all orders, by how much, and the figures behind it."""

    item: Item
    before: Decimal
    after: Decimal
    more: Parts
    figures: tuple[Figure, ...]


@dataclass(frozen=True)
class LeftOver:
    """What is kept for these orders and no longer wanted, and what it has cost."""

    item: Item
    quantity: Decimal
    cost: Parts


@dataclass(frozen=True)
class ReleaseCost:
    """What the orders cost more with the draft: `parts` add up to `more`. `unbuildable` are orders that cannot be
    worked out with one of the two bills. `left_over` is spent already and not in `more`."""

    orders: int
    unbuildable: tuple[str, ...]
    parts: tuple[PartCost, ...]
    more: Parts
    left_over: tuple[LeftOver, ...]

    @property
    def kinds(self) -> list[tuple[str, Decimal]]:
        """By kind, those that differ."""
        return [(KIND_WORDS[kind], amount) for kind, amount in zip(KINDS, self.more, strict=True) if amount]

    @property
    def total(self) -> Decimal:
        """Rounded once, here."""
        return self.more.total.quantize(PENNY, ROUND_HALF_EVEN)

    @property
    def left_over_total(self) -> Decimal:
        return sum((one.cost.total for one in self.left_over), NOTHING).quantize(PENNY, ROUND_HALF_EVEN)


@dataclass(frozen=True)
class ModelCost:
    """One model as it is usually ordered, with and without the draft."""

    model: TrailerModel
    before: Decimal
    after: Decimal

    @property
    def more(self) -> Decimal:
        return self.after - self.before


@dataclass(frozen=True)
class _Pair:
    """Orders with the same bill, without the draft and with it."""

    numbers: tuple[str, ...]
    finish: str
    before: tuple[Expansion, Book]
    after: tuple[Expansion, Book]


def cost_of_release(revision: Revision, numbers: Collection[str]) -> ReleaseCost:
    """What these orders cost more with the draft. About twenty queries, however many orders."""
    orders = list(Order.objects.filter(number__in=numbers).select_related("model__item").order_by("number"))
    pairs, unbuildable = _pairs(orders, revision)
    reckoned = _reckoned(pairs)
    changes: dict[str, list[tuple[int, Costed | None, Costed | None]]] = defaultdict(list)
    items: dict[str, Item] = {}
    for pair, (before, after) in zip(pairs, reckoned, strict=True):
        items |= {**before.bill.items, **after.bill.items}
        for code in {*before.costs, *after.costs}:
            changes[code].append((len(pair.numbers), before.costs.get(code), after.costs.get(code)))
    parts = [_part(items[code], rows) for code, rows in sorted(changes.items())]
    differing = [one for one in parts if one.figures or one.before != one.after]
    more = Parts()
    for one in parts:
        more = more.plus(one.more)
    return ReleaseCost(
        orders=len(orders) - len(unbuildable),
        unbuildable=tuple(unbuildable),
        parts=tuple(sorted(differing, key=lambda one: -abs(one.more.total))),
        more=more,
        left_over=tuple(_left_over(pairs, reckoned, items)),
    )


def cost_of_models(revision: Revision) -> tuple[list[ModelCost], list[str]]:
    """Each model that holds the item, as usually ordered; and the codes of those that cannot be worked out with one
    of the two bills. Fifteen queries."""
    book = load_book(timezone.localdate())
    with_draft = keep_revisions(book, {revision.item.code: (revision.pk, revision.letter)})
    pairs: list[_Pair] = []
    models: list[TrailerModel] = []
    unbuildable: list[str] = []
    for asked in usual_forms(TrailerModel.objects.filter(is_active=True)):
        pair = _pair(asked, (asked.model.code,), book, with_draft)
        if pair is None:
            unbuildable.append(asked.model.code)
        elif revision.item.code in {*pair.before[0].totals, *pair.after[0].totals}:
            pairs.append(pair)
            models.append(asked.model)
    costs = [
        ModelCost(model, before.cost, after.cost)
        for model, (before, after) in zip(models, _reckoned(pairs), strict=True)
    ]
    return costs, unbuildable


def _pairs(orders: Sequence[Order], revision: Revision) -> tuple[list[_Pair], list[str]]:
    """Orders with the same bill together; and the numbers of those that cannot be worked out."""
    book, answers = load_book(timezone.localdate(), BELOW_ALL), answers_of(orders)
    draft = {revision.item.code: (revision.pk, revision.letter)}
    with_draft: dict[int, Book] = {}
    found: dict[tuple[str, str, str], _Pair] = {}
    unbuildable = []
    for order in orders:
        own = book.for_trailer(trailer_number(order.number))
        step = own.loaded.step(own.loaded.trailer)
        if step not in with_draft:
            with_draft[step] = keep_revisions(own, draft)
        asked = Asked(order.model, answers[order.pk], order.price)
        pair = _pair(asked, (order.number,), own, with_draft[step])
        if pair is None:
            unbuildable.append(order.number)
            continue
        key = (pair.finish, pair.before[0].digest, pair.after[0].digest)
        same = found.get(key)
        found[key] = (
            _Pair(same.numbers + pair.numbers, same.finish, same.before, same.after) if same else pair
        )
    return list(found.values()), unbuildable


def _pair(asked: Asked, numbers: tuple[str, ...], book: Book, with_draft: Book) -> _Pair | None:
    before, after = expanded(asked, book), expanded(asked, with_draft)
    if before is None or after is None:
        return None
    return _Pair(numbers, asked.answers.finish, (before, book), (after, with_draft))


def _reckoned(pairs: Sequence[_Pair]) -> list[tuple[Reckoned, Reckoned]]:
    bills = roll_pairs([one for pair in pairs for one in (pair.before, pair.after)], is_balanced=False)
    items = {code: item for bill in bills for code, item in bill.items.items()}
    prices = prices_on(timezone.localdate(), items.values())
    waiting = iter(bills)
    return [
        (
            reckon(next(waiting), pair.finish, NOTHING, prices),
            reckon(next(waiting), pair.finish, NOTHING, prices),
        )
        for pair in pairs
    ]


def _part(item: Item, rows: Sequence[tuple[int, Costed | None, Costed | None]]) -> PartCost:
    """One part over all bills: what it costs itself; what is in it stands with its own parts."""
    before, after, more = NOTHING, NOTHING, Parts()
    for times, old, new in rows:
        before += times * (old.quantity if old else NOTHING)
        after += times * (new.quantity if new else NOTHING)
        difference = (new.own if new else Parts()).plus((old.own if old else Parts()).times(Decimal(-1)))
        more = more.plus(difference.times(Decimal(times)))
    figures = [one for one in _figures(rows) if one.more]
    return PartCost(item, before, after, more, tuple(figures))


def _figures(rows: Iterable[tuple[int, Costed | None, Costed | None]]) -> Iterator[Figure]:
    amounts: dict[tuple[str, str], list[Decimal]] = defaultdict(lambda: [NOTHING, NOTHING])
    told: dict[tuple[str, str], list[Piece | None]] = defaultdict(lambda: [None, None])
    for times, old, new in rows:
        for side, costed in enumerate((old, new)):
            for piece in costed.pieces if costed else ():
                key = (piece.kind, piece.subject)
                amounts[key][side] += times * piece.amount
                told[key][side] = told[key][side] or piece
    for (kind, subject), (before, after) in amounts.items():
        old_piece, new_piece = told[kind, subject]
        word = KIND_WORDS[kind]
        yield Figure(
            word if subject in ("", word) else f"{word}, {subject}",
            before,
            after,
            old_piece.working if old_piece else "",
            new_piece.working if new_piece else "",
            (new_piece or old_piece).source if new_piece or old_piece else "",  # type: ignore[union-attr]
        )


def _left_over(
    pairs: Sequence[_Pair], reckoned: Sequence[tuple[Reckoned, Reckoned]], items: Mapping[str, Item]
) -> list[LeftOver]:
    """What is kept for the orders, wanted by the bill of today and not with the draft."""
    kept: dict[str, dict[str, Decimal]] = defaultdict(dict)
    numbers = [number for pair in pairs for number in pair.numbers]
    rows = Reservation.objects.filter(purpose__code__in=numbers)
    for number, code, quantity in rows.values_list("purpose__code", "item__code", "quantity"):
        kept[number][code] = kept[number].get(code, NOTHING) + quantity
    quantities: dict[str, Decimal] = defaultdict(Decimal)
    costs: dict[str, Parts] = defaultdict(Parts)
    for pair, (before, _) in zip(pairs, reckoned, strict=True):
        for number in pair.numbers:
            own = kept.get(number, {})
            was, will = (_surplus(one[0], own) for one in (pair.before, pair.after))
            for code in will:
                over = will[code] - was.get(code, NOTHING)
                if over > 0 and code in before.costs:
                    quantities[code] += over
                    costs[code] = costs[code].plus(before.costs[code].unit.times(over))
    return [LeftOver(items[code], quantities[code], costs[code]) for code in sorted(quantities)]


def _surplus(expansion: Expansion, kept: Mapping[str, Decimal]) -> dict[str, Decimal]:
    edges: list[Triple] = [(edge.parent, edge.component, edge.quantity_per) for edge in expansion.edges]
    return still_needed(expansion.top_item, edges, kept).surplus(kept) if kept else {}
