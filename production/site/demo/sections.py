"""Hollow sections in bars, and the parts sawn from them.

Masses and surfaces per metre follow from the dimensions: cold formed hollow sections to EN 10219-2, flats to
EN 10058 (`bom.geometry.sections`).
"""

from dataclasses import dataclass
from functools import cached_property

from bom.geometry.sections import COLD, FLAT, Profile, figures, table_mass_kg_m
from production.site.demo.recipes import Thing, Use, Work

STEEL_POUNDS_A_KG = 1.35
SHORT_BAR_M, LONG_BAR_M = 6.0, 7.5


@dataclass(frozen=True)
class Section:
    """A raw section: height, breadth and wall in mm, the bar it is bought in."""

    height: int
    breadth: int
    wall: int
    bar_m: float = SHORT_BAR_M
    is_hollow: bool = True

    @property
    def code(self) -> str:
        if self.is_hollow:
            return f"RHS-{self.height}x{self.breadth}x{self.wall}"
        return f"FLAT-{self.height}x{self.wall}"

    @cached_property
    def profile(self) -> Profile:
        return Profile(COLD if self.is_hollow else FLAT, self.height, self.breadth, self.wall)

    @cached_property
    def kg_a_metre(self) -> float:
        return table_mass_kg_m(self.profile)

    @cached_property
    def surface_m2_a_metre(self) -> float:
        return figures(self.profile).surface_m2_m


SECTIONS = (
    Section(40, 40, 3),
    Section(50, 50, 3),
    Section(60, 60, 3),
    Section(60, 60, 4),
    Section(60, 40, 3),
    Section(80, 40, 3, LONG_BAR_M),
    Section(80, 40, 4, LONG_BAR_M),
    Section(80, 80, 4, LONG_BAR_M),
    Section(100, 50, 3, LONG_BAR_M),
    Section(100, 50, 4, LONG_BAR_M),
    Section(120, 60, 4, LONG_BAR_M),
    Section(40, 0, 5, is_hollow=False),
    Section(50, 0, 6, is_hollow=False),
    Section(60, 0, 6, is_hollow=False),
)
SECTION_OF = {section.code: section for section in SECTIONS}

# What the frame of each model is sawn from: rails, drawbar, cross members; then the lengths in mm.
# model: (rail, drawbar, cross), (rail, drawbar, front, middle, rear)
FRAMES: dict[str, tuple[tuple[str, str, str], tuple[int, int, int, int, int]]] = {
    "U400": (("RHS-60x40x3", "RHS-60x60x3", "RHS-40x40x3"), (2650, 2050, 640, 900, 1060)),
    "U500": (("RHS-60x40x3", "RHS-60x60x3", "RHS-40x40x3"), (2950, 2200, 680, 940, 1100)),
    "U750": (("RHS-60x40x3", "RHS-60x60x4", "RHS-50x50x3"), (3450, 2350, 720, 1020, 1220)),
    "B1000": (("RHS-80x40x3", "RHS-80x40x3", "RHS-60x40x3"), (3900, 2150, 780, 1120, 1340)),
    "B1300": (("RHS-80x40x3", "RHS-80x40x3", "RHS-60x40x3"), (4250, 2240, 800, 1180, 1400)),
    "B1500": (("RHS-80x40x4", "RHS-80x40x4", "RHS-60x60x3"), (4600, 2320, 840, 1240, 1460)),
    "B1800": (("RHS-80x40x4", "RHS-80x40x4", "RHS-60x60x3"), (4850, 2400, 860, 1300, 1520)),
    "T2000": (("RHS-100x50x3", "RHS-100x50x3", "RHS-60x60x4"), (5100, 2450, 900, 1340, 1560)),
    "T2700": (("RHS-100x50x4", "RHS-100x50x4", "RHS-80x80x4"), (5600, 2550, 940, 1420, 1640)),
    "T3500": (("RHS-120x60x4", "RHS-120x60x4", "RHS-80x80x4"), (6200, 2700, 980, 1500, 1720)),
}
_FRAME_PARTS = (
    ("RAIL", "side rail", 0),
    ("DRAW", "drawbar tube", 1),
    ("XF", "front cross member", 2),
    ("XM", "middle cross member", 2),
    ("XR", "rear cross member", 2),
)

