"""What the page of a reading shows: the file drawn as it is, every flaw numbered over it."""

from collections.abc import Sequence
from dataclasses import dataclass

from bom.geometry.drawing_models import DrawingRead, ReadFlaw, ReadPath
from bom.geometry.models import FlatPart
from bom.geometry.outlines import Contour, FlatOutline, from_text, mass_kg, svg_path
from bom.geometry.part_sheet import Figure, flat_figures
from bom.geometry.sketching import MARGIN, TEXT, Label, open_path

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class DrawnPath:
    """A path of the file as SVG, with the class of its line."""

    d: str
    look: str
    title: str


@dataclass(frozen=True)
class Flag:
    """A flaw's number at its point; y down."""

    x: float
    y: float
    number: int
    title: str


@dataclass(frozen=True)
class ReadSheet:
    """A reading ready to be shown. `paths` have y up."""

    view_box: str
    text_mm: float
    flag_mm: float
    paths: tuple[DrawnPath, ...]
    flags: tuple[Flag, ...]
    labels: tuple[Label, ...]
    figures: tuple[Figure, ...]
    sizes: tuple[str, ...]


_LOOKS = {
    ReadPath.Use.OUTSIDE: "thin-cut",
    ReadPath.Use.HOLE: "thin-cut",
    ReadPath.Use.MARK: "mark",
    ReadPath.Use.BEND: "bend",
    ReadPath.Use.LOOSE: "faulty",
}


def read_sheet(read: DrawingRead) -> ReadSheet | None:
    """The sheet of a finished reading; None where it holds nothing that can be drawn. Two queries."""
    rows, flaws = list(read.paths.all()), list(read.flaws.all())
    contours = {row.pk: from_text(row.vertices) for row in rows}
    box = _box([vertex.point for contour in contours.values() for vertex in contour.vertices])
    if box is None:
        return None
    left, low, right, high = box
    size = max(right - left, high - low) or 1.0
    text, room = size * TEXT, size * MARGIN
    return ReadSheet(
        view_box=f"{left - room:.2f} {-high - room:.2f} {right - left + 2 * room:.2f} {high - low + 2 * room:.2f}",
        text_mm=text,
        flag_mm=text * 0.8,
        paths=tuple(_drawn(row, contours[row.pk]) for row in rows),
        flags=tuple(_flag(flaw) for flaw in flaws if _is_near(flaw, box, size)),
        labels=(Label((left + right) / 2, -low + room * 0.7, f"{right - left:.1f} × {high - low:.1f}"),),
        figures=_figures(read, rows, contours) if read.is_whole else (),
        sizes=(f"{right - left:.1f} × {high - low:.1f} mm",),
    )


def _drawn(row: ReadPath, contour: Contour) -> DrawnPath:
    path = svg_path(contour)
    look = _LOOKS[ReadPath.Use(row.use)]
    title = f"{row.get_use_display()}: layer {row.layer}, entity {row.handle}"
    return DrawnPath(path if row.is_closed else open_path(contour), look, title)


def _flag(flaw: ReadFlaw) -> Flag:
    return Flag(flaw.x_mm or 0.0, -(flaw.y_mm or 0.0), flaw.sequence, flaw.what)


def _is_near(flaw: ReadFlaw, box: Box, size: float) -> bool:
    if flaw.x_mm is None or flaw.y_mm is None:
        return False
    left, low, right, high = box
    return left - size <= flaw.x_mm <= right + size and low - size <= flaw.y_mm <= high + size


def _box(points: Sequence[tuple[float, float]]) -> Box | None:
    if not points:
        return None
    across, up = [x for x, _ in points], [y for _, y in points]
    return (min(across), min(up), max(across), max(up))


def read_mass_kg(read: DrawingRead) -> float | None:
    """What the part would weigh as it was read; none where it is not whole. One query."""
    if not read.is_whole:
        return None
    rows = list(read.paths.all())
    outline = _outline(rows, {row.pk: from_text(row.vertices) for row in rows})
    return mass_kg(outline, float(read.thickness_mm))


def _figures(read: DrawingRead, rows: Sequence[ReadPath], contours: dict[int, Contour]) -> tuple[Figure, ...]:
    part = FlatPart(thickness_mm=read.thickness_mm, grade=read.grade)
    return flat_figures(part, _outline(rows, contours))


def _outline(rows: Sequence[ReadPath], contours: dict[int, Contour]) -> FlatOutline:
    outer, *inners = (
        contours[row.pk] for row in rows if row.use in (ReadPath.Use.OUTSIDE, ReadPath.Use.HOLE)
    )
    return FlatOutline(outer, tuple(inners))
