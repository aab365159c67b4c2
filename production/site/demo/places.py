"""Where things sit on a trailer of the demonstration: centres of gravity in the trailer's axes.

x behind the coupling's centre, y to the right of the middle plane, z above the road, in mm. The sawn and cut steel
is where its frame puts it; what is bolted on is estimated (common practice, no source), and said to be.
"""

from collections.abc import Callable
from dataclasses import dataclass

from production.site.demo.catalogue import MODELS, Model
from production.site.demo.recipes import Thing, Use
from production.site.demo.sections import FRAMES

TAIL_MM = 120
DRAWN, ESTIMATED = "drawn", "estimated"


@dataclass(frozen=True)
class Spot:
    """A centre of gravity and how it is known."""

    x_mm: float
    y_mm: float
    z_mm: float
    basis: str = ESTIMATED


@dataclass(frozen=True)
class Sheet:
    """The main dimensions of one model that places are measured from, in mm."""

    model: Model

    @property
    def rail(self) -> float:
        return FRAMES[self.model.code][1][0]

    @property
    def drawbar(self) -> float:
        return FRAMES[self.model.code][1][1]

    @property
    def rear(self) -> float:
        return self.model.length_mm - TAIL_MM

    @property
    def front(self) -> float:
        return self.rear - self.rail

    @property
    def axle(self) -> float:
        return self.front + 0.66 * self.rail

    @property
    def post(self) -> float:
        return self.front - 250

    @property
    def wheel(self) -> float:
        return {"S": 250.0, "M": 300.0, "L": 300.0}[self.model.size]

    @property
    def top(self) -> float:
        """Height of the frame's middle."""
        return self.wheel + 180

    @property
    def half_track(self) -> float:
        return self.model.width_mm / 2 - 120

    def along(self, share: float) -> float:
        """So far from the front of the frame to its rear."""
        return self.front + share * self.rail


Placer = Callable[[Sheet], Spot]


def _middle(share: float, up: float = 0, basis: str = ESTIMATED) -> Placer:
    return lambda sheet: Spot(sheet.along(share), 0, sheet.top + up, basis)


def _at_axle(up: float = 0, basis: str = ESTIMATED) -> Placer:
    return lambda sheet: Spot(sheet.axle, 0, sheet.wheel + up, basis)


def _on_drawbar(share: float, up: float = 0, basis: str = ESTIMATED) -> Placer:
    return lambda sheet: Spot(share * sheet.drawbar, 0, sheet.top + up, basis)


def _at_post(up: float) -> Placer:
    return lambda sheet: Spot(sheet.post, 0, sheet.top + up)


def _beside(share: float, up: float) -> Placer:
    """On the right; a left-hand part is mirrored."""
    return lambda sheet: Spot(sheet.along(share), sheet.half_track * 0.6, sheet.top + up)


