"""Laser-cut parts: what each is, its steel, and the family of shapes it is drawn from."""

from dataclasses import dataclass
from decimal import ROUND_UP, Decimal

from production.site.demo.drawing import draw
from production.site.demo.recipes import Thing, Use, Work

STEEL_KG_A_M2_MM = 7.85
GRADES = {"S355": (4, 5, 6, 8, 10), "S275": (3, 4, 5, 6)}
SHEET_SIZES = ((2000, 1000), (2500, 1250), (3000, 1500))
USUAL_SHEET = (3000, 1500)
SHEET_USE = 0.75
"""Share of a sheet that becomes parts (common practice, no source); the nests say what it really is."""

STEEL_POUNDS_A_KG = 1.15
# Feed in mm a minute and seconds for a pierce by thickness; common practice, no source.
_FEED = {3: 3800, 4: 3100, 5: 2500, 6: 2100, 8: 1600, 10: 1200}
_PIERCE_SECONDS = {3: 0.6, 4: 0.9, 5: 1.2, 6: 1.5, 8: 2.2, 10: 3.0}
_HANDS = {"L": "left", "R": "right"}


@dataclass(frozen=True)
class Flat:
    """A flat part: length, width and main hole in mm, how often it is folded, whether it has two hands."""

    code: str
    name: str
    grade: str
    thickness: int
    shape: str
    length: int
    width: int
    hole: float = 0
    bends: int = 0
    handed: bool = False


def _sizes(
    code: str, name: str, grade: str, shape: str, rows: str, *, bends: int = 0, handed: bool = False
) -> list[Flat]:
    """Rows "S 6 180x120/13, M …": size, thickness, length × width, hole."""
    found = []
    for row in rows.split(", "):
        size, thickness, measures = row.split(" ")
        outside, _, hole = measures.partition("/")
        length, width = outside.split("x")
        title = f"{name}, size {size}" if size in ("S", "M", "L") else f"{name} {size}"
        found.append(
            Flat(
                f"{code}-{size}",
                title,
                grade,
                int(thickness),
                shape,
                int(length),
                int(width),
                float(hole or 0),
                bends,
                handed,
            )
        )
    return found


