"""The range: trailer models, the questions put to the customer, and the rules between the answers."""

from dataclasses import dataclass, field

GALVANISED, DUPLEX, PAINTED = "galvanised", "duplex", "painted"


@dataclass(frozen=True)
class Model:
    """A model and the bought parts that its size needs. Masses in kg, lengths in mm, price in pounds."""

    code: str
    name: str
    max_mass_kg: int
    size: str
    own_mass_kg: int
    length_mm: int
    width_mm: int
    hulls_mm: tuple[int, int]
    price: int
    axle: str
    coupling: str
    wheel: str
    tyre: str
    axles: int = 1
    finishes: dict[str, int] = field(default_factory=dict)

    @property
    def braked(self) -> bool:
        return self.max_mass_kg > 750

    @property
    def top(self) -> str:
        return f"TR-{self.code}"


_SMALL = {GALVANISED: 0, PAINTED: -40}
_MIDDLE = {GALVANISED: 0, DUPLEX: 420, PAINTED: 60}
_LARGE = {GALVANISED: 0, DUPLEX: 690}

# fmt: off
MODELS = (
    Model("U400", "Sedgewain", 400, "S", 178, 4550, 1560, (2500, 3800), 1790,
          "AX-450", "CP-750", "WH-10-4", "TY-10-75", finishes=_SMALL),
    Model("U500", "Reedwain", 500, "S", 186, 4980, 1600, (3000, 4300), 1890,
          "AX-550", "CP-750", "WH-10-4", "TY-10-75", finishes=_SMALL),
    Model("U750", "Withywain", 750, "S", 206, 5560, 1760, (3600, 5000), 2050,
          "AX-750", "CP-750", "WH-10-4", "TY-10-75", finishes=_SMALL | {DUPLEX: 310}),
    Model("B1000", "Marlwain", 1000, "M", 306, 5980, 1900, (4000, 5500), 2590,
          "AX-1000B", "CP-1300B", "WH-13-4", "TY-13-84", finishes=_MIDDLE),
    Model("B1300", "Thornwain", 1300, "M", 321, 6380, 2000, (4500, 5900), 3090,
          "AX-1300B", "CP-1300B", "WH-13-5", "TY-13-96", finishes=_MIDDLE),
    Model("B1500", "Holmwain", 1500, "M", 361, 6810, 2100, (4800, 6300), 3090,
          "AX-1500B", "CP-1800B", "WH-14-5", "TY-14-104", finishes=_MIDDLE),
    Model("B1800", "Staithwain", 1800, "M", 378, 7120, 2200, (5200, 6700), 3350,
          "AX-1800B", "CP-1800B", "WH-14-5", "TY-14-104", finishes=_MIDDLE),
    Model("T2000", "Brackwain", 2000, "L", 648, 7420, 2260, (5500, 7000), 4650,
          "AX-1000T", "CP-2700B", "WH-13-5", "TY-13-84", 2, finishes=_LARGE),
    Model("T2700", "Kelderwain", 2700, "L", 726, 7990, 2400, (6000, 7800), 5350,
          "AX-1350T", "CP-2700B", "WH-13-5", "TY-13-96", 2, finishes=_LARGE),
    Model("T3500", "Oxwain", 3500, "L", 816, 8660, 2500, (6500, 8500), 6350,
          "AX-1750T", "CP-3500B", "WH-14-5", "TY-14-104", 2, finishes={GALVANISED: 0}),
)
# fmt: on


@dataclass(frozen=True)
class Choice:
    """An answer, its price on a small model, and on which sizes it is offered and standard."""

    code: str
    name: str
    price: int = 0
    sizes: str = "SML"
    standard: str = ""


@dataclass(frozen=True)
class Group:
    code: str
    name: str
    choices: tuple[Choice, ...]


