"""What a command says while it works and when it is done: a bar of progress, plain tables, a file of results."""

from __future__ import annotations

import json
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from bom.kernel.errors import Problem, ProblemError

BAR_CELLS = 24


class ProgressBar:
    """One line that is written over again; nothing where the output is no terminal."""

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self._is_shown = out.isatty()
        self._width = 0

    def show(self, share: float, words: str) -> None:
        if not self._is_shown:
            return
        full = round(BAR_CELLS * min(1.0, max(0.0, share)))
        line = f"[{'#' * full}{'.' * (BAR_CELLS - full)}] {100 * share:3.0f} %  {words}"
        self._out.write("\r" + line.ljust(self._width))
        self._out.flush()
        self._width = len(line)

    def clear(self) -> None:
        if self._is_shown:
            self._out.write("\r" + " " * self._width + "\r")
            self._out.flush()


@contextmanager
def until_interrupted() -> Iterator[Callable[[], bool]]:
    """Gives a question that is answered True until Ctrl-C: work asks it and ends with what it has."""
    heard: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _: heard.append(number))
    try:
        yield lambda: not heard
    finally:
        signal.signal(signal.SIGINT, before)


def table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A plain table; the first column stands left, all others right."""
    widths = [max(len(row[at]) for row in [header, *rows]) for at in range(len(header))]

    def line(row: Sequence[str]) -> str:
        first, *others = (
            word.ljust(width) if at == 0 else word.rjust(width)
            for at, (word, width) in enumerate(zip(row, widths, strict=True))
        )
        return "  ".join([first, *others]).rstrip()

    rule = "  ".join("-" * width for width in widths)
    return "\n".join([line(header), rule, *map(line, rows)])


def write_json(path: Path, answer: dict[str, object]) -> None:
    """Write the file whole or not at all. Raises `ProblemError` when it cannot be written."""
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        beside.write_text(json.dumps(answer, indent=1, allow_nan=False) + "\n", encoding="utf-8")
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise ProblemError(
            Problem(f"The results could not be written ({error.strerror})", str(path), "Give another path")
        ) from None
