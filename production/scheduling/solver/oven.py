"""The oven within a window: which batch each frame goes to, and which colour each batch is."""

from __future__ import annotations

from collections import defaultdict
from itertools import product
from typing import Any, Protocol

from production.scheduling.solver.decode import Decoded
from production.scheduling.solver.job import Oven
from production.scheduling.solver.model import Batches, Model


class WindowLike(Protocol):
    """What the oven needs of the window it stands in."""

    model: Model
    now: Decoded
    cp: Any

    def earliest(self, index: int) -> int: ...

    def latest_end(self, index: int) -> int: ...

    def frozen_at(self, number: int) -> list[int]: ...

    def choose(
        self, index: int, options: list[int], starts: list[int], ends: list[int]
    ) -> dict[int, Any]: ...


def add_oven(window: WindowLike, number: int, batches: Batches, own: list[int]) -> bool:
    """Add the oven's rules for its free operations; answers whether no allowed schedule was left out.

    Any two batches, not only neighbours, must leave time for the change between their colours. That leaves
    schedules out only where going through a third colour is quicker, which needs changes by pair of colours.
    """
    colours, frames = _frozen(window, number)
    used: dict[tuple[int, str], Any] = {}
    loads: dict[int, list[tuple[int, Any]]] = defaultdict(list)
    for index in own:
        colour, size = window.model.colour[index], window.model.frames[index]
        first, last = window.earliest(index), window.latest_end(index)
        options = [
            slot
            for slot, start in enumerate(batches.starts)
            if start >= first
            and batches.ends[slot] <= last
            and frames.get(slot, 0) + size <= batches.oven.frames
            and _is_free(batches, colours, slot, colour)
        ]
        for slot, here in window.choose(index, options, batches.starts, batches.ends).items():
            loads[slot].append((size, here))
            if slot not in colours:
                if (slot, colour) not in used:
                    used[slot, colour] = window.cp.new_bool_var("")
                window.cp.add_implication(here, used[slot, colour])
    for slot, held in loads.items():
        window.cp.add(sum(size * here for size, here in held) <= batches.oven.frames - frames.get(slot, 0))
    _hint_colours(window, own, used)
    _keep_apart(window, batches, used)
    return not batches.oven.changes


def _frozen(window: WindowLike, number: int) -> tuple[dict[int, str], dict[int, int]]:
    """Colour and frames of the batches that stand."""
    colours: dict[int, str] = {}
    frames: dict[int, int] = defaultdict(int)
    for one in window.frozen_at(number):
        colours[window.now.unit[one]] = window.model.colour[one]
        frames[window.now.unit[one]] += window.model.frames[one]
    return colours, frames


def _is_free(batches: Batches, colours: dict[int, str], slot: int, colour: str) -> bool:
    if slot in colours:
        return colours[slot] == colour
    if batches.starts[slot] < batches.oven.change(batches.oven.colour, colour):
        return False
    return all(_follow(batches, slot, colour, other, own) for other, own in colours.items())


def _follow(batches: Batches, slot: int, colour: str, other: int, own: str) -> bool:
    """Is there time between two batches?"""
    oven: Oven = batches.oven
    if slot > other:
        slot, colour, other, own = other, own, slot, colour
    return batches.ends[slot] + oven.change(colour, own) <= batches.starts[other]


def _hint_colours(window: WindowLike, own: list[int], used: dict[tuple[int, str], Any]) -> None:
    now = {(window.now.unit[index], window.model.colour[index]) for index in own}
    for key, variable in used.items():
        window.cp.add_hint(variable, key in now)


def _keep_apart(window: WindowLike, batches: Batches, used: dict[tuple[int, str], Any]) -> None:
    by_slot: dict[int, list[str]] = defaultdict(list)
    for slot, colour in used:
        by_slot[slot].append(colour)
    longest = max([batches.oven.change_minutes, *batches.oven.changes.values()])
    slots = sorted(by_slot)
    for at, slot in enumerate(slots):
        if len(by_slot[slot]) > 1:
            window.cp.add_at_most_one(used[slot, colour] for colour in by_slot[slot])
        for other in slots[at + 1 :]:
            if batches.starts[other] >= batches.ends[slot] + longest:
                break
            for colour, own in product(by_slot[slot], by_slot[other]):
                if not _follow(batches, slot, colour, other, own):
                    window.cp.add_bool_or(~used[slot, colour], ~used[other, own])
