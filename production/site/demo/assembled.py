"""What assembly brings into being: wheel sets, roller sets, and the trailers themselves."""

from production.site.demo.catalogue import MODELS, Model
from production.site.demo.recipes import Thing, Use, Work, both_hands, coloured

SPARE = "option.spare == 'wheel' ? 1 : 0"
BUNKS, KEEL, SIDES = "option.supports == 'bunks'", "option.supports == 'keel'", "option.supports == 'rollers'"
_ASSEMBLY_MINUTES = {"S": 270, "M": 460, "L": 690}
_LOOM = {"S": "S", "M": "M", "L": "L"}
_ROLLER_SIZE = {"S": "S", "M": "S", "L": "L"}
_KEEL_WIDTH = {"S": 160, "M": 160, "L": 200}


def assembled_things() -> list[Thing]:
    return [*_wheel_sets(), *_roller_sets(), *(_trailer(model) for model in MODELS)]


def _assembled(code: str, name: str, uses: tuple[Use, ...], minutes: float, setup: float = 2) -> Thing:
    return Thing(
        code,
        name,
        group="assembled sets",
        lead_days=1,
        uses=uses,
        works=(Work("assemble", setup, minutes),),
    )


def wheel_set(model: Model) -> str:
    return f"WHS-{model.wheel.removeprefix('WH-')}-{model.tyre.rsplit('-', 1)[1]}"


def _wheel_sets() -> list[Thing]:
    pairs = {wheel_set(model): (model.wheel, model.tyre) for model in MODELS}
    return [
        _assembled(
            code,
            f"wheel set {wheel.removeprefix('WH-')}, load index {tyre.rsplit('-', 1)[1]}",
            (Use(wheel), Use(tyre), Use("VALVE"), Use("WEIGHT-20", "2"), Use("FX-WHEEL")),
            9,
        )
        for code, (wheel, tyre) in sorted(pairs.items())
    ]


def _roller_sets() -> list[Thing]:
    sets = []
    for width, pin in ((160, "PIN-16"), (200, "PIN-20")):
        roller = coloured(f"KEEL-{width}", "colour.port")
        uses = (Use(f"KB-{width}"), roller, Use(pin), Use("FX-KEEL"))
        sets.append(_assembled(f"KA-{width}", f"keel roller {width} mm on its bracket", uses, 6))
    for size in ("S", "L"):
        for side, place in (("P", "port"), ("S", "starboard")):
            name = f"self-aligning roller set, size {size}, {place}"
            sets.append(_assembled(f"SRS-{size}-{side}", name, _side_set(size, place), 24, setup=4))
    return sets


def _side_set(size: str, place: str) -> tuple[Use, ...]:
    return (
        Use(f"SRA-{size}"),
        Use(f"SRK-{size}", "2"),
        coloured("SIDE-120", f"colour.{place}", "8" if size == "S" else "12"),
        Use("PIN-SIDE", "4" if size == "S" else "6"),
        Use("PIVOT-20", "2"),
        Use("BUSH-20", "4"),
        Use("END-CAP-ROLL", "8" if size == "S" else "12"),
        Use("FX-SIDE"),
    )


def _trailer(model: Model) -> Thing:
    uses = (
        *_steel(model),
        *_running_gear(model),
        *(_brakes(model) if model.braked else (Use("CHAIN-SEC"),)),
        *_supports(model),
        *_bow(model),
        *_lights(model),
        *_mudguards(model),
        *_extras(model),
        *_papers(),
    )
    return Thing(
        model.top,
        f"trailer {model.code} {model.name}",
        group="trailers",
        length_mm=model.length_mm,
        width_mm=model.width_mm,
        lead_days=3,
        uses=uses,
        works=(
            Work("assemble", 20, _ASSEMBLY_MINUTES[model.size] + model.max_mass_kg / 40),
            Work("inspect", 5, {"S": 55, "M": 85, "L": 115}[model.size]),
        ),
    )


def _steel(model: Model) -> tuple[Use, ...]:
    size = model.size
    return (
        Use(f"CH-{model.code}"),
        Use(f"DB-{model.code}"),
        Use(f"WP-{size}"),
        Use(f"UB-{size}", "2 * model.axles"),
        Use(f"FX-AXLE-{size}", "model.axles"),
        Use(f"FX-DRAW-{size}"),
        Use(f"FX-POST-{size}"),
        Use("FX-VENT"),
        coloured(
            "POWDER",
            "colour.powder",
            f"{1.1 if size == 'S' else 2.2} * model.axles",
            "finish != 'galvanised'",
        ),
    )


def _running_gear(model: Model) -> tuple[Use, ...]:
    return (
        Use(model.axle, "model.axles"),
        Use(model.coupling),
        Use(wheel_set(model), f"2 * model.axles + ({SPARE})"),
        Use("CAP-HUB-S" if model.size == "S" else "CAP-HUB-L", "2 * model.axles"),
        Use("JW-48", condition="option.jockey == 'plain'"),
        Use("JW-48H", condition="option.jockey == 'heavy'"),
        Use("JW-48P", condition="option.jockey == 'pneumatic'"),
        Use("JW-CLAMP"),
        Use("FX-JOCKEY"),
    )


