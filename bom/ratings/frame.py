"""What a set-up is worked out from and what it answers. Plain data; lengths in mm behind the coupling, masses in kg."""

from dataclasses import dataclass

from bom.ratings.moments import Group


@dataclass(frozen=True)
class HullFigures:
    """The hull; `centre_mm` and `gear_at_mm` forward from the transom. `centre_is` says how the centre is known:
    "measured", "estimated" or "assumed"."""

    mass_kg: float
    length_mm: float
    bow_to_transom_mm: float
    centre_mm: float
    centre_is: str = "measured"
    gear_kg: float = 0
    gear_at_mm: float = 0


@dataclass(frozen=True)
class Frame:
    """The trailer as it is before setting up. `body` hangs on the springs, `running_gear_kg` (axles, wheels) does not.

    The axle's middle moves between `axle_from_mm` and `axle_to_mm`; the winch post between its two; the bow touches its
    stop `bow_behind_post_mm` behind the post. The transom may stand from `transom_before_mm` before to
    `transom_beyond_mm` beyond the rear support.
    """

    body_kg: float
    body_at_mm: float
    running_gear_kg: float
    axle_from_mm: float
    axle_to_mm: float
    post_from_mm: float
    post_to_mm: float
    bow_behind_post_mm: float
    rear_support_mm: float
    front_support_from_mm: float
    spread_mm: float = 0
    shares_equally: bool = True
    transom_before_mm: float = 0
    transom_beyond_mm: float = 0
    step_mm: float = 5
    drawbar_mm: float = 0

    def group_at(self, axle_mm: float) -> Group:
        return Group(axle_mm, self.spread_mm, self.shares_equally)


@dataclass(frozen=True)
class Aim:
    """What is wanted: the nose load as a share of the laden mass, or outright in kg; the rear supports' share."""

    nose_share: float
    rear_share: float
    nose_kg: float | None = None

    def nose_of(self, laden_kg: float) -> float:
        return self.nose_share * laden_kg if self.nose_kg is None else self.nose_kg


@dataclass(frozen=True)
class Step:
    """One line of the working: what, the formula in letters, the same with figures, the result with its unit."""

    name: str
    formula: str
    figures: str
    result: str


@dataclass(frozen=True)
class Case:
    """What the nose load becomes when one figure is off by so much, with everything set as worked out."""

    name: str
    nose_kg: float
    share: float


@dataclass(frozen=True)
class SetUp:
    """Where everything goes, what then rests where, and how it was worked out."""

    hull: HullFigures
    frame: Frame
    aim: Aim
    wanted_kg: float
    axle_mm: float
    post_mm: float
    bow_mm: float
    transom_mm: float
    hull_at_mm: float
    laden_kg: float
    nose_kg: float
    axles_kg: tuple[float, ...]
    front_support_mm: float
    front_support_kg: float
    rear_support_kg: float
    is_wanted_met: bool
    notes: tuple[str, ...]
    steps: tuple[Step, ...]
    cases: tuple[Case, ...]

    @property
    def nose_share(self) -> float:
        return self.nose_kg / self.laden_kg

    @property
    def on_axles_kg(self) -> float:
        return sum(self.axles_kg)

    @property
    def overhang_mm(self) -> float:
        """How far the transom stands beyond the rear support; below zero before it."""
        return self.transom_mm - self.frame.rear_support_mm

    @property
    def drawbar_mm(self) -> float:
        return self.frame.drawbar_mm

    @property
    def supports_mm(self) -> tuple[float, float]:
        return (self.front_support_mm, self.frame.rear_support_mm)
