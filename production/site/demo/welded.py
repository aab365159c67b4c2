"""Welded assemblies: hangers, coupling heads, drawbars, frames, winch posts, supports.

Welding minutes are common practice, no source: tack, weld, turn and dress in the jig.
"""

from production.site.demo.catalogue import MODELS, Model
from production.site.demo.recipes import SIZES, Thing, Use, Work, both_hands, hand
from production.site.demo.sections import FRAMES

FOUR_POINTS = "option.tie_downs == 'four'"
_FRAME_MINUTES = {"S": 200, "M": 345, "L": 520}
_ROLLER_SIZE = {"S": "S", "M": "S", "L": "L"}


def _welded(
    code: str,
    name: str,
    uses: tuple[Use, ...],
    minutes: float,
    *,
    setup: float = 6,
    coated: bool = False,
    family: str = "",
    side: str = "",
    length_mm: float | None = None,
    hollow: bool = False,
) -> Thing:
    works = [Work("weld", setup, minutes)]
    if coated:
        works += [Work("galvanise", 0, round(minutes / 40, 1)), Work("powder", 2, round(8 + minutes / 12, 1))]
    return Thing(
        code,
        name,
        group="welded work",
        family=family,
        hand=side,
        length_mm=length_mm,
        is_hollow=hollow,
        lead_days=3,
        uses=uses,
        works=tuple(works),
    )


def welded_things() -> list[Thing]:
    return [
        *(thing for size in SIZES for thing in (*_hangers(size), _head(size), _post(size), _clamp(size))),
        *(thing for size in SIZES for thing in (_bunk(size),)),
        *(thing for model in MODELS for thing in (_drawbar(model), _frame(model))),
        *(thing for size in ("S", "L") for thing in (_arm(size), _rocker(size), *_steel_stays(size))),
        *(_keel_bracket(width) for width in (160, 200)),
        _spare(),
        *(_guide(side) for side in "LR"),
        _board(),
    ]


def _hangers(size: str) -> list[Thing]:
    return [
        _welded(
            f"HB-{size}-{side}",
            f"axle hanger, size {size}, {'left' if side == 'L' else 'right'}",
            (hand(f"FP-HANG-{size}", side), Use(f"FP-HGUS-{size}", "2"), Use(f"FP-AXPAD-{size}")),
            {"S": 11, "M": 15, "L": 20}[size],
            family=f"HB-{size}",
            side=side,
        )
        for side in "LR"
    ]


def _head(size: str) -> Thing:
    uses = (Use(f"FP-COUP-{size}"), *both_hands(f"FP-DSIDE-{size}"), Use("FP-CHAIN"))
    return _welded(f"DH-{size}", f"coupling head, size {size}", uses, {"S": 14, "M": 22, "L": 28}[size])


def _drawbar(model: Model) -> Thing:
    """One tube on a small trailer, two in an A on the others."""
    size, tubes = model.size, "1" if model.size == "S" else "2"
    brakes = (Use("FP-BRKROD", "2"), Use("FP-COMP")) if model.braked else ()
    uses = (
        Use(f"SW-{model.code}-DRAW", tubes),
        Use(f"DH-{size}"),
        Use(f"FP-DGUS-{size}", "2"),
        Use(f"FP-JOCK-{_ROLLER_SIZE[size]}"),
        Use("FP-CABLE", "4"),
        *brakes,
    )
    return _welded(
        f"DB-{model.code}",
        f"drawbar {model.code}",
        uses,
        {"S": 45, "M": 75, "L": 105}[size],
        setup=12,
        coated=True,
        length_mm=FRAMES[model.code][1][1] + 180,
        hollow=True,
    )


def _frame(model: Model) -> Thing:
    size, code = model.size, model.code
    middles = {"S": 1, "M": 2, "L": 3}[size]
    cap = FRAMES[code][0][0].removeprefix("RHS-").rsplit("x", 1)[0]
    uses = (
        Use(f"SW-{code}-RAIL", "2"),
        Use(f"SW-{code}-XF"),
        Use(f"SW-{code}-XM", str(middles)),
        Use(f"SW-{code}-XR"),
        Use(f"SW-KEEL-{size}"),
        *both_hands(f"HB-{size}", "model.axles"),
        Use(f"FP-XGUS-{size}", str(4 + 2 * middles)),
        Use(f"FP-CAP-{cap}", "4"),
        *both_hands("FP-LAMPBR", condition="option.lights != 'board'"),
        Use("FP-NUMPL", condition="option.lights != 'board'"),
        Use(f"FP-TIE-{_ROLLER_SIZE[size]}", f"{FOUR_POINTS} ? 4 : 2"),
        *both_hands(f"FP-MUDBR-{size}", "model.axles", "option.mudguards == 'plastic'"),
        Use("FP-JACK", "2"),
        Use("FP-VIN"),
        Use("FP-WASHBR", condition="option.wash == 'kit'"),
        Use("FP-SIDEMK", "2 * ceil(hull.length_mm / 3000)"),
        Use("FP-LINK", "2", "model.axles == 2"),
    )
    return _welded(
        f"CH-{code}",
        f"chassis {code}",
        uses,
        _FRAME_MINUTES[size] + model.max_mass_kg / 25,
        setup=25,
        coated=True,
        length_mm=FRAMES[code][1][0],
        hollow=True,
    )


