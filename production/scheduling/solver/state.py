"""What is taken of every place, jig and skill so far: operations are put in, one by one, and taken out again."""

from __future__ import annotations

from bisect import bisect_left, bisect_right

from production.scheduling.solver.axis import Axis
from production.scheduling.solver.model import Batches, Machine, Model, Runs

NEVER = 1 << 60


class State:
    """Starts, ends and units by operation, and what they take.

    On a plain machine time is counted in minutes of work; on one that shares jigs or people, in minutes of the
    horizon, because its operations do not all pause at the same time.
    """

    def __init__(self, model: Model) -> None:
        self.model = model
        self.start = [0] * model.count
        self.end = [0] * model.count
        self.unit = [0] * model.count
        self._begins: list[list[list[int]]] = []
        self._ends: list[list[list[int]]] = []
        self._loads: list[list[int]] = []
        self._used: list[dict[int, tuple[str, int]]] = []
        self._order: list[list[int]] = []
        for place in model.places:
            stands = place.taken if isinstance(place, Machine) else []
            self._begins.append([[start for start, _ in unit] for unit in stands])
            self._ends.append([[end for _, end in unit] for unit in stands])
            self._loads.append(place.grams.copy() if isinstance(place, Runs) else [])
            self._used.append({})
            self._order.append([])
        self._times = [pool.times.copy() for pool in model.pools]
        self._free = [pool.free.copy() for pool in model.pools]

    def copy(self) -> State:
        """Another one that may be changed without changing this one."""
        other = State.__new__(State)
        other.model = self.model
        other.start, other.end, other.unit = self.start.copy(), self.end.copy(), self.unit.copy()
        other._begins = [[unit.copy() for unit in units] for units in self._begins]
        other._ends = [[unit.copy() for unit in units] for units in self._ends]
        other._loads = [load.copy() for load in self._loads]
        other._used = [used.copy() for used in self._used]
        other._order = [order.copy() for order in self._order]
        other._times = [times.copy() for times in self._times]
        other._free = [free.copy() for free in self._free]
        return other

    def place(self, index: int, ready: int) -> bool:
        """Put the operation where it can begin first, `ready` at the earliest; False where there is no room."""
        number = self.model.place[index]
        place = self.model.places[number]
        if isinstance(place, Machine):
            if place.is_plain:
                return self._on_machine(index, ready, number, place.axis)
            return self._with_people(index, ready, number)
        if isinstance(place, Runs):
            return self._on_lorry(index, ready, number, place)
        return self._in_oven(index, ready, number, place)

    def put(self, index: int, start: int, end: int, unit: int) -> None:
        """Put the operation where a schedule has it; it must be free there."""
        model, number = self.model, self.model.place[index]
        place = model.places[number]
        self.start[index], self.end[index], self.unit[index] = start, end, unit
        if isinstance(place, Machine):
            if not model.minutes[index]:
                return
            if place.is_plain:
                start = place.axis.position(start)
                end = start + model.minutes[index]
            at = bisect_left(self._begins[number][unit], start)
            self._begins[number][unit].insert(at, start)
            self._ends[number][unit].insert(at, end)
            for pool in model.pools_of[index]:
                for begin, finish in self._held(index, pool):
                    self._change(pool, begin, finish, -1)
        elif isinstance(place, Runs):
            self._loads[number][unit] -= model.grams[index]
        else:
            frames = self._used[number].get(unit, ("", 0))[1]
            if not frames:
                self._order[number].insert(bisect_left(self._order[number], unit), unit)
            self._used[number][unit] = (model.colour[index], frames + model.frames[index])

    def remove(self, index: int) -> bool:
        """Take a placed operation out; False where what is left does not stand without it.

        That is an oven whose batches before and after would follow each other without time for their change.
        """
        model = self.model
        number = model.place[index]
        place = model.places[number]
        if isinstance(place, Machine):
            if model.minutes[index]:
                self._off_machine(index, number, place)
        elif isinstance(place, Runs):
            self._loads[number][self.unit[index]] += model.grams[index]
        else:
            return self._out_of_oven(index, number, place)
        return True

    def _out_of_oven(self, index: int, number: int, batches: Batches) -> bool:
        used, order, slot = self._used[number], self._order[number], self.unit[index]
        colour, frames = used.pop(slot)
        if frames > self.model.frames[index]:
            used[slot] = (colour, frames - self.model.frames[index])
            return True
        at = bisect_left(order, slot)
        del order[at]
        if at == len(order):
            return True
        after = order[at]
        return _ready_for(batches, used, order, at, used[after][0]) <= batches.starts[after]

    def _off_machine(self, index: int, number: int, machine: Machine) -> None:
        begins = self._begins[number][self.unit[index]]
        start = machine.axis.position(self.start[index]) if machine.is_plain else self.start[index]
        # Nothing else begins there: what has no minutes is not kept, and stands do not overlap work.
        at = bisect_left(begins, start)
        del begins[at], self._ends[number][self.unit[index]][at]
        for pool in self.model.pools_of[index]:
            for begin, end in self._held(index, pool):
                self._change(pool, begin, end, 1)

    def _on_machine(self, index: int, ready: int, number: int, axis: Axis) -> bool:
        minutes = self.model.minutes[index]
        if not minutes:
            self.start[index] = self.end[index] = ready
            return True
        first = axis.position(ready)
        best, unit, before, slot = NEVER, -1, -1, 0
        split = self.model.split[index]
        all_ends = self._ends[number]
        for number_of_unit, begins in enumerate(self._begins[number]):
            ends = all_ends[number_of_unit]
            position, gap = _fit(axis, begins, ends, first, minutes, split)
            # Of equally early units the one that worked last, which leaves the longer gaps to others.
            last = ends[gap - 1] if gap else -1
            if position < best or (position == best and last > before):
                best, unit, before, slot = position, number_of_unit, last, gap
        if best + minutes > axis.total:
            return False
        self._begins[number][unit].insert(slot, best)
        all_ends[unit].insert(slot, best + minutes)
        self.start[index], self.end[index] = axis.start_at(best), axis.end_at(best + minutes)
        self.unit[index] = unit
        return True

    def _with_people(self, index: int, ready: int, number: int) -> bool:
        """As on a machine, and with a jig and somebody of the skill all the while."""
        model = self.model
        axis, minutes = model.axis[index], model.minutes[index]
        if not minutes:
            self.start[index] = self.end[index] = ready
            return True
        minute = ready
        while True:
            position = axis.position(minute)
            if not model.split[index]:
                position = axis.within_window(position, minutes) if position < axis.total else position
            if position + minutes > axis.total:
                return False
            self.start[index] = start = axis.start_at(position)
            self.end[index] = end = axis.end_at(position + minutes)
            unit, free_at = self._free_unit(number, start, end)
            for pool in model.pools_of[index]:
                free_at = max(free_at, self._free_from(pool, index))
            if free_at <= start:
                break
            minute = free_at
        self.unit[index] = unit
        at = bisect_left(self._begins[number][unit], start)
        self._begins[number][unit].insert(at, start)
        self._ends[number][unit].insert(at, end)
        for pool in model.pools_of[index]:
            for begin, finish in self._held(index, pool):
                self._change(pool, begin, finish, -1)
        return True

    def _free_unit(self, number: int, start: int, end: int) -> tuple[int, int]:
        """A unit free from start to end; or else the first minute at which a busy one may be asked again."""
        again, found, before = NEVER, -1, -1
        for unit, begins in enumerate(self._begins[number]):
            ends = self._ends[number][unit]
            gap = bisect_right(ends, start)
            if gap < len(begins) and begins[gap] < end:
                again = min(again, ends[gap])
                continue
            last = ends[gap - 1] if gap else -1
            if found < 0 or last > before:
                found, before = unit, last
        return (found, start) if found >= 0 else (0, again)

    def _held(self, index: int, pool: int) -> list[tuple[int, int]]:
        """From when to when the placed operation holds one of a pool: a jig also while it pauses, people not."""
        start, end = self.start[index], self.end[index]
        if self.model.pools[pool].is_held_while_closed:
            return [(start, end)]
        return self.model.axis[index].worked(start, end)

    def _free_from(self, pool: int, index: int) -> int:
        """0 where the pool has one to spare all the while; else the first minute to ask again."""
        times, free = self._times[pool], self._free[pool]
        for begin, end in reversed(self._held(index, pool)):
            # The last hindrance counts: whatever begins before its end meets it.
            at = bisect_left(times, end) - 1
            while at >= 0 and times[at + 1] > begin:
                if free[at] < 1:
                    return times[at + 1]
                at -= 1
        return 0

    def _change(self, pool: int, begin: int, end: int, by: int) -> None:
        times, free = self._times[pool], self._free[pool]
        first = self._cut(times, free, begin)
        for at in range(first, self._cut(times, free, end)):
            free[at] += by

    @staticmethod
    def _cut(times: list[int], free: list[int], minute: int) -> int:
        """The index of the step that begins at `minute`, which is made if there is none."""
        at = bisect_left(times, minute)
        if times[at] != minute:
            times.insert(at, minute)
            free.insert(at, free[at - 1])
        return at

    def _on_lorry(self, index: int, ready: int, number: int, runs: Runs) -> bool:
        room, grams, length = self._loads[number], self.model.grams[index], self.model.length[index]
        for run in range(bisect_left(runs.leaves, ready), len(room)):
            if grams <= room[run] and length <= runs.length[run]:
                room[run] -= grams
                self.start[index], self.end[index] = runs.leaves[run], runs.returns[run]
                self.unit[index] = run
                return True
        return False

    def _in_oven(self, index: int, ready: int, number: int, batches: Batches) -> bool:
        used, order = self._used[number], self._order[number]
        colour, frames = self.model.colour[index], self.model.frames[index]
        for slot in range(bisect_left(batches.starts, ready), len(batches.starts)):
            content = used.get(slot)
            if content is None:
                if not _slot_is_free(batches, used, order, slot, colour):
                    continue
                used[slot] = (colour, frames)
                order.insert(bisect_left(order, slot), slot)
            elif content[0] == colour and content[1] + frames <= batches.oven.frames:
                used[slot] = (colour, content[1] + frames)
            else:
                continue
            self.start[index], self.end[index] = batches.starts[slot], batches.ends[slot]
            self.unit[index] = slot
            return True
        return False