# Sawn parts that several models share: code, name, section, length in mm.
SHARED: tuple[tuple[str, str, str, int], ...] = (
    ("SW-KEEL-S", "keel beam, small", "RHS-60x40x3", 1900),
    ("SW-KEEL-M", "keel beam, middle", "RHS-80x40x3", 2900),
    ("SW-KEEL-L", "keel beam, large", "RHS-100x50x3", 3800),
    ("SW-POST-S", "winch post tube, small", "RHS-50x50x3", 620),
    ("SW-POST-M", "winch post tube, middle", "RHS-60x60x3", 740),
    ("SW-POST-L", "winch post tube, large", "RHS-80x80x4", 860),
    ("SW-FOOT-S", "winch post foot, small", "RHS-60x60x3", 210),
    ("SW-FOOT-M", "winch post foot, middle", "RHS-80x80x4", 240),
    ("SW-FOOT-L", "winch post foot, large", "RHS-100x50x4", 280),
    ("SW-BKUP-S", "bunk upright, small", "RHS-40x40x3", 310),
    ("SW-BKUP-M", "bunk upright, middle", "RHS-40x40x3", 380),
    ("SW-BKUP-L", "bunk upright, large", "RHS-50x50x3", 460),
    ("SW-BKTOP-S", "bunk top rail, small", "RHS-40x40x3", 640),
    ("SW-BKTOP-M", "bunk top rail, middle", "RHS-40x40x3", 820),
    ("SW-BKTOP-L", "bunk top rail, large", "RHS-50x50x3", 1040),
    ("SW-ARM-S", "side roller arm tube, small", "RHS-50x50x3", 540),
    ("SW-ARM-L", "side roller arm tube, large", "RHS-60x60x4", 700),
    ("SW-ARMUP-S", "side roller upright, small", "RHS-40x40x3", 330),
    ("SW-ARMUP-L", "side roller upright, large", "RHS-50x50x3", 420),
    ("SW-GUIDE", "guide pole upright", "RHS-40x40x3", 900),
    ("SW-SPARE", "spare wheel arm", "RHS-40x40x3", 420),
    ("SW-BOARD", "light board carrier", "FLAT-40x5", 1450),
    ("SW-STAY-S", "mudguard stay, small", "FLAT-50x6", 330),
    ("SW-STAY-L", "mudguard stay, large", "FLAT-60x6", 470),
)


def raw_sections() -> list[Thing]:
    return [
        Thing(
            section.code,
            f"{'hollow section' if section.is_hollow else 'flat bar'} {section.code.split('-')[1]}",
            kind="section",
            unit="m",
            group="sections",
            mass_kg=section.kg_a_metre,
            surface_m2=round(section.surface_m2_a_metre, 5),
            grade="S355" if section.is_hollow else "S275",
            thickness_mm=section.wall,
            is_hollow=section.is_hollow,
            lead_days=6,
            lot_rule="multiple",
            lot_size=section.bar_m,
            cost=round(section.kg_a_metre * STEEL_POUNDS_A_KG, 2),
            supplier="STEEL",
        )
        for section in SECTIONS
    ]


def sawn_parts() -> list[Thing]:
    """Every part that the saw makes: the frame of each model and what the models share."""
    frames = [
        _sawn(f"SW-{model}-{code}", f"{name} {model}", sections[which], lengths[number])
        for model, (sections, lengths) in FRAMES.items()
        for number, (code, name, which) in enumerate(_FRAME_PARTS)
    ]
    return frames + [_sawn(*row) for row in SHARED]


def _sawn(code: str, name: str, section_code: str, length_mm: int) -> Thing:
    section = SECTION_OF[section_code]
    metres = length_mm / 1000
    return Thing(
        code,
        name,
        group="sawn parts",
        mass_kg=round(section.kg_a_metre * metres, 4),
        surface_m2=round(section.surface_m2_a_metre * metres, 5),
        grade="S355" if section.is_hollow else "S275",
        thickness_mm=section.wall,
        length_mm=length_mm,
        is_hollow=section.is_hollow,
        lead_days=2,
        uses=(Use(section_code, f"{metres:.3f}"),),
        works=(Work("saw", 1.5, round(2 + section.height / 40 + metres / 2, 2)),),
    )