def _post(size: str) -> Thing:
    uses = (
        Use(f"SW-POST-{size}"),
        Use(f"SW-FOOT-{size}"),
        Use(f"FP-WBASE-{size}"),
        *both_hands(f"FP-WSIDE-{size}"),
        Use(f"FP-WTOP-{size}"),
        Use(f"FP-WGUS-{_ROLLER_SIZE[size]}", "2"),
        *both_hands("FP-BOWBR"),
        Use("FP-STRAPG"),
    )
    minutes = {"S": 32, "M": 42, "L": 55}[size]
    return _welded(f"WP-{size}", f"winch post, size {size}", uses, minutes, coated=True, hollow=True)


def _clamp(size: str) -> Thing:
    uses = (Use(f"FP-UBOLT-{size}", "2"), Use("FP-WEDGE"))
    return _welded(f"UB-{size}", f"axle clamp, size {size}", uses, 5, setup=2, coated=True)


def _bunk(size: str) -> Thing:
    gusset = _ROLLER_SIZE[size]
    uses = (
        Use(f"SW-BKUP-{size}", "2"),
        Use(f"SW-BKTOP-{size}"),
        Use(f"FP-BKPAD-{size}", "2"),
        Use(f"FP-BKGUS-{gusset}", "4"),
        Use(f"FP-BKBASE-{gusset}", "2"),
        *both_hands("FP-BKCLIP"),
        Use(f"FP-CAP-{'50x50' if size == 'L' else '40x40'}", "2"),
    )
    minutes = {"S": 26, "M": 32, "L": 40}[size]
    return _welded(f"BKF-{size}", f"bunk frame, size {size}", uses, minutes, coated=True, hollow=True)


def _arm(size: str) -> Thing:
    uses = (
        Use(f"SW-ARM-{size}"),
        Use(f"SW-ARMUP-{size}"),
        Use(f"FP-SRPIV-{size}", "2"),
        Use(f"FP-SRBASE-{size}"),
        Use("FP-SRCLAMP", "2"),
        Use(f"FP-CAP-{'50x50' if size == 'S' else '60x60'}", "2"),
    )
    minutes = {"S": 25, "L": 32}[size]
    return _welded(f"SRA-{size}", f"side roller arm, size {size}", uses, minutes, coated=True, hollow=True)


def _rocker(size: str) -> Thing:
    uses = (Use(f"FP-SRROCK-{size}", "2"), Use("FP-SRRING", "2"), Use(f"FP-SRFORK-{size}", "2"))
    return _welded(
        f"SRK-{size}", f"side roller rocker, size {size}", uses, {"S": 14, "L": 18}[size], coated=True
    )


def _keel_bracket(width: int) -> Thing:
    uses = (*both_hands(f"FP-KRCH-{width}"), Use(f"FP-KRBASE-{width}"))
    return _welded(f"KB-{width}", f"keel roller bracket {width} mm", uses, 9, setup=3, coated=True)


def _steel_stays(size: str) -> list[Thing]:
    return [
        _welded(
            f"MS-{size}-{side}",
            f"steel mudguard stay, size {size}, {'left' if side == 'L' else 'right'}",
            (Use(f"SW-STAY-{size}", "2"), hand(f"FP-MGST-{size}", side, "2")),
            12,
            setup=3,
            coated=True,
            family=f"MS-{size}",
            side=side,
        )
        for side in "LR"
    ]


def _spare() -> Thing:
    uses = (Use("SW-SPARE"), Use("FP-SPPL"), Use("FP-SPBR", "2"), Use("FP-CAP-40x40", "2"))
    return _welded("SPC", "spare wheel carrier", uses, 18, setup=4, coated=True, hollow=True)


def _guide(side: str) -> Thing:
    uses = (Use("SW-GUIDE"), Use("FP-GPBASE"), hand("FP-GPBR", side), Use("FP-CAP-40x40"))
    name = f"guide pole bracket, {'left' if side == 'L' else 'right'}"
    return _welded(f"GP-{side}", name, uses, 14, setup=3, coated=True, family="GP", side=side, hollow=True)


def _board() -> Thing:
    uses = (Use("SW-BOARD"), *both_hands("FP-LBBR"))
    return _welded("LBF", "light board carrier", uses, 12, setup=3, coated=True)
