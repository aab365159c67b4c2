"""What the press brake needs for an order: each part with its drawing, flat length, legs, and every bend's angle."""

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch

from bom.geometry.models import BendValue, FlatPart, HouseRule
from bom.geometry.part_sheet import Folding, flat_drawing, folding_of
from bom.geometry.reading import outline_of
from bom.geometry.sketching import Sketch
from bom.items.models import Item
from production.orders.models import Order
from production.works.first_process import made_items

HANDS = {Item.Hand.LEFT: "left hand", Item.Hand.RIGHT: "right hand"}


@dataclass(frozen=True)
class FoldSheet:
    """So many of one part to fold. `folding` is none where its bends were never recorded.

    `other_hand` is the code of its mirror part on the same order: the same bends, turned the other way.
    """

    item: Item
    count: Decimal
    flat: Sketch | None
    folding: Folding | None
    bends: int
    other_hand: str = ""

    @property
    def hand(self) -> str:
        return HANDS.get(Item.Hand(self.item.hand), "")


def fold_sheets(order: Order) -> list[FoldSheet]:
    """What to fold for an order: thick parts first, for they share the tooling; both hands of a part side by side.

    A constant number of queries, however many parts.
    """
    made = made_items([order.bill_id or 0]).get(order.bill_id or 0, {})
    counts = {one.item_id: one.quantity for one in made.values() if "fold" in one.processes}
    drawn = FlatPart.objects.prefetch_related("contours", "fold_lines", "marks")
    items = list(
        Item.objects.filter(pk__in=counts)
        .prefetch_related(Prefetch("flat_part", queryset=drawn))
        .order_by("-thickness_mm", "family", "code")
    )
    values, rule = list(BendValue.objects.all()), HouseRule.in_force().bend_rule
    hands: dict[tuple[int | None, str], str] = {
        (item.family_id, item.hand): item.code for item in items if item.family_id and item.hand
    }
    return [_sheet(item, counts[item.pk], values, rule, hands) for item in items]


def _sheet(
    item: Item,
    count: Decimal,
    values: list[BendValue],
    rule: str,
    hands: dict[tuple[int | None, str], str],
) -> FoldSheet:
    part: FlatPart | None = getattr(item, "flat_part", None)
    mirror = {Item.Hand.LEFT: Item.Hand.RIGHT, Item.Hand.RIGHT: Item.Hand.LEFT}.get(Item.Hand(item.hand))
    other = hands.get((item.family_id, mirror), "") if mirror else ""
    if part is None:
        return FoldSheet(item, count, None, None, 0, other)
    outline, lines = outline_of(part.contours.all()), list(part.fold_lines.all())
    own = [value for value in values if value.thickness_mm == part.thickness_mm]
    return FoldSheet(
        item=item,
        count=count,
        flat=flat_drawing(outline, lines, part),
        folding=folding_of(part, outline, lines, values=own, rule=rule) if lines else None,
        bends=part.bends,
        other_hand=other,
    )
