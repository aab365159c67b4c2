"""Entering an offcut that lies in the workshop and is in no list: its true outline, the holes in it, its shelf."""

from __future__ import annotations

import math
import tempfile
from decimal import Decimal
from itertools import count
from pathlib import Path
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone

from bom.geometry.outlines import Contour, FlatOutline, Vertex, area_mm2, bounding_box, from_text, to_text
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import new_key
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.drafts import PLACES
from inventory.stock.models import Location, Lot, Posting
from inventory.stock.queries import place as place_of
from inventory.stores.handling import COUNT, KEY
from production.cutting.metal import as_texts
from production.cutting.outline_files import read_outline

MOST_BYTES = 5_000_000
MOST_HOLES = 100
MOST_CORNERS = 500


class OffcutForm(forms.Form):
    """An offcut as somebody measured it. The outline is a rectangle, or corners, or what a drawing holds."""

    item = forms.ModelChoiceField(
        Item.objects.filter(kind=Item.Kind.SHEET, is_active=True).order_by("grade", "thickness_mm", "code"),
        to_field_name="code",
        label="Cut from",
        empty_label=None,
    )
    length_mm = forms.FloatField(label="length, mm", required=False, min_value=1, max_value=20_000)
    width_mm = forms.FloatField(label="width, mm", required=False, min_value=1, max_value=20_000)
    file = forms.FileField(
        label="Drawing (.dxf)",
        required=False,
        widget=forms.ClearableFileInput(attrs={"accept": ".dxf"}),
        help_text="Its outline and holes are read and shown first.",
    )
    outline = forms.CharField(
        label="corners",
        required=False,
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="For a piece that is no rectangle: x,y in mm with ; between corners, 0,0; 1200,0; 1200,400; 0,900",
    )
    holes = forms.CharField(
        label="holes in it",
        required=False,
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="One on each line, in mm from the lower left corner: x y diameter, or x y length width, or corners.",
    )
    code = forms.CharField(
        label="its number", required=False, max_length=60, help_text="Empty: the next free one."
    )
    cast = forms.CharField(label="cast", required=False, max_length=60)
    place = forms.ModelChoiceField(
        Location.objects.filter(kind=Location.Kind.SHELF).order_by("walk_order", "code"),
        to_field_name="code",
        label="Lies at",
        empty_label=None,
    )
    key = forms.RegexField(r"^offcut:[0-9a-f]{32}$", widget=forms.HiddenInput)

    def __init__(self, *args: Any, **words: Any) -> None:
        super().__init__(*args, **words)
        self.initial.setdefault("key", new_key("offcut"))


def measured(fields: dict[str, Any]) -> FlatOutline:
    """The piece that the form's cleaned fields describe.

    Raises:
        ProblemError: it has no outline, or a figure cannot be read; the problem names the line.
    """
    holes = tuple(_holes(fields["holes"]))
    if fields["outline"].strip():
        outer = from_text(fields["outline"].replace("\n", " "))
    elif fields["length_mm"] and fields["width_mm"]:
        outer = _box(0.0, 0.0, fields["length_mm"], fields["width_mm"])
    else:
        raise ProblemError(
            Problem(
                "The offcut has no outline", "outline", "Give length and width, its corners, or a drawing."
            )
        )
    corners = sum(len(contour.vertices) for contour in (outer, *holes))
    if corners > MOST_CORNERS or len(holes) > MOST_HOLES:
        raise ProblemError(
            Problem(
                f"The offcut has {corners} corners and {len(holes)} holes",
                "outline",
                f"At most {MOST_CORNERS} and {MOST_HOLES} are kept: leave small steps out.",
            )
        )
    return FlatOutline(outer, holes)


def read_file(sent: UploadedFile[Any]) -> FlatOutline:
    """The piece a drawing holds, its corner at 0, 0. Raises `ProblemError` with all that is wrong in it."""
    if (sent.size or 0) > MOST_BYTES:
        raise ProblemError(
            Problem("The drawing is too large", "drawing", f"At most {MOST_BYTES / 1e6:.0f} MB are read.")
        )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "offcut.dxf"
        path.write_bytes(sent.read(MOST_BYTES))
        drawn = read_outline(str(path))
    outline, holes = as_texts(drawn)
    return FlatOutline(from_text(outline), tuple(from_text(line) for line in holes.splitlines()))


