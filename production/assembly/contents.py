"""What belongs into a kit: the bought parts that assembly uses up."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from bom.items.models import Item
from inventory.stores.bins import bin_items
from production.orders.models import FrozenBill, FrozenLine
from production.works.first_process import Made, made_items


@dataclass(frozen=True)
class _Edge:
    item_id: int
    quantity_per: Decimal
    kind: str
    is_phantom: bool


Edges = dict[int, list[_Edge]]


def kit_contents(bill_ids: Iterable[int]) -> dict[int, dict[int, Decimal]]:
    """For each frozen bill: how many of each bought item one trailer's kit holds. Five queries.

    A bought item counts where it goes into something that assembly brings into being (the trailer itself, a wheel
    set); what is welded in or sawn up does not. Phantoms are never stocked, so their parts count as their parent's.
    What stands at work in two bins is not picked.
    """
    bill_ids = set(bill_ids)
    made = made_items(bill_ids)
    edges = _edges(bill_ids)
    roots = dict(FrozenBill.objects.filter(pk__in=bill_ids).values_list("pk", "item_id"))
    in_bins = bin_items()
    return {
        bill_id: {
            item_id: quantity
            for item_id, quantity in _contents(roots[bill_id], edges[bill_id], made.get(bill_id, {})).items()
            if item_id not in in_bins
        }
        for bill_id in bill_ids
    }


def _edges(bill_ids: set[int]) -> dict[int, Edges]:
    found: dict[int, Edges] = defaultdict(lambda: defaultdict(list))
    for bill_id, parent_id, item_id, quantity_per, kind, is_phantom in FrozenLine.objects.filter(
        bill_id__in=bill_ids
    ).values_list("bill_id", "parent_id", "item_id", "quantity_per", "item__kind", "item__is_phantom"):
        found[bill_id][parent_id].append(_Edge(item_id, quantity_per, kind, is_phantom))
    return found


def _contents(root_id: int, edges: Edges, made: dict[int, Made]) -> dict[int, Decimal]:
    """Walk down from the trailer, as far as things are assembled."""
    contents: defaultdict[int, Decimal] = defaultdict(Decimal)
    waiting = [(root_id, Decimal(1))]
    while waiting:
        parent_id, quantity = waiting.pop()
        for edge in edges.get(parent_id, []):
            needed = quantity * edge.quantity_per
            if edge.kind == Item.Kind.BOUGHT and not edge.is_phantom:
                contents[edge.item_id] += needed
            elif edge.is_phantom or (edge.item_id in made and made[edge.item_id].first == "assemble"):
                waiting.append((edge.item_id, needed))
    return dict(contents)
