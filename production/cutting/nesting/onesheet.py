"""One sheet of a pass: a packed strip whose holes and gaps are filled after, or the grid alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from production.cutting.nesting.fill import Filled, Filler
from production.cutting.nesting.holes import without
from production.cutting.nesting.job import SheetStock
from production.cutting.nesting.mix import occupied_mm2, room_mm2, sheet_mix, sheets_to_come

# Below this a strip run does not pay for the start of its process.
LEAST_STRIP_SECONDS = 0.35
# The grid that fills gaps after the strip takes the rest.
STRIP_SHARE = 0.95
# A strip that fits early is tried again with so much more in it, if so much of its time is left.
MORE, LESS, WORTH_ANOTHER = 0.02, 0.01, 0.4
LEAST_AIM, MOST_AIM = 0.5, 1.0


@dataclass
class Aim:
    """The share of a sheet's room to offer the strip packer: learned from sheet to sheet."""

    share: float

    def learn(self, offered: float, stretch: float) -> None:
        """A strip with so much offered came out `stretch` times as long as the sheet."""
        reached = offered / stretch - LESS if stretch > 1.0 else offered + MORE
        self.share = min(MOST_AIM, max(LEAST_AIM, reached))


def fill_sheet(
    filler: Filler,
    stock: SheetStock,
    pool: Mapping[str, int],
    cells: int,
    *,
    aim: Aim | None = None,
    seconds: float = 0.0,
    seed: int = 1,
) -> Filled:
    """The sheet with as much of the pool as goes on it. With an aim, a strip is packed within `seconds`."""
    to_come = sheets_to_come(filler.shapes, pool, stock, filler.settings)
    # Many sheets repeat few layouts.
    share = STRIP_SHARE * seconds / min(to_come, 4)
    # A strip is as high everywhere; an offcut with steps is filled on the grid.
    if aim is not None and share >= LEAST_STRIP_SECONDS and not stock.outline:
        packed = _packed(filler, stock, pool, cells, aim, share, seed)
        if packed is not None:
            return packed
    mix = pool if to_come <= 2 else sheet_mix(filler.shapes, pool, stock, filler.settings, 1.0)
    sheet = filler.on_grid(filler.empty(stock), mix, cells)
    return filler.on_grid(sheet, minus(pool, sheet), cells)


def minus(pool: Mapping[str, int], sheet: Filled) -> dict[str, int]:
    """What is left of the pool once the sheet is cut."""
    return without(pool, sheet.counts())


def _packed(
    filler: Filler,
    stock: SheetStock,
    pool: Mapping[str, int],
    cells: int,
    aim: Aim,
    seconds: float,
    seed: int,
) -> Filled | None:
    """The best of one strip or more, each with more parts than the one before as long as they fit early."""
    ends = filler.watch.spent + seconds
    # What finds room in holes takes none from the strip.
    bare = without(pool, filler.holes.could_ride(pool))
    best: Filled | None = None
    while best is None or ends - filler.watch.spent > WORTH_ANOTHER * seconds:
        offered = aim.share
        mix = filler.strip_mix(stock, sheet_mix(filler.shapes, bare, stock, filler.settings, offered))
        is_all = sum(mix.values()) == sum(bare.values())
        strip = filler.by_strip(stock, mix, ends - filler.watch.spent, seed, is_all) if mix else None
        if strip is None:
            return best
        rest = minus(pool, strip.sheet)
        sheet = filler.in_holes(strip.sheet, rest)
        sheet = filler.on_grid(sheet, minus(pool, sheet), cells)
        if best is None or sheet.area_mm2 > best.area_mm2:
            best = sheet
        if is_all or filler.watch.stopped:
            return best
        room = room_mm2(stock, filler.settings)
        aim.learn(
            sum(occupied_mm2(filler.shapes[c], filler.settings.gap_mm) * n for c, n in mix.items()) / room,
            strip.stretch,
        )
        if strip.stretch > 1.0:
            return best
    return best