CHASSIS = (
    *_sizes(
        "FP-HANG",
        "axle hanger plate",
        "S355",
        "hanger",
        "S 6 180x140/14, M 8 230x170/18, L 10 290x200/22",
        handed=True,
    ),
    *_sizes("FP-HGUS", "hanger gusset", "S355", "gusset", "S 5 80x70, M 6 100x85, L 8 125x105"),
    *_sizes("FP-AXPAD", "axle pad", "S355", "slotted", "S 6 170x80/13, M 8 200x95/17, L 10 240x110/17"),
    *_sizes("FP-XGUS", "cross member gusset", "S275", "gusset", "S 4 70x70, M 5 90x90, L 6 110x110"),
    *_sizes(
        "FP-CAP",
        "end cap",
        "S275",
        "cap",
        "40x40 3 38x38/10, 50x50 3 48x48/14, 60x60 3 58x58/16, 60x40 3 58x38/12, 80x40 3 78x38/14, "
        "80x80 4 78x78/20, 100x50 4 98x48/16, 120x60 4 118x58/20",
    ),
    Flat("FP-LAMPBR", "lamp bracket", "S275", 3, "lamp", 190, 120, 7, bends=1, handed=True),
    Flat("FP-NUMPL", "number plate carrier", "S275", 3, "window", 520, 150, 6.5, bends=2),
    *_sizes("FP-TIE", "tie-down eye", "S355", "eye", "S 8 90x60/22, L 10 110x75/26"),
    *_sizes(
        "FP-MUDBR",
        "mudguard bracket",
        "S275",
        "stay",
        "S 4 260x40/9, M 4 310x45/9, L 5 380x50/11",
        bends=1,
        handed=True,
    ),
    Flat("FP-JACK", "jacking plate", "S355", 8, "plate", 120, 90, 13),
    Flat("FP-VIN", "maker's plate carrier", "S275", 3, "plate", 130, 80, 5),
    Flat("FP-WASHBR", "wash kit bracket", "S275", 3, "plate", 120, 70, 9, bends=1),
    Flat("FP-SIDEMK", "side marker bracket", "S275", 3, "eye", 85, 50, 14),
    Flat("FP-LINK", "twin axle spacer", "S355", 10, "splice", 260, 90, 17),
)
DRAWBAR = (
    *_sizes("FP-COUP", "coupling plate", "S355", "plate", "S 8 190x100/13, M 10 230x110/13, L 10 260x130/15"),
    *_sizes(
        "FP-DSIDE",
        "drawbar cheek",
        "S355",
        "doubler",
        "S 5 210x90/13, M 6 260x110/13, L 8 310x130/15",
        handed=True,
    ),
    *_sizes("FP-DGUS", "drawbar gusset", "S355", "gusset", "S 5 160x90, M 6 220x120, L 8 280x150"),
    *_sizes("FP-JOCK", "jockey wheel plate", "S355", "saddle", "S 6 130x90/48, L 8 150x100/48"),
    Flat("FP-CABLE", "cable guide", "S275", 3, "eye", 45, 30, 14),
    Flat("FP-CHAIN", "chain plate", "S355", 8, "eye", 80, 60, 18),
    Flat("FP-BRKROD", "brake rod guide", "S275", 4, "eye", 70, 45, 14),
    Flat("FP-COMP", "compensator bracket", "S275", 5, "channel", 150, 80, 13, bends=2),
)
WINCH_POST = (
    *_sizes("FP-WBASE", "winch post base", "S355", "plate", "S 6 160x120/13, M 8 190x140/13, L 8 220x160/15"),
    *_sizes(
        "FP-WSIDE",
        "winch post cheek",
        "S355",
        "post side",
        "S 4 220x110/13, M 5 250x120/13, L 6 290x140/15",
        handed=True,
    ),
    *_sizes("FP-WTOP", "winch plate", "S355", "slotted", "S 5 180x110/11, M 6 210x120/11, L 8 240x140/11"),
    *_sizes("FP-WGUS", "winch post gusset", "S275", "gusset", "S 4 90x75, L 6 120x95"),
    Flat("FP-BOWBR", "bow stop bracket", "S275", 5, "bow", 150, 140, 17, handed=True),
    Flat("FP-STRAPG", "strap guide", "S275", 5, "window", 110, 70, 12),
)
KEEL = (
    *_sizes("FP-KRCH", "keel roller cheek", "S275", "arch", "160 5 140x90/17, 200 6 165x105/21", handed=True),
    *_sizes("FP-KRBASE", "keel roller base", "S275", "slotted", "160 5 190x80/13, 200 6 235x90/13"),
)
SIDES = (
    *_sizes("FP-SRROCK", "rocker plate", "S355", "arm", "S 6 320x90/21, L 8 420x110/21"),
    *_sizes("FP-SRPIV", "pivot plate", "S355", "arch", "S 8 110x80/21, L 10 130x95/21"),
    *_sizes("FP-SRFORK", "roller fork", "S275", "fork", "S 5 260x50/17, L 6 300x60/17"),
    *_sizes("FP-SRBASE", "roller arm base", "S355", "plate", "S 6 170x110/13, L 8 200x130/13"),
    Flat("FP-SRRING", "pivot ring", "S355", 5, "washer", 44, 44, 21),
    Flat("FP-SRCLAMP", "arm clamp plate", "S355", 6, "saddle", 120, 80, 42),
)
BUNKS = (
    *_sizes(
        "FP-BKPAD", "bunk pad", "S275", "channel", "S 3 180x110/9, M 3 200x120/9, L 4 230x130/11", bends=2
    ),
    *_sizes("FP-BKGUS", "bunk gusset", "S275", "gusset", "S 3 60x55, L 4 80x70"),
    *_sizes("FP-BKBASE", "bunk base", "S275", "plate", "S 5 130x100/11, L 6 150x120/13"),
    Flat("FP-BKCLIP", "bunk clip", "S275", 3, "plate", 110, 60, 9, bends=1, handed=True),
)
REST = (
    *_sizes("FP-UBOLT", "U-bolt plate", "S355", "clamp", "S 6 120x60/11, M 8 140x70/13, L 10 160x80/13"),
    Flat("FP-WEDGE", "axle wedge", "S355", 8, "gusset", 90, 50),
    Flat("FP-SPPL", "spare wheel plate", "S355", 6, "spare", 240, 240, 112),
    Flat("FP-SPBR", "spare wheel bracket", "S275", 5, "stay", 210, 50, 13),
    Flat("FP-GPBASE", "guide pole base", "S275", 6, "flange", 120, 120, 42),
    Flat("FP-GPBR", "guide pole bracket", "S275", 5, "eye", 180, 70, 42, handed=True),
    Flat("FP-LBBR", "light board bracket", "S275", 3, "plate", 140, 80, 9, bends=1, handed=True),
    *_sizes(
        "FP-MGST", "steel mudguard stay plate", "S275", "bunk", "S 4 120x60/11, L 5 150x70/13", handed=True
    ),
)
FLATS: tuple[Flat, ...] = (*CHASSIS, *DRAWBAR, *WINCH_POST, *KEEL, *SIDES, *BUNKS, *REST)


