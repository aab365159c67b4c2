"""The parts of a folder: drawings as DXF files and the list `parts.csv` of how many of each are wanted. No Django."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from bom.kernel.errors import Problem, ProblemError
from production.cutting.nesting.job import PartShape
from production.cutting.nesting.outside import covering_rings
from production.cutting.outline_files import read_outline
from production.cutting.terminal.lists import Row, read_list

LIST = "parts.csv"
MOST_OF_A_PART = 100_000
YES = {"yes", "y", "true", "1"}
# Two reading processes at a time: each may take much memory.
AT_ONCE = 2


@dataclass(frozen=True)
class Wanted:
    """A row of the list: the file and how it may be laid."""

    row: Row
    file: str
    quantity: int
    rotations_deg: tuple[float, ...]
    may_mirror: bool
    priority: int


def read_folder(folder: Path, told: Callable[[str], None] = lambda _: None) -> list[PartShape]:
    """Every part of the list with its outline; `told` hears of each file before it is read.

    Each file is read by a process of its own. A part's origin is the drawing's, lengths are in mm; drawings that do
    not state their unit are taken to be in mm.

    Raises `ProblemError` with everything that is wrong in the list and in the drawings.
    """
    if not folder.is_dir():
        raise ProblemError(Problem("There is no such folder", str(folder), "Give a folder with parts.csv"))
    wanted, problems = _wanted(folder)
    parts: list[PartShape] = []
    with ThreadPoolExecutor(AT_ONCE) as pool:
        for one, answer in zip(wanted, pool.map(lambda one: _read(folder, one, told), wanted), strict=True):
            if isinstance(answer, PartShape):
                parts.append(answer)
            else:
                problems += [problem.within(f"{one.row.place}, {one.file}") for problem in answer]
    if problems:
        raise ProblemError(*problems)
    return parts


def _wanted(folder: Path) -> tuple[list[Wanted], list[Problem]]:
    found: dict[str, Wanted] = {}
    problems: list[Problem] = []
    for row in read_list(folder / LIST, ["file", "quantity", "rotations"], ["mirror", "priority"]):
        try:
            one = _row(folder, row)
            if one.file in found:
                raise ProblemError(
                    row.problem("file", f"“{one.file}” is listed twice", "Add the two up and keep one row")
                )
            found[one.file] = one
        except ProblemError as refusal:
            problems += refusal.problems
    return list(found.values()), problems


def _row(folder: Path, row: Row) -> Wanted:
    file = row.values["file"]
    if "\x00" in file or not file or Path(file).name != file or not (folder / file).is_file():
        raise ProblemError(
            row.problem("file", f"“{file[:80]}” is no file in the folder", "Write the drawing's file name")
        )
    priority = row.whole("priority", 0, 99) if row.values["priority"] else 0
    return Wanted(
        row,
        file,
        row.whole("quantity", 0, MOST_OF_A_PART),
        _rotations(row),
        row.values["mirror"].casefold() in YES,
        priority,
    )


def _rotations(row: Row) -> tuple[float, ...]:
    """The angles of a row, each once; as drawn where none is given."""
    words = row.values["rotations"].replace(";", " ").split() or ["0"]
    try:
        angles = [float(word.rstrip("°")) % 360 for word in words]
    except ValueError:
        angles = [math.nan]
    if not all(map(math.isfinite, angles)):
        text = row.values["rotations"][:40]
        raise ProblemError(
            row.problem(
                "rotations", f"“{text}” are not angles", "Write degrees between spaces, 0 90 180 270 say"
            )
        )
    return tuple(dict.fromkeys(angles))


def _read(folder: Path, one: Wanted, told: Callable[[str], None]) -> PartShape | Sequence[Problem]:
    """The part, or what is wrong with its drawing."""
    told(one.file)
    try:
        drawn = read_outline(str(folder / one.file))
    except ProblemError as refusal:
        return refusal.problems
    outer, *holes = covering_rings(drawn.contours)
    return PartShape(
        one.file, outer, tuple(holes), one.quantity, one.rotations_deg, one.may_mirror, one.priority
    )