GROUPS = (
    Group(
        "supports",
        "Hull supports",
        (
            Choice("bunks", "covered bunks", 0, standard="S"),
            Choice("keel", "keel rollers on the centre line", 60, "SM"),
            Choice("rollers", "self-aligning roller sets", 240, "ML", "ML"),
        ),
    ),
    Group(
        "winch",
        "Winch",
        (
            Choice("w500", "500 kg", 0, "SM", "S"),
            Choice("w900", "900 kg", 45, "SML", "M"),
            Choice("w1200", "1200 kg, two speeds", 110, "ML", "L"),
        ),
    ),
    Group(
        "jockey",
        "Jockey wheel",
        (
            Choice("plain", "48 mm", 0, "SM", "S"),
            Choice("heavy", "48 mm, heavy", 28, "SML", "ML"),
            Choice("pneumatic", "48 mm, pneumatic tyre", 55),
        ),
    ),
    Group(
        "lights",
        "Lights",
        (
            Choice("fixed", "fixed lamps", 0, standard="SM"),
            Choice("submersible", "submersible lamps", 70, standard="L"),
            Choice("board", "removable light board", 35, "SM"),
        ),
    ),
    Group(
        "spare",
        "Spare wheel",
        (
            Choice("none", "none", 0, standard="SML"),
            Choice("carrier", "carrier only", 38),
            Choice("wheel", "spare wheel on its carrier", 120),
        ),
    ),
    Group(
        "mudguards",
        "Mudguards",
        (Choice("plastic", "plastic", 0, standard="SM"), Choice("steel", "galvanised steel", 48, "SML", "L")),
    ),
    Group(
        "bow_stop",
        "Bow stop",
        (Choice("vee", "vee block", 0, standard="SM"), Choice("roller", "bow roller", 14, standard="L")),
    ),
    Group(
        "tie_downs",
        "Tie-downs",
        (Choice("two", "two points", 0, standard="SM"), Choice("four", "four points", 26, standard="L")),
    ),
    Group(
        "wash",
        "Brake wash kit",
        (Choice("none", "none", 0, standard="SML"), Choice("kit", "wash kit", 130, "ML")),
    ),
    Group(
        "guides",
        "Guide poles",
        (Choice("none", "none", 0, standard="SML"), Choice("poles", "a pair of guide poles", 85)),
    ),
)


@dataclass(frozen=True)
class Rule:
    """Whenever `when` holds `then` must hold; else the order is refused with the sentence."""

    when: str
    then: str
    sentence: str
    model: str = ""


RULES = (
    Rule(
        "option.wash == 'kit'",
        "model.braked",
        "A brake wash kit rinses the brakes, and this model has none.",
    ),
    Rule(
        "hull.mass_kg > 700",
        "option.winch != 'w500'",
        "A 500 kg winch does not haul a hull of more than 700 kg up a slip.",
    ),
    Rule(
        "hull.mass_kg > 1700",
        "option.winch == 'w1200'",
        "A hull of more than 1700 kg needs the winch with two speeds.",
    ),
    Rule(
        "option.supports == 'rollers'",
        "hull.beam_mm >= 1500",
        "Self-aligning roller sets stand too wide for a hull under 1.5 m beam.",
    ),
    Rule(
        "option.supports == 'keel'",
        "colour.port == colour.starboard",
        "Keel rollers stand on the centre line: there is one colour for both sides.",
    ),
    Rule(
        "option.lights == 'board'",
        "model.length_mm <= 7000",
        "A light board is too far from the axle on a trailer over 7 m: choose fixed or submersible lamps.",
    ),
    Rule(
        "option.jockey == 'plain'",
        "model.max_mass_kg <= 1300",
        "The plain jockey wheel carries the nose of trailers up to 1300 kg only.",
    ),
    Rule(
        "hull.length_mm > 6500",
        "option.tie_downs == 'four'",
        "A hull over 6.5 m is tied down at four points.",
    ),
    Rule(
        "option.mudguards == 'steel'",
        "finish != 'painted'",
        "Steel mudguards come galvanised and would not match a painted frame.",
    ),
    Rule(
        "finish == 'painted'",
        "colour.powder != 'white'",
        "White powder on bare steel shows the first rust: choose another colour or the duplex finish.",
    ),
    Rule(
        "option.spare == 'wheel'",
        "option.guides != 'poles' || hull.beam_mm <= 2100",
        "Beside a hull over 2.1 m beam there is no room for guide poles and a spare wheel.",
        model="B1500",
    ),
)


def offers(model: Model, choice: Choice) -> bool:
    return model.size in choice.sizes


def standard_choice(model: Model, group: Group) -> Choice:
    return next(choice for choice in group.choices if model.size in choice.standard)


def price_on(model: Model, choice: Choice) -> int:
    """What the choice adds on this model: half as much again on a middle one, twice on a large one."""
    return round(choice.price * {"S": 1, "M": 1.5, "L": 2}[model.size])
