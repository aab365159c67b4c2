"""Strip packing in a process that can be killed: the packer itself has no way to be stopped."""

from __future__ import annotations

import contextlib
import json
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from production.cutting.nesting.job import Point

CHILD = Path(__file__).with_name("strip_child.py")
TICK_SECONDS = 0.1
FIRST_LAYOUT_SECONDS = 8.0


@dataclass(frozen=True)
class StripItem:
    """An outline (mm) to pack `demand` times at one of `rotations_deg`."""

    code: str
    outline: tuple[Point, ...]
    demand: int
    rotations_deg: tuple[float, ...]


@dataclass(frozen=True)
class StripTask:
    """Pack all items into a strip of fixed `height_mm`, as short as can be found in `seconds`.

    `separation_mm` is kept between items and also to the strip's edges. The search ends early when the
    strip is no longer than `enough_mm`.
    """

    items: tuple[StripItem, ...]
    height_mm: float
    separation_mm: float
    seconds: float
    seed: int
    workers: int
    enough_mm: float = 0.0


@dataclass(frozen=True)
class StripPlace:
    """Item rotated about its own origin, then moved."""

    code: str
    rotation_deg: float
    x_mm: float
    y_mm: float


@dataclass(frozen=True)
class StripLayout:
    """The shortest strip found; `stopped` when the caller asked for the end."""

    length_mm: float
    places: tuple[StripPlace, ...]
    stopped: bool = False


class StripFailure(Exception):
    """The packing process ended without a layout; the text is its own last words."""


def pack_strip(task: StripTask, go_on: Callable[[float], bool]) -> StripLayout:
    """Pack a strip; `go_on(seconds_spent)` is asked ten times a second and may answer False to stop.

    The best layout seen so far is kept when time ends or the caller stops.

    Raises `StripFailure` when the process dies, or is stopped, before any layout was found.
    """
    process = subprocess.Popen(
        [sys.executable, "-I", str(CHILD)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )
    try:
        return _listen(process, task, go_on)
    finally:
        _end(process)


def _listen(process: subprocess.Popen[str], task: StripTask, go_on: Callable[[float], bool]) -> StripLayout:
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stderr is not None
    lines: queue.Queue[str | None] = queue.Queue()
    words: list[str] = []
    readers = (_thread(_read_lines, process.stdout, lines), _thread(_read_words, process.stderr, words))
    try:
        _send(process.stdin, task)
        best, stopped = _await_best(lines, task, go_on)
    finally:
        # Killed, the child closes its ends of the pipes, so both readers come to their end.
        process.kill()
        for reader in readers:
            reader.join(timeout=2.0)
    if best is not None:
        return StripLayout(best.length_mm, best.places, stopped)
    if stopped:
        raise StripFailure("stopped before the first layout")
    raise StripFailure(_last_line(words))


def _await_best(
    lines: queue.Queue[str | None], task: StripTask, go_on: Callable[[float], bool]
) -> tuple[StripLayout | None, bool]:
    """Collect layouts until time is up, the strip is short enough, the child ends or the caller stops."""
    begun = time.monotonic()
    # The first layout may be waited for a little longer: without it the run was for nothing.
    patience = max(task.seconds, min(FIRST_LAYOUT_SECONDS, 1.0 + 2.0 * task.seconds))
    best: StripLayout | None = None
    while True:
        spent = time.monotonic() - begun
        if not go_on(spent):
            return best, True
        if spent >= (patience if best is None else task.seconds):
            return best, False
        try:
            line = lines.get(timeout=TICK_SECONDS)
        except queue.Empty:
            continue
        if line is None:
            return best, False
        best = _parse(line)
        if best.length_mm <= task.enough_mm:
            return best, False


def _send(pipe: IO[str], task: StripTask) -> None:
    seconds = max(1, round(task.seconds))
    message = {
        "items": [
            {"id": i.code, "shape": i.outline, "demand": i.demand, "rotations": i.rotations_deg}
            for i in task.items
        ],
        "height": task.height_mm,
        "separation": task.separation_mm,
        "explore_seconds": max(1, round(seconds * 0.8)),
        "compress_seconds": max(1, round(seconds * 0.2)),
        "workers": task.workers,
        "seed": task.seed,
    }
    try:
        pipe.write(json.dumps(message) + "\n")
        pipe.flush()
    except OSError as error:
        raise StripFailure(f"the packing process did not start: {error}") from error


def _parse(line: str) -> StripLayout:
    answer = json.loads(line)
    places = tuple(StripPlace(code, rotation, x, y) for code, rotation, x, y in answer["placed"])
    return StripLayout(answer["width"], places)


def _thread(target: Callable[..., None], *args: object) -> threading.Thread:
    thread = threading.Thread(target=target, args=args, daemon=True)
    thread.start()
    return thread


def _read_lines(pipe: IO[str], lines: queue.Queue[str | None]) -> None:
    """Pass complete lines on; a line cut off by a dying process is dropped; None marks the end."""
    for line in pipe:
        if line.endswith("\n"):
            lines.put(line)
    lines.put(None)


def _read_words(pipe: IO[str], words: list[str]) -> None:
    words.extend(pipe)


def _last_line(words: list[str]) -> str:
    said = [line.strip() for line in words if line.strip()]
    return said[-1] if said else "the packing process ended without a word"


def _end(process: subprocess.Popen[str]) -> None:
    """Kill the child, wait until it is gone, close its pipes."""
    process.kill()
    process.wait()
    for pipe in (process.stdin, process.stdout, process.stderr):
        if pipe is not None:
            # Closing flushes what a dead child never read.
            with contextlib.suppress(OSError):
                pipe.close()
