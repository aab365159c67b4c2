"""The words in which the demonstration workshop is written down: one thing, what it takes, the work on it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

SIZES = ("S", "M", "L")


@dataclass(frozen=True)
class Use:
    """A bill line: so many of an item, or of the member of a family that colour and hand pick."""

    code: str
    quantity: str = "1"
    condition: str = ""
    colour_of: str = ""
    hand_of: str = ""
    of_family: bool = False

    @property
    def plain_quantity(self) -> Decimal:
        """The quantity where it is a bare number that always applies, else nothing."""
        if self.condition:
            return Decimal(0)
        try:
            return Decimal(self.quantity)
        except InvalidOperation:
            return Decimal(0)


def hand(family: str, side: str, quantity: str = "1", condition: str = "") -> Use:
    """The left (L) or right (R) member of a family."""
    return Use(family, quantity, condition, hand_of=f"'{side}'", of_family=True)


def both_hands(family: str, quantity: str = "1", condition: str = "") -> tuple[Use, Use]:
    return hand(family, "L", quantity, condition), hand(family, "R", quantity, condition)


def coloured(family: str, colour_of: str, quantity: str = "1", condition: str = "") -> Use:
    """The member of a family in the colour that the order asks for at a place."""
    return Use(family, quantity, condition, colour_of=colour_of, of_family=True)


@dataclass(frozen=True)
class Work:
    """An operation: minutes once a lot and minutes a piece."""

    process: str
    setup: float = 0
    run: float = 0
    basis: str = "standard"


@dataclass(frozen=True)
class Outline:
    """The flat shape of a laser-cut item as it is stored: contours as text, and the figures from them."""

    contours: tuple[str, ...]
    area_mm2: float
    cut_length_mm: float
    pierces: int
    length_mm: float
    width_mm: float
    bends: int = 0
    may_mirror: bool = False


@dataclass(frozen=True)
class Thing:
    """One item with everything the demonstration knows of it. Masses in kg, lengths in mm, cost in pounds."""

    code: str
    name: str
    kind: str = "made"
    unit: str = "pc"
    group: str = ""
    family: str = ""
    colour: str = ""
    hand: str = ""
    mass_kg: float = 0
    surface_m2: float = 0
    grade: str = ""
    thickness_mm: float | None = None
    length_mm: float | None = None
    width_mm: float | None = None
    is_hollow: bool = False
    is_phantom: bool = False
    lead_days: int = 0
    lot_rule: str = "as_needed"
    lot_size: float = 0
    tracking: str = "none"
    cost: float = 0
    supplier: str = ""
    uses: tuple[Use, ...] = ()
    works: tuple[Work, ...] = ()
    outline: Outline | None = None

    @property
    def is_stocked(self) -> bool:
        """Bought from outside, so it has a supplier, a shelf and a history."""
        return self.kind != "made"


@dataclass(frozen=True)
class Rolled:
    """What a made thing weighs and how much surface it has, with all its parts that always apply."""

    mass_kg: Decimal
    surface_m2: Decimal


@dataclass
class RollUp:
    """Masses and surfaces of made things from their parts, each worked out once."""

    things: Mapping[str, Thing]
    families: Mapping[str, Thing]
    known: dict[str, Rolled] = field(default_factory=dict)

    def of(self, code: str) -> Rolled:
        if code not in self.known:
            self.known[code] = self._work_out(self.things[code])
        return self.known[code]

    def _work_out(self, thing: Thing) -> Rolled:
        if thing.mass_kg or thing.kind != "made":
            return Rolled(exact(thing.mass_kg, 4), exact(thing.surface_m2, 5))
        mass, surface = Decimal(0), Decimal(0)
        for use in thing.uses:
            part = self.of(self.families[use.code].code if use.of_family else use.code)
            mass += part.mass_kg * use.plain_quantity
            surface += part.surface_m2 * use.plain_quantity
        return Rolled(mass, surface)


def exact(value: float | Decimal, places: int) -> Decimal:
    """A figure as a Decimal with so many places, the same on every machine."""
    return round(Decimal(repr(value)) if isinstance(value, float) else Decimal(value), places)


def by_code(things: Iterable[Thing]) -> dict[str, Thing]:
    return {thing.code: thing for thing in things}
