"""Whose turn it is: exact windows or other sequences, whichever has lately gained more in a second."""

from __future__ import annotations

import random

KEPT = 0.7
OTHER_SHARE = 0.2


class Turns:
    """Small books gain most by exact windows, large ones at first by other sequences; near the end neither is sure."""

    def __init__(self, seed: int) -> None:
        self._draw = random.Random(seed)
        self._rate = {True: 0.0, False: 0.0}
        self._turn = 0

    def next(self) -> bool:
        """True for an exact window. Each has a turn first; later the worse one every fifth time."""
        self._turn += 1
        windows, sequences = self._rate[True], self._rate[False]
        if self._turn <= 2 or windows == sequences:
            return self._turn % 2 == 1
        better = windows > sequences
        return better if self._draw.random() >= OTHER_SHARE else not better

    def learn(self, is_window: bool, gained: int, seconds: float) -> None:
        """What the turn gained, in weighted minutes, and how long it took."""
        rate = gained / max(seconds, 1e-3)
        known = self._rate[is_window]
        self._rate[is_window] = rate if self._turn <= 2 else KEPT * known + (1 - KEPT) * rate
