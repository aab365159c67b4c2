"""Rating one trailer with one hull: the set-up first, then every check on what it puts where."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from bom.catalogue.models import TrailerModel
from bom.ratings.checks import checks_of, overall, weakest
from bom.ratings.figures import (
    PERSON,
    Axle,
    Check,
    Coupling,
    Figures,
    Outcome,
    Tyre,
    Vehicle,
    Wheel,
)
from bom.ratings.frame import Aim, Frame, HullFigures, SetUp
from bom.ratings.models import ModelFrame
from bom.ratings.queries import RatingBook
from bom.ratings.rules import Rules
from bom.ratings.set_up import centre_of, set_up

T = TypeVar("T", Axle, Wheel, Tyre, Coupling)

# What is worked with where nobody has written a practice down; common practice, no source.
NOSE_SHARE, CENTRE_SHARE, REAR_SHARE, STEP_MM = 0.06, 0.40, 0.50, 5.0


@dataclass(frozen=True)
class HullRecord:
    """The hull as an order writes it down; the centre of gravity forward from the transom, none where unknown."""

    mass_kg: float
    length_mm: float
    bow_to_transom_mm: float
    centre_mm: float | None = None
    is_measured: bool = False
    gear_kg: float = 0
    gear_at_mm: float | None = None


@dataclass(frozen=True)
class Trailer:
    """A trailer as its bill has it: its model, its mass without load in kg, and how many of each item are in it.

    `body_at_mm` is where it balances without axles and wheels, rolled up from the places of its parts; where that is
    not known the figure of the model's frame stands in.
    """

    model: TrailerModel
    own_kg: float
    parts: Mapping[str, Decimal]
    body_at_mm: float | None = None


@dataclass(frozen=True)
class Rated:
    """What came out. `set_up` is none where the model's frame is not on record or the figures make no sense."""

    market: str
    issue: int
    own_kg: float
    set_up: SetUp | None
    checks: tuple[Check, ...]

    @property
    def overall(self) -> Outcome:
        return overall(self.checks)

    @property
    def weakest(self) -> Check | None:
        return weakest(self.checks)

    @property
    def counts(self) -> dict[str, int]:
        return dict(Counter(check.outcome for check in self.checks))


def rate(
    trailer: Trailer,
    hull: HullRecord,
    book: RatingBook,
    *,
    market: str = "",
    vehicle: Vehicle | None = None,
    nose_kg: float | None = None,
) -> Rated:
    """Set up and rate. `nose_kg` is a nose load wanted outright instead of the usual share."""
    rules = book.rules_of(market)
    figures = _hull_figures(hull, rules)
    found, why = _set_up(trailer, figures, book, rules, nose_kg)
    checks = checks_of(_figures(trailer, figures, found, book, rules, vehicle), rules)
    if why:
        checks.insert(0, Check("set_up", "Set-up", PERSON, why))
    elif found is not None and not found.is_wanted_met:
        says = (
            f"nose load {found.nose_kg:.0f} kg instead of {found.wanted_kg:.0f} kg; {' '.join(found.notes)}"
        )
        checks.insert(0, Check("set_up", "Set-up", PERSON, says))
    return Rated(rules.market, rules.issue, trailer.own_kg, found, tuple(checks))


def frame_of(row: ModelFrame, trailer: Trailer, book: RatingBook, step_mm: float) -> Frame:
    """The frame of a model with the masses of this very trailer."""
    running_gear = _running_gear_kg(trailer, book)
    return Frame(
        # Rounded as they are stored, so that a stored set-up can be worked out again to the same figures.
        body_kg=round(trailer.own_kg - running_gear, 3),
        body_at_mm=round(row.body_at_mm if trailer.body_at_mm is None else trailer.body_at_mm, 1),
        running_gear_kg=round(running_gear, 3),
        axle_from_mm=row.axle_from_mm,
        axle_to_mm=row.axle_to_mm,
        post_from_mm=row.post_from_mm,
        post_to_mm=row.post_to_mm,
        bow_behind_post_mm=row.bow_behind_post_mm,
        rear_support_mm=row.rear_support_mm,
        front_support_from_mm=row.front_support_from_mm,
        spread_mm=row.spread_mm,
        shares_equally=row.springs != ModelFrame.Springs.APART,
        transom_before_mm=row.transom_before_mm,
        transom_beyond_mm=row.transom_beyond_mm,
        step_mm=step_mm,
        drawbar_mm=row.drawbar_mm,
    )


