"""Working time of a station laid end to end, so that closed time vanishes."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable

Window = tuple[int, int]


class Axis:
    """Maps minutes of the horizon to minutes of work since its start, and back.

    `before` holds, for every window, the open minutes before it.
    """

    def __init__(self, windows: Iterable[Window]) -> None:
        kept = [(start, end) for start, end in windows if end > start]
        self.starts = [start for start, _ in kept]
        self.ends = [end for _, end in kept]
        self.before = [0]
        for start, end in kept:
            self.before.append(self.before[-1] + end - start)
        self.total = self.before[-1]

    def position(self, minute: int) -> int:
        """Open minutes before `minute`."""
        index = bisect_right(self.starts, minute) - 1
        if index < 0:
            return 0
        return self.before[index] + min(minute, self.ends[index]) - self.starts[index]

    def start_at(self, position: int) -> int:
        """The minute at which work at `position` begins: at a border, the opening after it."""
        index = bisect_right(self.before, position) - 1
        return self.starts[index] + position - self.before[index]

    def end_at(self, position: int) -> int:
        """The minute at which work up to `position` (above 0) ends: at a border, the closing before it."""
        index = bisect_left(self.before, position) - 1
        return self.starts[index] + position - self.before[index]

    def within_window(self, position: int, minutes: int) -> int:
        """The first position from `position` at which `minutes` fit into one window; `total` where none does."""
        index = bisect_right(self.before, position) - 1
        while index < len(self.starts):
            if position + minutes <= self.before[index + 1]:
                return position
            index += 1
            position = self.before[index]
        return self.total

    def worked(self, start: int, end: int) -> list[tuple[int, int]]:
        """The open stretches from minute `start` to `end`."""
        first = max(0, bisect_right(self.starts, start) - 1)
        last = bisect_left(self.starts, end)
        return [
            (max(start, self.starts[index]), min(end, self.ends[index]))
            for index in range(first, last)
            if self.ends[index] > start
        ]

    def pieces(self, first: int, last: int, minutes: int, can_split: bool) -> list[tuple[int, int, int]]:
        """Starts from minute `first` to `last`, as (from, to, closed minutes met by work begun there).

        Work of `minutes` (above 0) that begins in one piece always meets the same closed time.
        """
        found: list[tuple[int, int, int]] = []
        index = max(0, bisect_right(self.starts, first) - 1)
        while index < len(self.starts) and self.starts[index] <= last:
            low, high = max(first, self.starts[index]), min(last, self.ends[index] - 1)
            while low <= high:
                position = self.before[index] + low - self.starts[index] + minutes
                if position > self.total:
                    return found
                inside = bisect_left(self.before, position) - 1
                until = min(high, low + self.before[inside + 1] - position)
                closed = self.end_at(position) - low - minutes
                if can_split or not closed:
                    found.append((low, until, closed))
                low = until + 1
            index += 1
        return found
