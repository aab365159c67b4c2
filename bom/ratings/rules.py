"""Rules as data: what is asked for, in which market, from which day, on whose word. Plain data only.

A rule is one figure or one word with its clause and source. Nothing here decides what is legal: the figures are
written down, dated and marked as verified or not, and a qualified person answers for them.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

Edge = Literal["", "over", "from"]

WHOLE, WITHOUT_DRAWBAR = "whole", "without_drawbar"
ON_AXLES, OF_WHOLE = "axles", "whole"
YES, NO, ASK = "yes", "no", "ask"


@dataclass(frozen=True)
class Subject:
    """What a rule may be about. `words` are the only answers where it is answered by a word and not a figure.

    `has_edge`: the rule bites beyond its figure ("over": equal is still let off) or from it on ("from").
    """

    code: str
    name: str
    unit: str = ""
    words: Mapping[str, str] = field(default_factory=dict)
    has_edge: bool = False
    is_practice: bool = False


_LENGTHS = {WHOLE: "whole length, drawbar counted", WITHOUT_DRAWBAR: "length without the drawbar"}
_ANSWERS = {YES: "yes", NO: "no", ASK: "a person decides"}

SUBJECTS: Mapping[str, Subject] = {
    one.code: one
    for one in (
        Subject(
            "category_mass",
            "Mass that decides the category",
            words={ON_AXLES: "what the axles put on the ground", OF_WHOLE: "the whole maximum mass"},
        ),
        Subject("o1_most_kg", "Category O1, up to", "kg"),
        Subject("o2_most_kg", "Category O2, up to", "kg"),
        Subject("brakes_kg", "Service brakes", "kg", has_edge=True),
        Subject(
            "unbraked_vehicle_share", "Unbraked trailer, share of the vehicle's unladen mass, at most", "×"
        ),
        Subject("secondary_most_kg", "Secondary coupling instead of automatic braking, up to", "kg"),
        Subject("nose_least_share", "Least nose load, share of the actual mass", "×"),
        Subject("nose_least_cap_kg", "Least nose load, never asked for more than", "kg"),
        Subject("nose_most_share", "Most nose load, share of the maximum mass", "×"),
        Subject("nose_most_kn", "Most nose load, force", "kN"),
        Subject("gravity", "Acceleration put into D and Dc", "m/s²"),
        Subject("width_most_mm", "Overall width, at most", "mm"),
        Subject("length_as", "Length that the limit means", words=_LENGTHS),
        Subject("length_most_mm", "Length, at most", "mm"),
        Subject("length_heavy_most_mm", "Length behind a heavier vehicle, at most", "mm"),
        Subject("heavy_vehicle_kg", "A vehicle is a heavier one", "kg", has_edge=True),
        Subject("front_lamps_mm", "Front position lamps, width", "mm", has_edge=True),
        Subject("outline_lamps_mm", "End-outline marker lamps, width", "mm", has_edge=True),
        Subject("side_lamps_mm", "Side marker lamps, length", "mm", has_edge=True),
        Subject("side_lamps_as", "Length that side marker lamps go by", words=_LENGTHS),
        Subject("side_lamps_boats", "Side marker lamps on boat trailers", words=_ANSWERS),
        Subject("side_lamps_gap_mm", "Side marker lamps, foremost and gap at most", "mm"),
        Subject("reversing_lamp_kg", "Reversing lamp", "kg", has_edge=True),
        Subject("fog_lamp_mm", "Rear fog lamp, width", "mm", has_edge=True),
        Subject("board_allowed", "Lamps on a removable board", words=_ANSWERS),
        Subject("tyre_speed_kmh", "Tyres good for at least", "km/h"),
        Subject("vehicle_assumed_kg", "Towing vehicle assumed where none is given", "kg", is_practice=True),
        Subject(
            "nose_wanted_share", "Nose load to set up for, share of the laden mass", "×", is_practice=True
        ),
        Subject(
            "centre_assumed_share",
            "Centre of gravity where none is given, from the transom, share of bow to transom",
            "×",
            is_practice=True,
        ),
        Subject("rear_support_share", "Share of the hull on its rear supports", "×", is_practice=True),
        Subject("slot_step_mm", "Axle and post are set in steps of", "mm", is_practice=True),
    )
}


@dataclass(frozen=True)
class Rule:
    """One rule in force. `value` or `word` answers the subject; `issue` is the issue of the rule book it came with."""

    subject: str
    value: float | None = None
    word: str = ""
    edge: Edge = ""
    clause: str = ""
    source: str = ""
    valid_from: date | None = None
    is_verified: bool = False
    issue: int = 0

    @property
    def figure(self) -> float:
        assert self.value is not None, self.subject
        return self.value

    def bites(self, amount: float) -> bool:
        """Whether an amount is beyond the rule's figure: "over" lets the figure itself off, "from" does not."""
        return amount >= self.figure if self.edge == "from" else amount > self.figure


@dataclass(frozen=True)
class Rules:
    """The rules of one market in force on one day, by subject; `issue` is the newest issue they were read from.

    `is_default`: taken where an order names no market.
    """

    market: str
    by_subject: Mapping[str, Rule] = field(default_factory=dict)
    issue: int = 0
    is_default: bool = False

    def get(self, subject: str) -> Rule | None:
        return self.by_subject.get(subject)

    def missing(self, subjects: Iterable[str]) -> list[str]:
        """The names of subjects that no rule answers."""
        return [SUBJECTS[subject].name for subject in subjects if subject not in self.by_subject]


def in_force(rules: Iterable[tuple[Rule, bool]], on: date) -> dict[str, Rule]:
    """By subject the rule in force on a day; a rule comes with whether it withdraws its subject.

    Of those that have begun the latest to begin holds; of two that begin on one day the later issue.
    """
    begun = [(rule, gone) for rule, gone in rules if rule.valid_from is None or rule.valid_from <= on]
    begun.sort(key=lambda pair: (pair[0].valid_from or date.min, pair[0].issue))
    latest = {rule.subject: (rule, gone) for rule, gone in begun}
    return {subject: rule for subject, (rule, gone) in latest.items() if not gone}
