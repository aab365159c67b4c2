"""Time and the caller's wish to stop, seen from anywhere inside the search."""

from __future__ import annotations

import time
from collections.abc import Callable

TELL_SECONDS = 0.25

Progress = Callable[[int, str, int], bool]
"""`progress(percent, sentence, best)`: how far, with what, weighted minutes late so far; False stops the search."""


class Watch:
    """Keeps the deadline, tells the caller how far the search is, remembers that it was told to stop."""

    def __init__(self, seconds: float, progress: Progress) -> None:
        self.begun = time.monotonic()
        self.seconds = max(seconds, 1e-3)
        self.stopped = False
        self.sentence = "Trying simple rules"
        self.best = 0
        self._progress = progress
        self._told = 0.0

    @property
    def spent(self) -> float:
        return time.monotonic() - self.begun

    @property
    def left(self) -> float:
        """Seconds to the deadline, never below zero."""
        return max(0.0, self.seconds - self.spent)

    def go_on(self) -> bool:
        """Tell the caller, at most four times a second; False when time is up or the caller has said stop."""
        if not self.stopped and time.monotonic() - self._told >= TELL_SECONDS:
            self._told = time.monotonic()
            percent = min(99, int(100 * self.spent / self.seconds))
            self.stopped = not self._progress(percent, self.sentence, self.best)
        return not self.stopped and self.left > 0