def sheet_code(grade: str, thickness: int, size: tuple[int, int]) -> str:
    return f"SH-{grade}-{thickness:02d}-{size[0] // 100}{size[1] * 10 // 1000:02d}"


def raw_sheets() -> list[Thing]:
    return [
        Thing(
            sheet_code(grade, thickness, size),
            f"sheet {grade} {thickness} mm, {size[0]} × {size[1]}",
            kind="sheet",
            group="sheets",
            mass_kg=round(size[0] * size[1] * thickness * STEEL_KG_A_M2_MM / 1e6, 3),
            grade=grade,
            thickness_mm=thickness,
            length_mm=size[0],
            width_mm=size[1],
            lead_days=5,
            cost=round(size[0] * size[1] * thickness * STEEL_KG_A_M2_MM / 1e6 * STEEL_POUNDS_A_KG, 2),
            supplier="STEEL",
        )
        for grade, thicknesses in GRADES.items()
        for thickness in thicknesses
        for size in SHEET_SIZES
    ]


def flat_parts() -> list[Thing]:
    """Every laser-cut item: the left hand as drawn, the right hand its mirror image."""
    return [_thing(flat, side) for flat in FLATS for side in (("L", "R") if flat.handed else ("",))]


def _thing(flat: Flat, side: str) -> Thing:
    outline = draw(flat, mirrored=side == "R")
    thickness = flat.thickness
    area_m2 = outline.area_mm2 / 1e6
    mass = round(area_m2 * thickness * STEEL_KG_A_M2_MM, 4)
    sheet_m2 = USUAL_SHEET[0] * USUAL_SHEET[1] / 1e6
    share = Decimal(repr(area_m2 / (sheet_m2 * SHEET_USE))).quantize(Decimal("0.000001"), ROUND_UP)
    minutes = outline.cut_length_mm / _FEED[thickness] + outline.pierces * _PIERCE_SECONDS[thickness] / 60
    folds = (Work("fold", 4, round(0.6 * flat.bends + 0.2, 2)),) if flat.bends else ()
    return Thing(
        f"{flat.code}-{side}" if side else flat.code,
        f"{flat.name}, {_HANDS[side]}" if side else flat.name,
        group="cut parts",
        family=flat.code if side else "",
        hand=side,
        mass_kg=mass,
        surface_m2=round(2 * area_m2 + outline.cut_length_mm * thickness / 1e6, 5),
        grade=flat.grade,
        thickness_mm=thickness,
        length_mm=round(outline.length_mm, 1),
        width_mm=round(outline.width_mm, 1),
        lead_days=2,
        uses=(Use(sheet_code(flat.grade, thickness, USUAL_SHEET), str(share)),),
        works=(Work("laser", 0.2, round(minutes + 0.1, 3), "geometry"), *folds),
        outline=outline,
    )
