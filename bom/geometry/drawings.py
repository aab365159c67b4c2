"""Drawing files: kept, read in the background, looked at, and taken over when a person accepts what was found."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from functools import partial
from uuid import uuid4

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction
from django.utils import timezone

from bom.geometry.drawing_models import DrawingRead, ReadPath
from bom.geometry.models import BendValue, FlatContour, FlatMark, FlatPart, FoldLine
from bom.geometry.outlines import (
    STEEL_KG_M3,
    FlatOutline,
    area_mm2,
    bounding_box,
    cut_length_mm,
    from_text,
    mass_kg,
    pierces,
    to_text,
    transform,
)
from bom.geometry.reading import value_for
from bom.geometry.tasks import read_drawing
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User

FOLDER = "drawings"
MOST_BYTES = 5_000_000
KEPT_FOR = timedelta(days=30)
"""How long a reading that nobody accepted is kept, with its file."""


@transaction.atomic
def ask_for_reading(
    *,
    item: Item,
    content: bytes,
    file_name: str,
    grade: str,
    thickness_mm: Decimal,
    unit_if_unstated: str,
    by: User | None,
    key: str,
) -> DrawingRead:
    """Keep a file and queue its reading. The same key again returns the first reading.

    Raises:
        ProblemError: the item is not made here, the file is empty or too large, grade or thickness are missing.
    """
    first = DrawingRead.objects.filter(key=key).first()
    if first is not None:
        return first
    _refuse_unfit(item, content, file_name, grade, thickness_mm)
    _forget_old()
    stored = default_storage.save(f"{FOLDER}/{uuid4().hex}.dxf", ContentFile(content))
    try:
        with transaction.atomic():
            read = DrawingRead.objects.create(
                item=item,
                key=key,
                file_name=_tidy_name(file_name),
                stored_as=stored,
                grade=grade.strip(),
                thickness_mm=thickness_mm,
                unit_if_unstated=unit_if_unstated,
                asked_by=by,
                step="waiting for the worker",
            )
    except IntegrityError:  # the same form, submitted twice at the same moment
        default_storage.delete(stored)
        return DrawingRead.objects.get(key=key)
    transaction.on_commit(partial(read_drawing.delay, read.pk))
    return read


@transaction.atomic
def read_again(*, read: DrawingRead, unit_if_unstated: str, by: User | None, key: str) -> DrawingRead:
    """Queue another reading of the same file, under the table of layers and the unit of now."""
    with default_storage.open(read.stored_as) as file:
        content = file.read()
    return ask_for_reading(
        item=read.item,
        content=content,
        file_name=read.file_name,
        grade=read.grade,
        thickness_mm=read.thickness_mm,
        unit_if_unstated=unit_if_unstated,
        by=by,
        key=key,
    )


@transaction.atomic
def accept_reading(*, read: DrawingRead, by: User) -> FlatPart:
    """Take over what was found as the flat part of the item, with its corner at 0, 0: contours, marks, bend lines,
    and the figures that follow. Accepted twice, it is taken over once.

    Raises:
        ProblemError: the reading has flaws or is not done, or the item was drawn anew after it.
    """
    read = DrawingRead.objects.select_for_update().select_related("item").get(pk=read.pk)
    part = FlatPart.objects.select_for_update().filter(item=read.item).first()
    if read.accepted_at and part:
        return part
    _refuse_unless_whole(read, part)
    rows = list(read.paths.all())
    outline, moved = _at_corner(rows)
    part = _write_part(read, part, outline)
    _write_contours(part, outline, rows, moved)
    _write_bends(part, rows, moved)
    _write_item(read.item, part, outline)
    read.accepted_at, read.accepted_by = timezone.now(), by
    read.save(update_fields=["accepted_at", "accepted_by"])
    return part


def _refuse_unfit(item: Item, content: bytes, file_name: str, grade: str, thickness_mm: Decimal) -> None:
    problems = []
    if not item.is_made:
        problems.append(
            Problem(f"{item.code} is {item.get_kind_display()}", "item", "Only made items are cut")
        )
    if not content:
        problems.append(Problem("The file is empty", file_name, "Save the drawing again"))
    if len(content) > MOST_BYTES:
        what = f"The file is {len(content) / 1e6:.1f} MB; at most {MOST_BYTES / 1e6:.0f} MB are read"
        problems.append(Problem(what, file_name, "Save the part alone, without frame and other parts"))
    if not grade.strip():
        problems.append(Problem("The steel grade is missing", "grade", "Write one such as S355"))
    if not thickness_mm > 0:
        problems.append(Problem("The thickness is not above 0", "thickness", "Give it in mm"))
    if problems:
        raise ProblemError(*problems)


def _forget_old() -> None:
    for read in DrawingRead.objects.filter(accepted_at=None, asked_at__lt=timezone.now() - KEPT_FOR):
        default_storage.delete(read.stored_as)
        read.delete()


def _tidy_name(name: str) -> str:
    return re.sub(r"[^\w .()+-]", "_", name.rsplit("/", 1)[-1].rsplit("\\", 1)[-1])[-200:] or "drawing.dxf"


def _refuse_unless_whole(read: DrawingRead, part: FlatPart | None) -> None:
    place = read.file_name
    if not read.has_succeeded:
        raise ProblemError(Problem("The file has not been read to its end", place, "Wait, or read it again"))
    if not read.is_whole:
        what = f"{read.flaw_count} things are wrong in it"
        raise ProblemError(Problem(what, place, "Put them right in the drawing and bring it in anew"))
    if part and part.drawn_at and part.drawn_at > read.asked_at:
        what = f"{read.item.code} was drawn anew after this file was read"
        raise ProblemError(Problem(what, place, "Read the file again and compare"))


@dataclass(frozen=True)
class _Move:
    dx_mm: float
    dy_mm: float

    def of(self, text: str) -> str:
        """Contour text moved."""
        moved = transform(FlatOutline(from_text(text)), dx_mm=self.dx_mm, dy_mm=self.dy_mm)
        return to_text(moved.outer)


def _at_corner(rows: Sequence[ReadPath]) -> tuple[FlatOutline, _Move]:
    outer, *inners = (
        from_text(row.vertices) for row in rows if row.use in (ReadPath.Use.OUTSIDE, ReadPath.Use.HOLE)
    )
    drawn = FlatOutline(outer, tuple(inners))
    left, low, _, _ = bounding_box(drawn)
    move = _Move(-round(left, 3), -round(low, 3))
    return transform(drawn, dx_mm=move.dx_mm, dy_mm=move.dy_mm), move


def _write_part(read: DrawingRead, part: FlatPart | None, outline: FlatOutline) -> FlatPart:
    left, low, right, high = bounding_box(outline)
    part = part or FlatPart(item=read.item)
    part.grade, part.thickness_mm = read.grade, read.thickness_mm
    part.area_mm2 = _decimal(area_mm2(outline), 2)
    part.cut_length_mm = _decimal(cut_length_mm(outline), 1)
    part.pierces = pierces(outline)
    part.length_mm, part.width_mm = _decimal(right - left, 1), _decimal(high - low, 1)
    part.drawn_at, part.drawn_from = timezone.now(), read.file_name
    part.save()
    return part


def _write_contours(part: FlatPart, outline: FlatOutline, rows: Sequence[ReadPath], moved: _Move) -> None:
    part.contours.all().delete()
    FlatContour.objects.bulk_create(
        FlatContour(part=part, sequence=at, vertices=to_text(contour))
        for at, contour in enumerate(outline.contours)
    )
    part.marks.all().delete()
    marks = [row for row in rows if row.use == ReadPath.Use.MARK]
    FlatMark.objects.bulk_create(
        FlatMark(part=part, sequence=at, vertices=moved.of(row.vertices), is_closed=row.is_closed)
        for at, row in enumerate(marks)
    )


def _write_bends(part: FlatPart, rows: Sequence[ReadPath], moved: _Move) -> None:
    """Bend lines of the file. One that lies where a bend lay keeps its angle, radius and direction; a new one turns by
    90 degrees up, about the radius that the press brake makes."""
    before = {_ends(row): row for row in part.fold_lines.all()}
    value = value_for(part, BendValue.objects.filter(thickness_mm=part.thickness_mm))
    radius = value.inside_radius_mm if value else part.thickness_mm
    lines = []
    for at, row in enumerate((row for row in rows if row.use == ReadPath.Use.BEND), 1):
        start, *_, end = (vertex.point for vertex in from_text(moved.of(row.vertices)).vertices)
        line = FoldLine(part=part, sequence=at, inside_radius_mm=radius, angle_deg=90)
        line.x1_mm, line.y1_mm = _decimal(start[0], 3), _decimal(start[1], 3)
        line.x2_mm, line.y2_mm = _decimal(end[0], 3), _decimal(end[1], 3)
        if known := before.get(_ends(line)):
            line.angle_deg, line.direction = known.angle_deg, known.direction
            line.inside_radius_mm = known.inside_radius_mm
        lines.append(line)
    part.fold_lines.all().delete()
    FoldLine.objects.bulk_create(lines)
    part.bends = len(lines)
    part.save(update_fields=["bends"])


def _ends(line: FoldLine) -> tuple[tuple[Decimal, Decimal], ...]:
    hundredth = Decimal("0.01")
    ends = ((line.x1_mm, line.y1_mm), (line.x2_mm, line.y2_mm))
    return tuple(sorted((x.quantize(hundredth), y.quantize(hundredth)) for x, y in ends))


def _write_item(item: Item, part: FlatPart, outline: FlatOutline) -> None:
    """What the item says of itself follows the drawing."""
    thickness = float(part.thickness_mm)
    surface = (2 * area_mm2(outline) + cut_length_mm(outline) * thickness) / 1e6
    item.grade, item.thickness_mm = part.grade, part.thickness_mm
    item.length_mm, item.width_mm = part.length_mm, part.width_mm
    item.mass_kg = _decimal(mass_kg(outline, thickness, STEEL_KG_M3), 4)
    item.surface_m2 = _decimal(surface, 5)
    item.save(update_fields=["grade", "thickness_mm", "length_mm", "width_mm", "mass_kg", "surface_m2"])


def _decimal(value: float, places: int) -> Decimal:
    return round(Decimal(repr(float(value))), places)
