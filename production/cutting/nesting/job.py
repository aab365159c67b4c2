"""What goes into a nest and what comes out: plain data, millimetres and degrees."""

from __future__ import annotations

from dataclasses import dataclass

Point = tuple[float, float]
Ring = tuple[Point, ...]


@dataclass(frozen=True)
class PartShape:
    """A flat part and how many of it are wanted.

    `outer` and `holes` are closed outlines in mm (the last point need not repeat the first).
    `rotations_deg` are the only angles the part may be laid at (grain, brushed face). A higher
    `priority` goes on an earlier sheet.
    A filler is laid only where it takes neither a sheet of its own nor an offcut worth keeping; `quantity` is then the
    most that is wanted.
    """

    code: str
    outer: Ring
    holes: tuple[Ring, ...]
    quantity: int
    rotations_deg: tuple[float, ...]
    may_mirror: bool = False
    priority: int = 0
    is_filler: bool = False


@dataclass(frozen=True)
class Clamp:
    """A rectangle of a sheet that nothing may lie in, because the machine holds the sheet there."""

    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float


@dataclass(frozen=True)
class SheetStock:
    """A kind of sheet, or an offcut, that may be cut up.

    `count` None means as many as needed. `price` is for one sheet, in any one currency: only ratios
    between stocks matter; 0 (an offcut already paid for) is used first. An offcut that is no rectangle has an
    `outline`, whose box is length by width with its corner at (0, 0), and `holes` already cut. Clamps may reach over
    the sheet's edge.
    """

    code: str
    length_mm: float
    width_mm: float
    count: int | None
    price: float
    outline: Ring = ()
    holes: tuple[Ring, ...] = ()
    clamps: tuple[Clamp, ...] = ()


@dataclass(frozen=True)
class NestSettings:
    """How to nest.

    `gap_mm` is kept between parts (outlines and holes), `margin_mm` to every sheet edge. `seconds` is the
    time to look for better layouts: a first valid layout is finished even when it takes longer.
    `rest_worth` is what an offcut worth keeping is worth beside a new sheet of its area (from 0 to 1; common practice,
    no source). `fill_target` is the share of a sheet's area first offered to the strip packer when more parts wait.
    """

    gap_mm: float = 5.0
    margin_mm: float = 10.0
    seconds: float = 10.0
    seed: int = 1
    workers: int = 2
    fill_target: float = 0.82
    rest_worth: float = 0.8


@dataclass(frozen=True)
class Placement:
    """One copy of a part on a sheet.

    The part is mirrored first (x becomes −x) when `mirrored`, then rotated counter-clockwise about its
    own origin, then moved by (`x_mm`, `y_mm`). The sheet's lower left corner is (0, 0), its length
    along x. `sheet` counts from 1.
    """

    part: str
    sheet: int
    x_mm: float
    y_mm: float
    rotation_deg: float
    mirrored: bool


@dataclass(frozen=True)
class NestedSheet:
    """One sheet of the nest.

    `used_length_mm` runs from the sheet's left edge to the right-most point of any part. `use` is the net
    area of the parts (holes taken out) divided by the area of the whole sheet, its own holes taken out. Sheets with
    the same `layout` number carry the same placements and can be cut with one program.
    """

    number: int
    stock_code: str
    length_mm: float
    width_mm: float
    used_length_mm: float
    use: float
    layout: int


@dataclass(frozen=True)
class Unplaced:
    """Parts left over, and why, in a sentence."""

    code: str
    quantity: int
    reason: str


@dataclass(frozen=True)
class NestProgress:
    """Where the nest stands: share of the time gone (0 to 1), parts placed, sheets and their use in the best layout
    so far (the last sheet to its used length), the number of sheets no layout can beat, a word on the step."""

    share: float
    placed: int
    wanted: int
    sheets: int
    step: str
    sheet_equivalents: float = 0.0
    use: float = 0.0
    bound_sheets: float = 0.0

    @property
    def words(self) -> str:
        """All of it in one line."""
        if not self.placed:
            return self.step
        return (
            f"{self.step}: {self.placed} of {self.wanted} parts on {self.sheet_equivalents:.2f} sheets, "
            f"use {100 * self.use:.0f} %, bound {self.bound_sheets:.2f}"
        )


@dataclass(frozen=True)
class NestResult:
    """The nest found, already passed by the checker.

    `area_bound_sheets` is the net area of all placed parts divided by the area of the largest sheet used:
    no layout on such sheets can use fewer (part sheets counted as fractions). `stopped` tells that the
    progress callback ended the search. `notes` say, in sentences, where something was done the simple way.
    """

    sheets: tuple[NestedSheet, ...]
    placements: tuple[Placement, ...]
    unplaced: tuple[Unplaced, ...]
    area_bound_sheets: float
    seconds: float
    stopped: bool = False
    notes: tuple[str, ...] = ()

    @property
    def sheet_equivalents(self) -> float:
        """Sheets used, the last one counted only up to its used length (the rest is a clean offcut)."""
        if not self.sheets:
            return 0.0
        last = self.sheets[-1]
        return len(self.sheets) - 1 + last.used_length_mm / last.length_mm
