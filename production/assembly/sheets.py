"""What a build sheet says of one trailer beyond its set-up: torques by joint, coloured parts, wiring. From its frozen
bill, so that it is what was ordered, not what the model has become since."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from bom.items.models import Item
from bom.ratings.models import ItemDuty
from bom.structure.models import BillLine
from production.assembly import torques, wiring
from production.assembly.models import Fastener
from production.orders.models import FrozenLine, FrozenTotal, Order


@dataclass(frozen=True)
class Joint:
    """So many of a fastener at one place, and the torque range (N·m) with who says so."""

    place: str
    name: str
    thread: str
    pieces: Decimal
    low_nm: int
    high_nm: int
    source: str


@dataclass(frozen=True)
class Coloured:
    """So many pieces of a part in its colour, and what they go into."""

    item: Item
    place: str
    pieces: Decimal


@dataclass(frozen=True)
class Wiring:
    """The plug of the trailer, the standard, and its contacts; `lamps` names what hangs on them."""

    plug: Item
    standard: str
    contacts: list[wiring.Contact]
    lamps: list[tuple[Item, Decimal]]


def torque_range(fastener: Fastener) -> tuple[int, int, str] | None:
    """Lowest and highest torque in N·m and who says so; none for a thread without a figure."""
    if fastener.low_nm is not None and fastener.high_nm is not None:
        return fastener.low_nm, fastener.high_nm, fastener.source or "the workshop"
    if fastener.diameter_mm not in torques.PITCHES_MM:
        return None
    found = torques.torque_of(fastener.diameter_mm)
    return found.low_nm, found.high_nm, torques.SOURCE


@dataclass(frozen=True)
class Sheet:
    """What a build sheet says of one trailer."""

    joints: list[Joint]
    coloured: list[Coloured]
    wiring: Wiring | None

    @property
    def sources(self) -> list[str]:
        """Who says the torques, each once."""
        return sorted({one.source for one in self.joints})


def sheet_of(order: Order) -> Sheet:
    """The joints with their torques, the coloured parts, the wiring. Four queries."""
    totals = {
        one.item_id: one
        for one in FrozenTotal.objects.filter(bill=order.bill_id).select_related(
            "item__colour", "item__fastener", "item__plug"
        )
    }
    shown = [pk for pk, one in totals.items() if hasattr(one.item, "fastener") or _is_coloured(one.item)]
    lines = list(FrozenLine.objects.filter(bill=order.bill_id, item__in=shown).select_related("parent"))
    sets = _sets(totals, {line.parent_id for line in lines})
    places = [
        (
            sets.get((line.parent_id, line.position), line.parent.name),
            totals[line.item_id].item,
            line.quantity_per * _pieces(totals, line.parent_id),
        )
        for line in lines
    ]
    return Sheet(_joints(places), _coloured(places), _wiring(totals))


Place = tuple[str, Item, Decimal]


def _sets(totals: Mapping[int, FrozenTotal], parents: Collection[int]) -> dict[tuple[int, int], str]:
    """The names of fixing sets and their like by parent and position. A frozen bill has blown them through; what such
    a set brought stands at the position of its own line, in the revision that the bill was frozen with."""
    revisions = {totals[pk].revision_id: pk for pk in parents if pk in totals and totals[pk].revision_id}
    lines = BillLine.objects.filter(revision__in=revisions, component__is_phantom=True).select_related(
        "component"
    )
    return {
        (revisions[line.revision_id], line.position): line.component.name for line in lines if line.component
    }


def _pieces(totals: Mapping[int, FrozenTotal], item_id: int) -> Decimal:
    """How many of an item one trailer has; the trailer itself stands in no total."""
    return totals[item_id].quantity if item_id in totals else Decimal(1)


def _is_coloured(item: Item) -> bool:
    return item.kind == Item.Kind.BOUGHT and item.colour is not None and item.unit == Item.Unit.PIECE


def _joints(places: Sequence[Place]) -> list[Joint]:
    """Every fastener by the joint it belongs to, the largest thread first."""
    found = []
    for place, item, pieces in places:
        fastener: Fastener | None = getattr(item, "fastener", None)
        torque = torque_range(fastener) if fastener else None
        if fastener and torque:
            found.append(
                (fastener.diameter_mm, Joint(place, item.name, f"M{fastener.diameter_mm}", pieces, *torque))
            )
    return [joint for _, joint in sorted(found, key=lambda one: (-one[0], one[1].place, one[1].name))]


def _coloured(places: Sequence[Place]) -> list[Coloured]:
    found = [Coloured(item, place, pieces) for place, item, pieces in places if _is_coloured(item)]
    return sorted(found, key=lambda one: (one.place, one.item.code))


def _wiring(totals: Mapping[int, FrozenTotal]) -> Wiring | None:
    """The plug and what goes to each contact; none where no part of the bill is written down as a plug."""
    plug = next((one.item for one in totals.values() if hasattr(one.item, "plug")), None)
    if plug is None:
        return None
    poles: int = plug.plug.poles
    duties = list(ItemDuty.objects.filter(item__in=totals).order_by("item__code"))
    lamps = dict.fromkeys(one.item_id for one in duties if one.duty.endswith("lamp"))
    return Wiring(
        plug,
        wiring.SOURCES[poles],
        wiring.contacts(poles, {one.duty for one in duties}),
        [(totals[pk].item, totals[pk].quantity) for pk in lamps],
    )