def _figure(rules: Rules, subject: str, otherwise: float) -> float:
    rule = rules.get(subject)
    return otherwise if rule is None else rule.figure


def _hull_figures(hull: HullRecord, rules: Rules) -> HullFigures:
    share = _figure(rules, "centre_assumed_share", CENTRE_SHARE)
    centre, centre_is = centre_of(hull.centre_mm, hull.is_measured, hull.bow_to_transom_mm, share)
    return HullFigures(
        mass_kg=hull.mass_kg,
        length_mm=hull.length_mm,
        bow_to_transom_mm=hull.bow_to_transom_mm,
        centre_mm=round(centre, 1),
        centre_is=centre_is,
        gear_kg=hull.gear_kg,
        gear_at_mm=round(centre if hull.gear_at_mm is None else hull.gear_at_mm, 1),
    )


def _set_up(
    trailer: Trailer, hull: HullFigures, book: RatingBook, rules: Rules, nose_kg: float | None
) -> tuple[SetUp | None, str]:
    row = book.frames.get(trailer.model.code)
    if row is None:
        return None, f"slots and winch post of model {trailer.model.code} are not on record"
    aim = Aim(
        _figure(rules, "nose_wanted_share", NOSE_SHARE),
        _figure(rules, "rear_support_share", REAR_SHARE),
        nose_kg,
    )
    frame = frame_of(row, trailer, book, _figure(rules, "slot_step_mm", STEP_MM))
    try:
        return set_up(hull, frame, aim), ""
    except ValueError as error:
        return None, str(error)


def _figures(
    trailer: Trailer,
    hull: HullFigures,
    found: SetUp | None,
    book: RatingBook,
    rules: Rules,
    vehicle: Vehicle | None,
) -> Figures:
    model, row = trailer.model, book.frames.get(trailer.model.code)
    laden = trailer.own_kg + hull.mass_kg + hull.gear_kg
    # Without a set-up the usual nose load stands in, so that the masses can still be looked at.
    nose = found.nose_kg if found else _figure(rules, "nose_wanted_share", NOSE_SHARE) * laden
    axles_kg = found.axles_kg if found else ((laden - nose) / model.axles,) * model.axles
    noses = [case.nose_kg for case in found.cases] if found else [nose]
    return Figures(
        model=model.code,
        max_mass_kg=model.max_mass_kg,
        is_braked=model.braked,
        axles=model.axles,
        length_mm=model.length_mm,
        drawbar_mm=row.drawbar_mm if row else 0,
        width_mm=model.width_mm,
        own_kg=trailer.own_kg,
        hull_kg=hull.mass_kg,
        gear_kg=hull.gear_kg,
        nose_kg=nose,
        nose_low_kg=min(noses),
        nose_high_kg=max(noses),
        axles_kg=axles_kg,
        centre_is=hull.centre_is,
        axle=_only(trailer, book, Axle),
        wheel=_only(trailer, book, Wheel),
        tyre=_only(trailer, book, Tyre),
        coupling=_only(trailer, book, Coupling),
        vehicle=vehicle,
        has_board=bool(_duties(trailer, book).get("board")),
        duties=_duties(trailer, book),
        duties_on_record=book.duties_on_record,
    )


def _only(trailer: Trailer, book: RatingBook, kind: type[T]) -> T | None:
    """The rated part of this kind in the bill, the first where there are several."""
    for code in trailer.parts:
        part = book.parts.get(code)
        if isinstance(part, kind):
            return part
    return None


def running_gear(code: str, book: RatingBook) -> bool:
    """Whether this item is a rated axle, wheel or tyre."""
    return isinstance(book.parts.get(code), Axle | Wheel | Tyre)


def _running_gear_kg(trailer: Trailer, book: RatingBook) -> float:
    """Axles and the wheels that turn; a spare wheel lies on the frame and hangs on the springs."""
    axles, wheels = trailer.model.axles, 2 * trailer.model.axles
    each = {Axle: axles, Wheel: wheels, Tyre: wheels}
    kinds = {type(book.parts[code]): code for code in trailer.parts if code in book.parts}
    return sum(count * book.mass_kg[kinds[kind]] for kind, count in each.items() if kind in kinds)


def _duties(trailer: Trailer, book: RatingBook) -> dict[str, int]:
    found: Counter[str] = Counter()
    for code, quantity in trailer.parts.items():
        for duty, count in book.duties.get(code, {}).items():
            found[duty] += int(quantity * count)
    return dict(found)