def _brakes(model: Model) -> tuple[Use, ...]:
    long = model.size == "L"
    return (
        Use("ROD-L" if long else "ROD-M"),
        Use("ROD-S", condition="model.axles == 2"),
        Use("CABLE-BR-L" if long else "CABLE-BR-S", "2 * model.axles"),
        Use("COMP-2" if long else "COMP-1"),
        Use("BREAKAWAY"),
        Use("FX-BRAKE"),
        Use("WASH-KIT", condition="option.wash == 'kit'"),
        Use("WASH-HOSE", "model.axles * 2.5 + 1.5", "option.wash == 'kit'"),
    )


def _supports(model: Model) -> tuple[Use, ...]:
    """Bunks in pairs by hull length; keel rollers by the metre; side sets by the metre and for each side."""
    size, width, side = model.size, _KEEL_WIDTH[model.size], _ROLLER_SIZE[model.size]
    sets = "hull.length_mm > 6000 ? 2 : 1"
    keel_rollers = f"{KEEL} ? ceil(hull.length_mm / 1000) : 2"
    rollers: tuple[Use, ...] = ()
    if size != "S":
        rollers = (Use(f"SRS-{side}-P", sets, SIDES), Use(f"SRS-{side}-S", sets, SIDES))
    return (
        Use(f"BKF-{size}", "hull.length_mm > 4500 ? 4 : 2", BUNKS),
        Use("BOARD-BUNK", "ceil(hull.length_mm * 0.0075) / 5", BUNKS),
        Use("BUNK-END", "4", BUNKS),
        Use("FX-BUNK", "hull.length_mm > 4500 ? 4 : 2", BUNKS),
        Use(f"KA-{width}", keel_rollers),
        coloured("STERN-210", "colour.port", "1", f"{KEEL} || {SIDES}"),
        *rollers,
    )


def _bow(model: Model) -> tuple[Use, ...]:
    return (
        Use("WI-500", condition="option.winch == 'w500'"),
        Use("WI-900", condition="option.winch == 'w900'"),
        Use("WI-1200", condition="option.winch == 'w1200'"),
        Use("WS-6", condition="option.winch == 'w500'"),
        Use("WS-8", condition="option.winch == 'w900'"),
        Use("WS-10", condition="option.winch == 'w1200'"),
        Use("FX-WINCH"),
        Use("BOW-VEE", condition="option.bow_stop == 'vee'"),
        coloured("BOW-75", "colour.port", "1", "option.bow_stop == 'roller'"),
        Use("FX-BOW"),
    )


def _lights(model: Model) -> tuple[Use, ...]:
    size, fixed, sealed = _LOOM[model.size], "option.lights == 'fixed'", "option.lights == 'submersible'"
    board = "option.lights == 'board'"
    return (
        *both_hands("LAMP-FIX", condition=fixed),
        *both_hands("LAMP-SUB", condition=sealed),
        Use(f"LOOM-FIX-{size}", condition=fixed),
        Use(f"LOOM-SUB-{size}", condition=sealed),
        Use("LAMP-PLATE", condition=f"!({board})"),
        Use("LAMP-BOARD", condition=board),
        Use("LOOM-BOARD", condition=board),
        Use("LBF", condition=board),
        Use("FX-BOARD", condition=board),
        Use("LAMP-FRONT", "2", "model.width_mm > 1600"),
        Use("LAMP-OUT", "2", "model.width_mm > 2100"),
        Use("LAMP-SIDE", "2 * ceil(model.length_mm / 3000)", "model.length_mm > 6000"),
        Use("LAMP-REV", "1", "model.max_mass_kg > 750"),
        Use("PLUG-13" if model.braked else "PLUG-7"),
        Use("REFL-TRI", "2"),
        Use("REFL-AMB", "2 * ceil(model.length_mm / 3000)"),
        Use("REFL-WHITE", "2"),
        Use("FX-LIGHT"),
    )


def _mudguards(model: Model) -> tuple[Use, ...]:
    which = {"S": "10", "M": "13", "L": "TW"}[model.size]
    side = _ROLLER_SIZE[model.size]
    plastic, steel = "option.mudguards == 'plastic'", "option.mudguards == 'steel'"
    return (
        Use(f"MG-PL-{which}", "2", plastic),
        Use("FX-MUD", "2 * model.axles", plastic),
        Use(f"MG-ST-{which}", "2", steel),
        *both_hands(f"MS-{side}", "model.axles", steel),
        Use("FX-STEEL-MUD", "2 * model.axles", steel),
    )


def _extras(model: Model) -> tuple[Use, ...]:
    points = "option.tie_downs == 'four' ? 4 : 2"
    poles = "option.guides == 'poles'"
    spare = "option.spare != 'none'"
    return (
        Use("STRAP-TIE", points),
        Use("RING-TIE", points),
        Use("FX-TIE", points),
        Use("SPC", condition=spare),
        Use("CLAMP-SPARE", condition=spare),
        Use("LOCK-SPARE", condition=spare),
        Use("FX-SPARE", condition=spare),
        *both_hands("GP", condition=poles),
        Use("POLE-GUIDE", "2", poles),
        Use("CAP-GUIDE", "2", poles),
        Use("FX-GUIDE", "2", poles),
    )


def _papers() -> tuple[Use, ...]:
    labels = ("LB-PLATE", "LB-MASS", "LB-NOSE", "LB-TYRE", "LB-NUTS", "LB-PROP", "BOOK", "WALLET")
    return (*(Use(label) for label in labels), Use("FX-PLATE"))