_ON_CHASSIS: tuple[tuple[tuple[str, ...], Placer], ...] = (
    (("-RAIL", "FP-CAP"), _middle(0.5, basis=DRAWN)),
    (("-XF",), _middle(0.01, basis=DRAWN)),
    (("-XM", "FP-XGUS"), _middle(0.5, basis=DRAWN)),
    (("-XR",), _middle(0.99, basis=DRAWN)),
    (("SW-KEEL",), _middle(0.45, 40, DRAWN)),
    (("HB-", "FP-LINK", "FP-MUDBR", "FP-WASHBR"), _at_axle(130, DRAWN)),
    (("FP-LAMPBR", "FP-NUMPL"), _middle(1.0, -60, DRAWN)),
    (("FP-JACK",), _middle(0.6, -40, DRAWN)),
    (("FP-VIN",), _middle(0.05, basis=DRAWN)),
    (("FP-TIE", "FP-SIDEMK"), _middle(0.5, basis=DRAWN)),
)
_ON_DRAWBAR: tuple[tuple[tuple[str, ...], Placer], ...] = (
    (("-DRAW", "FP-CABLE"), _on_drawbar(0.5, basis=DRAWN)),
    (("DH-",), _on_drawbar(0.06, basis=DRAWN)),
    (("FP-DGUS",), _on_drawbar(0.95, basis=DRAWN)),
    (("FP-JOCK",), _on_drawbar(0.2, basis=DRAWN)),
    (("FP-BRKROD", "FP-COMP"), _on_drawbar(0.9, -40, DRAWN)),
)
_ON_TRAILER: tuple[tuple[tuple[str, ...], Placer], ...] = (
    (("WP-", "FX-POST"), _at_post(300)),
    (("WI-", "WS-", "FX-WINCH"), _at_post(560)),
    (("BOW-", "FX-BOW"), _at_post(760)),
    (("UB-", "FX-AXLE", "CABLE-BR"), _at_axle(60)),
    (("AX-", "WHS-", "CAP-HUB"), _at_axle()),
    (("MG-", "FX-MUD", "FX-STEEL", "MS-"), _at_axle(330)),
    (("ROD-", "BREAKAWAY", "FX-BRAKE", "FX-DRAW"), _on_drawbar(0.8, -40)),
    (("COMP-", "WASH-"), _middle(0.55, -40)),
    (("CP-", "CHAIN-SEC", "PLUG-"), _on_drawbar(0.03)),
    (("JW-", "FX-JOCKEY"), _on_drawbar(0.2)),
    (("BKF-", "BOARD-BUNK", "BUNK-END", "FX-BUNK"), _middle(0.6, 260)),
    (("KA-",), _middle(0.5, 120)),
    (("STERN-",), _middle(1.0, 100)),
    (("SRS-",), _beside(0.7, 250)),
    (("LAMP-FRONT", "REFL-WHITE"), _middle(0.0)),
    (("LAMP-SIDE", "REFL-AMB", "LOOM-FIX", "LOOM-SUB", "FX-LIGHT", "FX-VENT"), _middle(0.5)),
    (("LAMP-FIX", "LAMP-SUB"), _beside(1.0, -60)),
    (("LAMP-", "LOOM-BOARD", "LBF", "FX-BOARD", "REFL-TRI"), _middle(1.02, -60)),
    (("STRAP-TIE", "RING-TIE", "FX-TIE", "POWDER"), _middle(0.5)),
    (("SPC", "CLAMP-SPARE", "LOCK-SPARE", "FX-SPARE"), _on_drawbar(0.75, 250)),
    (("GP", "POLE-GUIDE", "CAP-GUIDE", "FX-GUIDE"), _middle(0.93, 500)),
    (("LB-", "BOOK", "WALLET", "FX-PLATE"), _middle(0.05)),
)
_BILLS = {"TR-": _ON_TRAILER, "CH-": _ON_CHASSIS, "DB-": _ON_DRAWBAR}
_SHEETS = {model.code: Sheet(model) for model in MODELS}


def spot_of(thing: Thing, use: Use) -> Spot | None:
    """Where a line of this thing's bill has its centre; None where nothing is known about it."""
    rules, sheet = _BILLS.get(thing.code[:3]), _SHEETS.get(thing.code[3:])
    if rules is None or sheet is None:
        return None
    for names, placer in rules:
        if any(use.code.startswith(name) or (name[0] == "-" and name in use.code) for name in names):
            return _by_hand(use, placer(sheet))
    return None


def _by_hand(use: Use, spot: Spot) -> Spot:
    """What is on one side only: left-hand parts and port sets are mirrored to the left."""
    is_left = use.hand_of == "'L'" or use.code.endswith("-P")
    is_right = use.hand_of == "'R'" or (use.code.startswith("SRS-") and not is_left)
    if is_left:
        return Spot(spot.x_mm, -(spot.y_mm or 300), spot.z_mm, spot.basis)
    return Spot(spot.x_mm, spot.y_mm or 300, spot.z_mm, spot.basis) if is_right else spot
