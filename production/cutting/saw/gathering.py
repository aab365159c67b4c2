"""Gathering what the saw owes into bar batches and planning their bars. Loads the solver; background work only.

Read, compute without a transaction, then replace every batch that nobody has begun, if meanwhile nobody has.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.running import Pulse, Runner, Stopped
from inventory.levels.queries import offers
from inventory.stock.models import Location, Lot
from production.cutting.bars.job import BarPlan, BarProgress, BarStock, CutPattern, Piece
from production.cutting.bars.plan import cut_bars
from production.cutting.saw.models import BarBatch, BarGather, BarLength, SawBar, SawCut, SawRules
from production.cutting.saw.owed import OwedPiece, Sawn, owed_pieces
from production.planning.models import Plan

# A window of one section rarely holds more than a hundred pieces, and their plan is proven in a second (measured).
SECONDS_A_BATCH = 4.0
# Sections without a length of their own: common practice, no source.
USUAL_BAR_MM = Decimal(6000)
TRIES = 3
TENTH, CENT, SHARE = Decimal("0.1"), Decimal("0.01"), Decimal("0.0001")
RUNNER = Runner(BarGather, what="bar batches", first_step="reading what the saw owes")
sweep = RUNNER.sweep


@dataclass(frozen=True)
class Window:
    """Pieces of one section that are sawn together."""

    section_id: int
    owed: tuple[OwedPiece, ...]


@dataclass(frozen=True)
class Planned:
    """A window with the plan of its bars."""

    window: Window
    plan: BarPlan


@dataclass(frozen=True)
class Ground:
    """What was read: the windows, the bars there are by section, and the batches that are begun."""

    windows: tuple[Window, ...]
    bars: Mapping[int, Sequence[BarStock]]
    begun: frozenset[int]
    rules: SawRules


def carry_out(run_id: int) -> None:
    """Make the bar batches of a queued run."""
    RUNNER.carry_out(run_id, _work)


def _work(run: BarGather, pulse: Pulse) -> None:
    for _ in range(TRIES):
        ground = _read(run)
        planned = _plan_all(ground, pulse)
        if not pulse.tell(95, "writing it down", now=True):
            raise Stopped
        if _store(run, ground, planned):
            return
    raise ProblemError(
        Problem("Bars were begun again and again meanwhile", str(run), "Have the batches made once more.")
    )


def windows(owed: Iterable[OwedPiece], days: int) -> list[Window]:
    """What is planned within `days` calendar days of the first piece of a section, then of the first one left."""
    by_section: dict[int, list[OwedPiece]] = defaultdict(list)
    for one in owed:
        by_section[one.sawn.section_id].append(one)
    found = []
    for section, pieces in sorted(by_section.items()):
        until, batch = date.min, list[OwedPiece]()
        for one in pieces:
            day = timezone.localtime(one.planned_at).date() if one.planned_at else one.needed_on
            if day > until and batch:
                found.append(Window(section, tuple(batch)))
                batch = []
            if not batch:
                until = day + timedelta(days=days - 1)
            batch.append(one)
        found.append(Window(section, tuple(batch)))
    return found


def _read(run: BarGather) -> Ground:
    rules = SawRules.in_force()
    owed = [one for one in owed_pieces() if run.item_id in (None, one.sawn.section_id)]
    found = tuple(windows(owed, rules.window_days))
    sections = {one.section_id for one in found}
    begun = BarBatch.objects.exclude(state=BarBatch.State.RELEASED).values_list("pk", flat=True)
    return Ground(found, read_bars(sections), frozenset(begun), rules)


def read_bars(section_ids: Iterable[int]) -> dict[int, list[BarStock]]:
    """By section the lengths in which it is bought, at their price, and its offcuts on the shelves, free.

    Four queries.
    """
    items = Item.objects.in_bulk(list(section_ids))
    sold = offers(list(items))
    lengths: dict[int, list[BarLength]] = defaultdict(list)
    for row in BarLength.objects.filter(item__in=items):
        lengths[row.item_id].append(row)
    found: dict[int, list[BarStock]] = {}
    for pk, item in items.items():
        metre = float(sold[pk].price if pk in sold else item.standard_cost)
        rows = lengths[pk] or [BarLength(item=item, length_mm=_usual_mm(item))]
        found[pk] = [
            BarStock(
                f"{row.length_mm.normalize():f}",
                float(row.length_mm),
                None,
                float(row.price) if row.price is not None else metre * float(row.length_mm) / 1000,
            )
            for row in rows
        ]
    for lot in _offcuts(items):
        found[lot.item_id].append(BarStock(f"lot:{lot.pk}", float(lot.length_mm or 0), 1, 0.0))
    return found


def _usual_mm(item: Item) -> Decimal:
    """A section bought in multiples of so many metres comes in bars of that length."""
    is_bars = item.lot_rule == Item.LotRule.MULTIPLE and item.unit == "m" and item.lot_size >= 1
    return item.lot_size * 1000 if is_bars else USUAL_BAR_MM


def _offcuts(item_ids: Iterable[int]) -> Iterable[Lot]:
    taken = SawBar.objects.filter(
        batch__state=BarBatch.State.BEGUN,
        state__in=[SawBar.State.WAITING, SawBar.State.BEGUN],
        lot__isnull=False,
    )
    return (
        Lot.objects.filter(
            item__in=list(item_ids),
            kind=Lot.Kind.OFFCUT,
            length_mm__gt=0,
            balances__location__kind=Location.Kind.SHELF,
            balances__quantity__gt=0,
        )
        .exclude(pk__in=taken.values("lot_id"))
        .distinct()
        .order_by("length_mm", "pk")
    )


def _plan_all(ground: Ground, pulse: Pulse) -> list[Planned]:
    left = {section: list(bars) for section, bars in ground.bars.items()}
    planned = []
    for number, window in enumerate(ground.windows):
        share = 5 + 90 * number / len(ground.windows)

        def tell(progress: BarProgress, share: float = share, number: int = number) -> bool:
            said = f"batch {number + 1} of {len(ground.windows)}: {progress.step}"
            return pulse.tell(share, said)

        rules = ground.rules
        plan = cut_bars(
            _pieces(window),
            left[window.section_id],
            kerf_mm=float(rules.kerf_mm),
            trim_mm=float(rules.trim_mm),
            shortest_offcut_mm=float(rules.shortest_offcut_mm),
            seconds=SECONDS_A_BATCH,
            progress=tell,
        )
        if plan.stopped:
            raise Stopped
        used = {pattern.bar for pattern in plan.patterns if pattern.bar.startswith("lot:")}
        left[window.section_id] = [bar for bar in left[window.section_id] if bar.code not in used]
        planned.append(Planned(window, plan))
    return planned


def _pieces(window: Window) -> list[Piece]:
    wanted: dict[Sawn, int] = defaultdict(int)
    for one in window.owed:
        wanted[one.sawn] += one.count
    return [
        Piece(code_of(sawn), float(sawn.length_mm), count, (float(sawn.ends_deg[0]), float(sawn.ends_deg[1])))
        for sawn, count in sorted(wanted.items(), key=lambda pair: (-pair[0].length_mm, pair[0].item_id))
    ]


def code_of(sawn: Sawn) -> str:
    return f"{sawn.item_id}/{sawn.length_mm}"


@transaction.atomic
def _store(run: BarGather, ground: Ground, planned: Sequence[Planned]) -> bool:
    """Replace what nobody has begun; False where a batch was begun meanwhile, so that its pieces are planned twice."""
    SawRules.objects.get_or_create(pk=1)
    SawRules.objects.select_for_update().get(pk=1)
    waiting = BarBatch.objects.select_for_update().filter(state=BarBatch.State.RELEASED)
    waiting = waiting.filter(item=run.item_id) if run.item_id else waiting
    old = list(waiting)
    begun = BarBatch.objects.exclude(state=BarBatch.State.RELEASED).values_list("pk", flat=True)
    if frozenset(begun) != ground.begun:
        return False
    BarBatch.objects.filter(pk__in=[one.pk for one in old]).delete()
    first = (BarBatch.objects.aggregate(last=Max("pk"))["last"] or 0) + 1
    for number, one in enumerate(planned, start=max(first, 1 + max((row.pk for row in old), default=0))):
        _store_batch(run.plan, f"BB-{number:05d}", one, ground.rules)
    said = f"{len(planned)} batches of {sum(one.plan.bars for one in planned)} bars."
    BarGather.objects.filter(pk=run.pk).update(said=said)
    if not RUNNER.close(run.pk, BarGather.Outcome.SUCCEEDED):
        raise Stopped
    return True


def _store_batch(plan: Plan, number: str, planned: Planned, rules: SawRules) -> None:
    owed, bars = planned.window.owed, planned.plan
    names = {code_of(one.sawn): one.sawn.item_id for one in owed}
    codes = Item.objects.in_bulk(set(names.values()))
    batch = BarBatch.objects.create(
        number=number,
        plan=plan,
        item_id=planned.window.section_id,
        needed_on=min(one.needed_on for one in owed),
        starts_at=min((one.planned_at for one in owed if one.planned_at), default=None),
        kerf_mm=rules.kerf_mm,
        trim_mm=rules.trim_mm,
        shortest_offcut_mm=rules.shortest_offcut_mm,
        cost=_decimal(bars.cost, CENT),
        bound=_decimal(bars.bound, CENT),
        first_fit_cost=_decimal(bars.first_fit_cost, CENT),
        is_proven=bars.proven,
        waste=_decimal(bars.waste, SHARE),
        said=" ".join(
            f"{left.quantity} × {codes[names[left.code]].code}: {left.reason}." for left in bars.not_cut
        )[:300],
    )
    _store_bars(batch, owed, bars.patterns)


def _store_bars(batch: BarBatch, owed: Sequence[OwedPiece], patterns: Sequence[CutPattern]) -> None:
    """Pieces go to the orders in the order of the plan, so that the first bars serve the first orders."""
    sawn = {code_of(one.sawn): one.sawn for one in owed}
    waiting: dict[str, list[int]] = defaultdict(list)
    for one in reversed(owed):
        waiting[code_of(one.sawn)] += [one.order_id] * one.count
    cuts = []
    each = [pattern for pattern in patterns for _ in range(pattern.count)]
    for number, pattern in enumerate(each, start=1):
        bar = SawBar.objects.create(
            batch=batch,
            number=number,
            length_mm=_decimal(pattern.bar_mm, TENTH),
            rest_mm=_decimal(pattern.rest_mm, TENTH),
            lot_id=int(pattern.bar.removeprefix("lot:")) if pattern.bar.startswith("lot:") else None,
        )
        made = [sawn[cut.piece] for cut in pattern.cuts for _ in range(cut.number)]
        cuts += [
            SawCut(
                bar=bar,
                sequence=place,
                item_id=one.item_id,
                order_id=waiting[code_of(one)].pop(),
                length_mm=one.length_mm,
                first_deg=one.ends_deg[0],
                second_deg=one.ends_deg[1],
            )
            for place, one in enumerate(made, start=1)
        ]
    SawCut.objects.bulk_create(cuts, batch_size=500)


def _decimal(value: float, step: Decimal) -> Decimal:
    return Decimal(repr(float(value))).quantize(step)
