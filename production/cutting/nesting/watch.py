"""Time and the caller's wish to stop, seen from anywhere inside the search."""

from __future__ import annotations

import time
from collections.abc import Callable

from production.cutting.nesting.job import NestProgress

TELL_SECONDS = 0.2


class Watch:
    """Keeps the deadline, tells the caller how far the nest is, remembers that it was told to stop."""

    def __init__(self, seconds: float, wanted: int, progress: Callable[[NestProgress], bool]) -> None:
        self.begun = time.monotonic()
        self.deadline = self.begun + seconds
        self.stopped = False
        self.step = "first layout"
        self.placed = 0
        self.sheets = 0
        self.sheet_equivalents = 0.0
        self.use = 0.0
        self.bound_sheets = 0.0
        self._seconds = max(seconds, 1e-3)
        self._wanted = wanted
        self._progress = progress
        self._told = 0.0

    @property
    def spent(self) -> float:
        return time.monotonic() - self.begun

    @property
    def left(self) -> float:
        """Seconds to the deadline, never below zero."""
        return max(0.0, self.deadline - time.monotonic())

    def go_on(self) -> bool:
        """Tell the caller, at most every fifth of a second; False once it has said stop."""
        now = time.monotonic()
        if self.stopped or now - self._told < TELL_SECONDS:
            return not self.stopped
        self._told = now
        share = min(0.99, self.spent / self._seconds)
        report = NestProgress(
            share,
            self.placed,
            self._wanted,
            self.sheets,
            self.step,
            self.sheet_equivalents,
            self.use,
            self.bound_sheets,
        )
        self.stopped = not self._progress(report)
        return not self.stopped
