"""The set-up as a side view to scale, with dimensions: plain data in, plain data out, millimetres; a template draws it.

x goes backwards from the coupling, y down from the level of the hull's keel line. Everything is drawn at its true
distance along the trailer; heights are only for the picture and carry no dimensions.
"""

from dataclasses import dataclass

from bom.ratings.frame import SetUp

ROW_MM = 250.0
TEXT_MM = 118.0
FRAME_Y = 420.0
WHEEL_Y = 640.0
WHEEL_R = 300.0
GROUND_Y = WHEEL_Y + WHEEL_R
FIRST_ROW_Y = GROUND_Y + 660.0
MARGIN_MM = 420.0
SCALE_BAR_MM = 1000.0


@dataclass(frozen=True)
class Dimension:
    """A dimension line between two places on the trailer; `y` is its own level, `words` stand above its middle."""

    from_mm: float
    to_mm: float
    y: float
    words: str

    @property
    def middle_mm(self) -> float:
        return (self.from_mm + self.to_mm) / 2

    @property
    def word_y(self) -> float:
        return self.y - 35

    @property
    def top_y(self) -> float:
        return FRAME_Y + 60

    @property
    def foot_y(self) -> float:
        return self.y + 60


@dataclass(frozen=True)
class Load:
    """A force on the ground or on the coupling: where it acts, and its words."""

    at_mm: float
    words: str
    y: float = GROUND_Y + 20

    @property
    def foot_y(self) -> float:
        return self.y + 250

    @property
    def word_y(self) -> float:
        return self.foot_y + 110


@dataclass(frozen=True)
class SideView:
    """Everything the template draws."""

    view_box: str
    rear_mm: float
    drawbar_mm: float
    axles_mm: tuple[float, ...]
    slot_from_mm: float
    slot_to_mm: float
    post_mm: float
    post_top_y: float
    hull_path: str
    keel_y: float
    deck_y: float
    centre_mm: float
    body_centre_mm: float
    supports: tuple[tuple[float, float], ...]
    dimensions: tuple[Dimension, ...]
    loads: tuple[Load, ...]
    frame_y: float = FRAME_Y
    wheel_y: float = WHEEL_Y
    wheel_r: float = WHEEL_R
    ground_y: float = GROUND_Y
    text_mm: float = TEXT_MM
    bar_mm: float = SCALE_BAR_MM

    @property
    def slot_y(self) -> float:
        return self.frame_y + 55

    @property
    def centre_y(self) -> float:
        return self.deck_y * 0.42

    @property
    def bar_y(self) -> float:
        return max(dimension.y for dimension in self.dimensions) + 260


def side_view(found: SetUp, length_mm: float, drawbar_mm: float) -> SideView:
    """The drawing of a set-up on a trailer `length_mm` long from the coupling to its rear end."""
    axles = _axles(found)
    depth = max(500.0, found.hull.length_mm * 0.16)
    rear = max(length_mm, found.transom_mm + 120)
    dimensions = _dimensions(found, length_mm)
    foot = dimensions[-1].y + 420
    top = -depth - 260
    return SideView(
        view_box=f"{-MARGIN_MM:g} {top:g} {rear + 2 * MARGIN_MM:g} {foot - top:g}",
        rear_mm=length_mm,
        drawbar_mm=drawbar_mm,
        axles_mm=axles,
        slot_from_mm=found.frame.axle_from_mm,
        slot_to_mm=found.frame.axle_to_mm,
        post_mm=found.post_mm,
        post_top_y=-depth * 0.55,
        hull_path=_hull(found, depth),
        keel_y=0.0,
        deck_y=-depth,
        centre_mm=found.hull_at_mm,
        body_centre_mm=found.frame.body_at_mm,
        supports=tuple((place, 0.0) for place in found.supports_mm),
        dimensions=dimensions,
        loads=_loads(found, axles),
    )


def _axles(found: SetUp) -> tuple[float, ...]:
    half = found.frame.spread_mm / 2
    return (found.axle_mm - half, found.axle_mm + half) if half else (found.axle_mm,)


def _hull(found: SetUp, depth: float) -> str:
    """A plain sheer profile: stem raked to the bow, flat run to the transom."""
    bow, transom = found.bow_mm, found.transom_mm
    entry = bow + found.hull.bow_to_transom_mm * 0.22
    return (
        f"M{transom:.0f} 0 L{entry:.0f} 0 Q{bow + 60:.0f} {-depth * 0.1:.0f} {bow:.0f} {-depth:.0f} "
        f"L{transom:.0f} {-depth * 0.86:.0f} Z"
    )


def _dimensions(found: SetUp, length_mm: float) -> tuple[Dimension, ...]:
    rows = (
        (0.0, found.post_mm, "winch post"),
        (0.0, found.front_support_mm, "front support"),
        (0.0, found.axle_mm, "axle" if not found.frame.spread_mm else "middle of the axles"),
        (0.0, found.frame.rear_support_mm, "rear support"),
        (0.0, found.transom_mm, "transom"),
        (0.0, length_mm, "rear end"),
    )
    return tuple(
        Dimension(start, end, FIRST_ROW_Y + row * ROW_MM, f"{end - start:.0f} {name}")
        for row, (start, end, name) in enumerate(sorted(rows, key=lambda one: one[1]))
    )


def _loads(found: SetUp, axles: tuple[float, ...]) -> tuple[Load, ...]:
    nose = Load(0.0, f"{found.nose_kg:.0f} kg")
    return (nose, *(Load(at, f"{kg:.0f} kg") for at, kg in zip(axles, found.axles_kg, strict=True)))
