"""What the laser owes to orders, and whether there is steel for it."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_CEILING

from production.cutting.batching import Batch, Flat, Gathered, Owed
from production.planning.needs import Needs
from production.planning.netting.data import SupplyKind
from production.planning.netting.plan import NetPlan
from production.shop.hours import WorkingDays

# Parts needed later than so many working days ahead are nested by a later plan: who knows what is ordered till then.
NEST_AHEAD_DAYS = 10


@dataclass(frozen=True)
class Sorted:
    """Gatherings to nest now, and by order the laser minutes of what is left for a later plan."""

    now: tuple[Gathered, ...]
    later_minutes: Mapping[int, float]
    until: date


def owed_parts(needs: Needs, net: NetPlan, flats: Mapping[int, Flat]) -> list[Owed]:
    """What the netting plans to make at the laser, with the day on which the steel for it is there."""
    steel = _steel_days(needs, net)
    owed = []
    for peg in net.pegs:
        item = needs.items[peg.item]
        if peg.kind != SupplyKind.PLANNED or item.pk not in flats:
            continue
        order = needs.orders.get(peg.order)
        owed.append(
            Owed(
                order.pk if order else None,
                item.pk,
                int(peg.quantity.to_integral_value(ROUND_CEILING)),
                date.fromordinal(peg.needed_day),
                date.fromordinal(steel.get((peg.order, peg.item), needs.today)),
            )
        )
    return owed


def _steel_days(needs: Needs, net: NetPlan) -> dict[tuple[str, str], int]:
    days: dict[tuple[str, str], int] = defaultdict(lambda: needs.today)
    for peg in net.pegs:
        if peg.parent and needs.items[peg.item].kind == "sheet":
            key = (peg.order, peg.parent)
            days[key] = max(days[key], peg.available_day)
    return dict(days)


def sort_out(
    gathered: Iterable[Gathered], flats: Mapping[int, Flat], today: date, days: WorkingDays
) -> Sorted:
    """Part what is to be nested now from what can wait."""
    until = date.fromordinal(days.shift(today.toordinal(), NEST_AHEAD_DAYS))
    now: list[Gathered] = []
    later: dict[int, float] = defaultdict(float)
    for batch in gathered:
        if max(batch.needed_on, batch.steel_on) <= until:
            now.append(batch)
            continue
        for one in batch.owed:
            later[one.order_id or 0] += flats[one.item_id].minutes * one.quantity
    later.pop(0, None)
    return Sorted(tuple(now), dict(later), until)


def steel_notes(batches: Sequence[Batch], needs: Needs) -> list[str]:
    """Sentences on parts that fit nowhere, and on sheets of which the nests take more than there are."""
    notes = [sentence for batch in batches for sentence in batch.left]
    used = Counter(
        sheet.raw.item_id for batch in batches for sheet in batch.sheets if sheet.raw.lot_id is None
    )
    codes = {item.pk: item for item in needs.items.values()}
    coming: Counter[str] = Counter()
    for receipt in needs.receipts:
        coming[receipt.item] += int(receipt.quantity)
    for item_id, count in sorted(used.items()):
        item = codes[item_id]
        here = int(needs.stock.free.get(item.code, 0))
        if count > here:
            more = coming[item.code]
            there = f"{more} are coming" if more else "none is coming; buy some"
            notes.append(
                f"The nests take {count} sheets of {item.code} ({item.name}), {here} lie there, {there}."
            )
    return notes