@transaction.atomic
def enter_offcut(
    *, item: Item, piece: FlatOutline, place: Location, by: User, key: str, code: str = "", cast: str = ""
) -> Lot:
    """Put an offcut into stock, as that share of a whole sheet which its area is. The same key enters it once.

    Raises:
        ProblemError: its outline or holes make no sense, it is larger than a whole sheet or nothing of one, the
            sheet's size is not known, the place is no shelf, or an offcut of this number is there.
    """
    if place.kind != Location.Kind.SHELF:
        raise ProblemError(Problem(f"{place.code} is no shelf", "place", "Choose a shelf."))
    posted = Posting.objects.filter(key=f"{KEY}:{key}").first()
    if posted is not None:
        return Lot.objects.get(movements__posting=posted, movements__location=place)
    outline, holes = as_texts(piece)
    share = _share(item, piece)
    code = code.strip() or _next_code()
    if Lot.objects.filter(item=item, code=code).exists():
        raise ProblemError(
            Problem(f"{item.code} has a lot {code} already", "number", "Give another, or leave it empty.")
        )
    left, low, right, high = bounding_box(piece)
    lot = Lot.objects.create(
        item=item,
        code=code,
        kind=Lot.Kind.OFFCUT,
        cast=cast.strip(),
        received_on=timezone.localdate(),
        length_mm=_tenths(right - left),
        width_mm=_tenths(high - low),
        outline=outline,
        holes=holes,
    )
    ledger.post(
        key=f"{KEY}:{key}",
        kind=Posting.Kind.COUNT,
        lines=[
            ledger.Line(item.pk, place_of(COUNT).pk, -share, lot.pk),
            ledger.Line(item.pk, place.pk, share, lot.pk),
        ],
        by=by,
        reason=f"offcut {code} found and entered",
    )
    return lot


def _share(item: Item, piece: FlatOutline) -> Decimal:
    if not item.length_mm or not item.width_mm:
        raise ProblemError(
            Problem(f"{item.code} has no length and width", "cut from", "Enter them on the item first.")
        )
    share = area_mm2(piece) / float(item.length_mm * item.width_mm)
    exact = Decimal(repr(share)).quantize(PLACES)
    if not 0 < exact < 1:
        raise ProblemError(
            Problem(
                f"The piece is {share:.2f} of a whole {item.code}",
                "outline",
                "Measure it again, or choose the sheet it was cut from.",
            )
        )
    return exact


def _next_code() -> str:
    taken = set(Lot.objects.filter(code__startswith="OC-").values_list("code", flat=True))
    return next(code for code in (f"OC-{number}" for number in count(1)) if code not in taken)


def _holes(text: str) -> list[Contour]:
    found, problems = [], []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        try:
            found.append(_hole(line))
        except (ProblemError, ValueError):
            problems.append(
                Problem(
                    f"“{line.strip()[:60]}” is no hole",
                    f"holes, line {number}",
                    "Write x y diameter, or x y length width, in mm.",
                )
            )
    if problems:
        raise ProblemError(*problems)
    return found


def _hole(line: str) -> Contour:
    """Raises ValueError or ProblemError where the line is none of the three ways to write a hole."""
    if ";" in line:
        return from_text(line)
    figures = [float(word) for word in line.replace(",", " ").split()]
    if not all(map(math.isfinite, figures)) or min(figures[2:], default=0.0) <= 0:
        raise ValueError(line)
    if len(figures) == 3:
        x, y, diameter = figures
        return Contour((Vertex(x - diameter / 2, y, 1.0), Vertex(x + diameter / 2, y, 1.0)))
    x, y, length, width = figures
    return _box(x, y, length, width)


def _box(x: float, y: float, length: float, width: float) -> Contour:
    corners = ((x, y), (x + length, y), (x + length, y + width), (x, y + width))
    return Contour(tuple(Vertex(*corner) for corner in corners))


def _tenths(value: float) -> Decimal:
    return Decimal(repr(value)).quantize(Decimal("0.1"))


def texts_of(piece: FlatOutline) -> dict[str, str]:
    """The piece as the form's fields hold it."""
    return {"outline": to_text(piece.outer), "holes": "\n".join(map(to_text, piece.inners))}