def _fit(
    axis: Axis, begins: list[int], ends: list[int], first: int, minutes: int, split: bool
) -> tuple[int, int]:
    """The first position from `first` with `minutes` free on one unit, and its place among what is there."""
    position, start, count = first, bisect_right(ends, first), len(begins)
    if split:
        # The innermost loop of all: a full station is walked from one short gap to the next.
        for gap in range(start, count):
            if begins[gap] - position >= minutes:
                return position, gap
            position = ends[gap]
        return position, count
    for gap in range(start, count):
        position = axis.within_window(position, minutes)
        if begins[gap] - position >= minutes:
            return position, gap
        position = max(position, ends[gap])
    return axis.within_window(position, minutes), count


def _slot_is_free(
    batches: Batches, used: dict[int, tuple[str, int]], order: list[int], slot: int, colour: str
) -> bool:
    """Does a batch of the colour fit between the batches around it, with both changes of colour?"""
    oven, starts, ends = batches.oven, batches.starts, batches.ends
    at = bisect_left(order, slot)
    if _ready_for(batches, used, order, at, colour) > starts[slot]:
        return False
    if at == len(order):
        return True
    after = order[at]
    return ends[slot] + oven.change(colour, used[after][0]) <= starts[after]


def _ready_for(
    batches: Batches, used: dict[int, tuple[str, int]], order: list[int], at: int, colour: str
) -> int:
    """When a batch of the colour could begin behind those before place `at`."""
    oven = batches.oven
    if not at:
        return oven.change(oven.colour, colour)
    before = order[at - 1]
    return batches.ends[before] + oven.change(used[before][0], colour)
