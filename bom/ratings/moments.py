"""Balance of moments about the coupling. Lengths in mm from the centre of the coupling backwards, masses in kg.

The trailer stands on its coupling and on one axle group. What hangs on the springs is `sprung`; axles and wheels
stand on the ground by themselves and put nothing on the coupling, wherever the axle is.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt


@dataclass(frozen=True)
class Mass:
    """One mass and where its centre of gravity lies behind the coupling."""

    name: str
    kg: float
    at_mm: float


@dataclass(frozen=True)
class Group:
    """The axle group: middle behind the coupling, distance between the axles of a twin set (0 for one axle).

    `shares_equally`: linked springs, each axle carries half. Otherwise each axle has rubber suspension of its own on a
    stiff frame: assumed are equal spring rates, a frame that is level when empty and a coupling held at its height,
    so the frame turns about the coupling and each axle takes load in proportion to its distance from it.
    """

    at_mm: float
    spread_mm: float = 0
    shares_equally: bool = True

    @property
    def acts_at_mm(self) -> float:
        """Where the sum of the axle loads acts: the middle, or `L + s² ÷ 4L` for two axles sprung apart."""
        return self.at_mm if self.shares_equally else self.at_mm + self.spread_mm**2 / (4 * self.at_mm)

    @property
    def shares(self) -> tuple[float, ...]:
        """Each axle's share of the group's load, front axle first."""
        if not self.spread_mm:
            return (1.0,)
        if self.shares_equally:
            return (0.5, 0.5)
        lean = self.spread_mm / (4 * self.at_mm)
        return (0.5 - lean, 0.5 + lean)


def total_kg(masses: Iterable[Mass]) -> float:
    return sum(mass.kg for mass in masses)


def moment_kg_mm(masses: Iterable[Mass]) -> float:
    return sum(mass.kg * mass.at_mm for mass in masses)


def nose_kg(sprung: Iterable[Mass], group: Group) -> float:
    """What the coupling carries: `M − Q ÷ E`. Below zero where the trailer would tip backwards.

    Raises:
        ValueError: an axle that is not behind the coupling.
    """
    masses = tuple(sprung)
    if group.at_mm <= 0:
        raise ValueError("The axle must stand behind the coupling.")
    return total_kg(masses) - moment_kg_mm(masses) / group.acts_at_mm


def axle_for_nose_mm(sprung: Iterable[Mass], wanted_kg: float, group: Group) -> float:
    """Where the middle of the axle group must stand for the wanted nose load: `E = Q ÷ (M − N)`, solved for L.

    `group` gives the spread and the kind of suspension; its own place is not looked at.

    Raises:
        ValueError: a nose load that is not below the sprung mass, or axles too far apart to stand there.
    """
    masses = tuple(sprung)
    carried = total_kg(masses) - wanted_kg
    if carried <= 0:
        raise ValueError("The nose load must be less than what rests on the springs.")
    acts_at = moment_kg_mm(masses) / carried
    if group.shares_equally or not group.spread_mm:
        return acts_at
    if acts_at <= group.spread_mm:
        raise ValueError("The axles are too far apart for this nose load.")
    return (acts_at + sqrt(acts_at**2 - group.spread_mm**2)) / 2


def place_for_nose_mm(others: Iterable[Mass], kg: float, wanted_kg: float, group: Group) -> float:
    """Where the centre of gravity of `kg` must lie for the wanted nose load, the axle staying where it is.

    Raises:
        ValueError: nothing to place.
    """
    if kg <= 0:
        raise ValueError("The mass to place must be above zero.")
    masses = tuple(others)
    wanted_moment = group.acts_at_mm * (total_kg(masses) + kg - wanted_kg)
    return (wanted_moment - moment_kg_mm(masses)) / kg


def two_supports_kg(kg: float, at_mm: float, front_mm: float, rear_mm: float) -> tuple[float, float]:
    """How two supports share a mass that rests on both, front first. Below zero where it would tip off.

    Raises:
        ValueError: both supports at one place.
    """
    if front_mm == rear_mm:
        raise ValueError("Two supports at one place cannot hold a hull.")
    rear = kg * (at_mm - front_mm) / (rear_mm - front_mm)
    return kg - rear, rear


def front_for_share_mm(at_mm: float, rear_mm: float, rear_share: float) -> float:
    """Where the front support must stand so that the rear one carries this share of the mass.

    Raises:
        ValueError: a share that is not between 0 and 1.
    """
    if not 0 < rear_share < 1:
        raise ValueError("The share of the rear support must be between 0 and 1.")
    return (at_mm - rear_share * rear_mm) / (1 - rear_share)
