"""What another drawing of a part touches, and what it costs: shown before the drawing is accepted."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Decimal

from django.db.models import Count, Q, Sum
from django.utils import timezone

from bom.costing.costs import Costed, Piece
from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.structure.conditions import Scope
from production.cutting.models import CutPlacement, CutSheet
from production.orders.freezing import Book, expand_bill, load_book
from production.orders.models import FrozenTotal, Order
from production.orders.rolling import roll_pairs
from production.site.bills.touching import Touched, touched_of
from production.site.costs.pricing import prices_on
from production.site.costs.reckoning import PENNY, reckon

NOTHING = Decimal(0)
State = CutPlacement.State


@dataclass(frozen=True)
class UnitCost:
    """What one of the part costs by today's prices, as drawn now and as it would be, with the figures behind it."""

    before: Decimal
    after: Decimal
    pieces_before: tuple[Piece, ...]
    pieces_after: tuple[Piece, ...]

    @property
    def more(self) -> Decimal:
        return self.after - self.before


@dataclass(frozen=True)
class PartChange:
    """Open orders by how far they are with the part; of them `wanted` in all, `made` already (cut, or all the work on
    it done), `laid` on sheets that wait. What is made keeps the old shape. `cost` is none where the part's own bill
    asks what an order chooses."""

    item: Item
    touched: Touched
    wanted: Decimal
    made: Decimal
    laid: int
    cost: UnitCost | None

    @property
    def still_to_cut(self) -> Decimal:
        return max(NOTHING, self.wanted - self.made)

    @property
    def more(self) -> Decimal:
        """What the parts still to be cut cost more. Rounded once, here."""
        return ((self.cost.more if self.cost else NOTHING) * self.still_to_cut).quantize(
            PENNY, ROUND_HALF_EVEN
        )

    @property
    def spent(self) -> Decimal:
        """What those that are made already have cost, by today's prices. Rounded once, here."""
        return ((self.cost.before if self.cost else NOTHING) * self.made).quantize(PENNY, ROUND_HALF_EVEN)


def change_of_part(item: Item, mass_kg: Decimal | None = None) -> PartChange:
    """What another drawing of the part touches; `mass_kg` is what it would weigh. Fourteen queries."""
    book = load_book(timezone.localdate())
    touched = touched_of(item.pk, [work.process for work in book.work.get(item.code, ())])
    placed = CutPlacement.objects.filter(part__item=item, order__state__in=Order.OPEN)
    waiting = Q(state=State.WAITING) & ~Q(sheet__state=CutSheet.State.DROPPED)
    # An order whose work on the part is done has it, whether or not each piece was counted off a sheet.
    is_made = Q(bill__orders__number__in=touched.made)
    good = Q(state=State.GOOD) & ~Q(order__number__in=touched.made)
    counted = placed.aggregate(cut=Count("pk", filter=good), laid=Count("pk", filter=waiting))
    wanted = FrozenTotal.objects.filter(item=item, bill__orders__state__in=Order.OPEN).aggregate(
        all=Sum("quantity"), made=Sum("quantity", filter=is_made)
    )
    return PartChange(
        item,
        touched,
        wanted["all"] or NOTHING,
        counted["cut"] + (wanted["made"] or NOTHING),
        counted["laid"],
        _unit_cost(item, book, item.mass_kg if mass_kg is None else mass_kg),
    )


def _unit_cost(item: Item, book: Book, mass_kg: Decimal) -> UnitCost | None:
    try:
        expansion = expand_bill(book.loaded, item.code, Scope())
    except ProblemError:
        return None
    (bill,) = roll_pairs([(expansion, book)], is_balanced=False)
    prices = prices_on(timezone.localdate(), bill.items.values())
    facts = {**bill.facts, item.code: replace(bill.facts[item.code], mass_kg=mass_kg)}
    before, after = (reckon(one, "", NOTHING, prices).costs for one in (bill, replace(bill, facts=facts)))
    old, new = before[item.code], after[item.code]
    return UnitCost(old.unit.total, new.unit.total, _pieces(before.values()), _pieces(after.values()))


def _pieces(costs: Collection[Costed]) -> tuple[Piece, ...]:
    return tuple(piece for one in costs for piece in one.pieces if piece.amount)
