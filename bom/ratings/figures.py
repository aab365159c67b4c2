"""What the checks of a trailer look at, and how one check is said. Plain data only."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from bom.ratings.rules import ON_AXLES, WITHOUT_DRAWBAR, Rule, Rules

Outcome = Literal["met", "not met", "needs a person"]
MET: Outcome = "met"
NOT_MET: Outcome = "not met"
PERSON: Outcome = "needs a person"

UNBRAKED, BRAKED = "unbraked", "braked"


@dataclass(frozen=True)
class Axle:
    code: str
    capacity_kg: float
    is_braked: bool


@dataclass(frozen=True)
class Wheel:
    code: str
    capacity_kg: float


@dataclass(frozen=True)
class Tyre:
    code: str
    load_index: int
    speed_symbol: str


@dataclass(frozen=True)
class Coupling:
    """A coupling as its maker rates it; none where he does not say. `is_overrun`: it works the brakes."""

    code: str
    s_kg: float | None
    dc_kn: float | None
    max_mass_kg: float | None
    is_overrun: bool


@dataclass(frozen=True)
class Vehicle:
    """The towing vehicle as far as its limits are known; none where they are not."""

    name: str
    max_mass_kg: float | None = None
    unladen_kg: float | None = None
    braked_kg: float | None = None
    unbraked_kg: float | None = None
    nose_kg: float | None = None
    train_kg: float | None = None
    d_kn: float | None = None


@dataclass(frozen=True)
class Figures:
    """Everything the checks look at. Masses in kg, lengths in mm.

    `duties` counts what the trailer carries for each lighting or safety duty, `duties_on_record` names the duties that
    any part at all is on record for (none: all of them). `nose_low_kg` and `nose_high_kg` are the
    least and most nose load with hull mass and centre of gravity a little out.
    """

    model: str
    max_mass_kg: float
    is_braked: bool
    axles: int
    length_mm: float
    drawbar_mm: float
    width_mm: float
    own_kg: float
    hull_kg: float
    gear_kg: float
    nose_kg: float
    nose_low_kg: float
    nose_high_kg: float
    axles_kg: Sequence[float]
    centre_is: str
    axle: Axle | None
    tyre: Tyre | None
    coupling: Coupling | None
    wheel: Wheel | None = None
    wheels_an_axle: int = 2
    vehicle: Vehicle | None = None
    has_board: bool = False
    duties: Mapping[str, int] = field(default_factory=dict)
    duties_on_record: frozenset[str] | None = None

    def is_on_record(self, duty: str) -> bool:
        """Whether somebody has written down which part does this duty; without that its absence says nothing."""
        return self.duties_on_record is None or duty in self.duties_on_record

    @property
    def laden_kg(self) -> float:
        return self.own_kg + self.hull_kg + self.gear_kg

    @property
    def on_axles_kg(self) -> float:
        return sum(self.axles_kg)


@dataclass(frozen=True)
class Check:
    """One rating. `margin` is what is left of the limit as a share of it, none where there is no such figure."""

    code: str
    name: str
    outcome: Outcome
    says: str
    working: str = ""
    margin: float | None = None
    rules: tuple[Rule, ...] = ()
    source: str = ""

    @property
    def is_verified(self) -> bool:
        """Whether every rule it rests on was verified by a person."""
        return all(rule.is_verified for rule in self.rules)

    @property
    def clauses(self) -> str:
        return "; ".join(dict.fromkeys(rule.clause for rule in self.rules if rule.clause)) or self.source


def at_most(
    code: str,
    name: str,
    actual: float,
    limit: float,
    unit: str,
    working: str,
    *,
    rules: Sequence[Rule] = (),
    source: str = "",
    places: int = 0,
) -> Check:
    """A figure that may equal its limit but not pass it."""
    says = f"{actual:.{places}f} {unit} of at most {limit:.{places}f} {unit}"
    outcome = MET if actual <= limit else NOT_MET
    margin = (limit - actual) / limit if limit > 0 else None
    return Check(code, name, outcome, says, working, margin, tuple(rules), source)


def needs_person(code: str, name: str, why: str, rules: Sequence[Rule] = (), source: str = "") -> Check:
    return Check(code, name, PERSON, why, rules=tuple(rules), source=source)


def unruled(code: str, name: str, rules: Rules, subjects: Sequence[str]) -> Check | None:
    missing = rules.missing(subjects)
    if not missing:
        return None
    market = rules.market or "this market"
    return needs_person(code, name, f"No rule of {market} is written down for: {', '.join(missing).lower()}")


def length_by(figures: Figures, goes_by: Rule) -> tuple[float, str]:
    if goes_by.word == WITHOUT_DRAWBAR:
        length = figures.length_mm - figures.drawbar_mm
        return length, f"{figures.length_mm:.0f} − drawbar {figures.drawbar_mm:.0f} = {length:.0f} mm"
    return figures.length_mm, f"{figures.length_mm:.0f} mm, drawbar counted"


def category_mass_kg(figures: Figures, rules: Rules) -> float:
    """The mass that decides the category: the whole maximum mass, or less the nose load where the market says so."""
    rule = rules.get("category_mass")
    goes_by_axles = rule is not None and rule.word == ON_AXLES
    return figures.max_mass_kg - figures.nose_kg if goes_by_axles else figures.max_mass_kg


def without_margin(check: Check) -> Check:
    """A check of the model against its own parts: what is left of it says nothing about this hull."""
    return replace(check, margin=None)
