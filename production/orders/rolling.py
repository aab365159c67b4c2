"""Frozen bills read back for the roll-ups: edges, totals, facts of the items and centres, for many bills at once."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from bom.costing.masses import (
    Balance,
    Centre,
    Facts,
    Surfaces,
    balance,
    masses_of_all,
    surfaces_of_all,
    zinc_of_galvanised,
)
from bom.items.models import Item
from bom.structure.expansion import Edge, Expansion, low_level_codes
from bom.structure.models import BillLine, Operation
from production.orders.freezing import GALVANISE, Book, Work
from production.orders.models import FrozenLine, FrozenTotal

MILLIMETRES_OF_A_METRE = 1000
RAW = (Item.Kind.SHEET, Item.Kind.SECTION)


@dataclass(frozen=True)
class RolledBill:
    """One frozen bill with what rolls up through it, by item code.

    `items` are the cards, `work` the operations of the revisions that were frozen, `centres` by (parent, position).
    """

    expansion: Expansion
    items: Mapping[str, Item]
    facts: Mapping[str, Facts]
    work: Mapping[str, tuple[Work, ...]]
    centres: Mapping[tuple[str, int], Centre]

    @cached_property
    def galvanised(self) -> frozenset[str]:
        """Assemblies that go to the galvaniser, if the finish asks for it."""
        return frozenset(
            code for code, work in self.work.items() if any(one.process == GALVANISE for one in work)
        )

    @cached_property
    def masses(self) -> dict[str, Decimal]:
        own = {code: one.mass_kg for code, one in self.facts.items()}
        raw = {code for code, one in self.facts.items() if one.is_raw}
        return masses_of_all(self.expansion.totals, self.expansion.edges, own, raw)

    @cached_property
    def surfaces(self) -> dict[str, Surfaces]:
        return surfaces_of_all(self.expansion.totals, self.expansion.edges, self.facts)

    @cached_property
    def zinc_kg(self) -> Decimal:
        """Zinc that comes back on one trailer, at least; the caller knows whether the finish asks for it."""
        return zinc_of_galvanised(self.expansion, self.surfaces, self.galvanised)

    @cached_property
    def balance(self) -> Balance:
        """Mass of the parts (without zinc) and centre of gravity."""
        return balance(self.expansion, self.masses, self.centres)


def rolled_bills(bill_ids: Collection[int]) -> dict[int, RolledBill]:
    """The bills by id. Five queries whatever the number of bills."""
    tops: dict[int, int] = {}
    totals: dict[int, dict[int, tuple[Decimal, int]]] = defaultdict(dict)
    for bill, top, item, quantity, revision in FrozenTotal.objects.filter(bill__in=bill_ids).values_list(
        "bill_id", "bill__item_id", "item_id", "quantity", "revision_id"
    ):
        tops[bill] = top
        totals[bill][item] = (quantity, revision or 0)
    items = Item.objects.in_bulk({item for rows in totals.values() for item in rows})
    edges: dict[int, list[Edge]] = defaultdict(list)
    for bill, parent, item, position, quantity, letter in (
        FrozenLine.objects.filter(bill__in=tops)
        .order_by("parent_id", "position")
        .values_list("bill_id", "parent_id", "item_id", "position", "quantity_per", "revision")
    ):
        edges[bill].append(Edge(items[parent].code, items[item].code, position, quantity, letter))
    revisions = {revision for rows in totals.values() for _, revision in rows.values() if revision}
    work, centres = work_of(revisions), centres_of(revisions)
    facts = {pk: facts_of(item) for pk, item in items.items()}
    return {
        bill: _rolled(items[top].code, totals[bill], edges[bill], items, facts, work, centres)
        for bill, top in tops.items()
    }


def roll_expansions(expansions: Sequence[Expansion], book: Book) -> list[RolledBill]:
    """Bills that are not frozen (a draft, a model, an order as it would be today), read for the roll-ups. Two
    queries however many."""
    return roll_pairs([(one, book) for one in expansions])


def roll_pairs(pairs: Sequence[tuple[Expansion, Book]], *, is_balanced: bool = True) -> list[RolledBill]:
    """`roll_expansions`, each with the book it was made with. Two queries however many; one where nobody asks for
    their balance."""
    codes = {code for one, _ in pairs for code in one.totals}
    items = Item.objects.in_bulk(list(codes), field_name="code")
    revisions = {
        book.loaded.revision_ids[code]
        for one, book in pairs
        for code in one.totals
        if code in book.loaded.revision_ids
    }
    centres = centres_of(revisions) if is_balanced else {}
    facts = {code: facts_of(item) for code, item in items.items()}
    return [
        RolledBill(
            expansion=one,
            items={code: items[code] for code in one.totals},
            facts={code: facts[code] for code in one.totals},
            work={code: book.work[code] for code in one.totals if code in book.work},
            centres={
                (code, position): centre
                for code in one.totals
                for position, centre in centres.get(book.loaded.revision_ids.get(code, 0), {}).items()
            },
        )
        for one, book in pairs
    ]


def work_of(revision_ids: Collection[int]) -> dict[int, tuple[Work, ...]]:
    """The operations of each revision, in their order. One query."""
    found: dict[int, list[Work]] = defaultdict(list)
    for revision, process, setup, run in (
        Operation.objects.filter(revision__in=revision_ids)
        .order_by("revision_id", "sequence")
        .values_list("revision_id", "process__code", "setup_minutes", "run_minutes")
    ):
        found[revision].append(Work(process, setup, run))
    return {revision: tuple(work) for revision, work in found.items()}


def centres_of(revision_ids: Collection[int]) -> dict[int, dict[int, Centre]]:
    """The known centres of each revision's lines, by position. One query."""
    found: dict[int, dict[int, Centre]] = defaultdict(dict)
    for revision, position, x, y, z, basis in BillLine.objects.filter(
        revision__in=revision_ids, centre_x_mm__isnull=False
    ).values_list("revision_id", "position", "centre_x_mm", "centre_y_mm", "centre_z_mm", "centre_basis"):
        if x is not None and y is not None and z is not None:
            found[revision][position] = Centre(x, y, z, basis)
    return found


def facts_of(item: Item) -> Facts:
    """The figures of an item's card that roll up."""
    length = item.length_mm
    if item.kind == Item.Kind.SECTION and item.unit == Item.Unit.METRE:
        length = Decimal(MILLIMETRES_OF_A_METRE)
    return Facts(item.mass_kg, item.surface_m2, item.thickness_mm, length, item.is_hollow, item.kind in RAW)


def _rolled(
    top: str,
    totals: Mapping[int, tuple[Decimal, int]],
    edges: list[Edge],
    items: Mapping[int, Item],
    facts: Mapping[int, Facts],
    work: Mapping[int, tuple[Work, ...]],
    centres: Mapping[int, Mapping[int, Centre]],
) -> RolledBill:
    level = low_level_codes((edge.parent, edge.component) for edge in edges)
    codes = {items[pk].code: (pk, *row) for pk, row in totals.items()}
    order = sorted(codes, key=lambda code: (level.get(code, 0), code))
    return RolledBill(
        expansion=Expansion(top, {code: codes[code][1] for code in order}, tuple(edges), ""),
        items={code: items[pk] for code, (pk, *_) in codes.items()},
        facts={code: facts[pk] for code, (pk, *_) in codes.items()},
        work={code: work[rev] for code, (_, _, rev) in codes.items() if rev in work},
        centres={
            (code, position): centre
            for code, (_, _, rev) in codes.items()
            if rev in centres
            for position, centre in centres[rev].items()
        },
    )
