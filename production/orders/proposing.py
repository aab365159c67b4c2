"""Which models fit a hull: each rated with the hull on it, in a stated order, the others with the reason."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from bom.catalogue.configuring import COATED, Answers, Range, price_of, problems_of
from bom.catalogue.explaining import mended
from bom.catalogue.models import ColourPlace, TrailerModel
from bom.kernel.errors import ProblemError
from bom.ratings.figures import MET, NOT_MET, PERSON
from bom.ratings.frame import SetUp
from bom.ratings.rating import HullRecord, Rated
from bom.structure.conditions import Value
from production.orders.rating import Desk, rate_answers

OrderBy = Literal["margin", "price"]


@dataclass(frozen=True)
class Proposal:
    """One model with this hull: whether it fits, and why not or with what change; what it costs as proposed."""

    model: TrailerModel
    fits: bool
    reasons: tuple[str, ...]
    rated: Rated | None = None
    price: Decimal | None = None

    @property
    def needs_person(self) -> bool:
        return self.rated is not None and self.rated.overall == PERSON

    @property
    def margin(self) -> float | None:
        weakest = self.rated.weakest if self.rated else None
        return weakest.margin if weakest else None

    @property
    def weakest_name(self) -> str:
        weakest = self.rated.weakest if self.rated else None
        return weakest.name if weakest else ""

    @property
    def set_up(self) -> SetUp | None:
        return self.rated.set_up if self.rated else None


def propose(
    hull: HullRecord,
    values: dict[str, Value],
    desk: Desk,
    *,
    market: str = "",
    finish: str = "",
    by: OrderBy = "margin",
) -> list[Proposal]:
    """Every active model. Those that fit stand first, by `by`:

    "margin": the most left of the weakest rating first, to the whole per cent; of equal ones the lower price.
    "price": the lowest price first; of equal ones the most left of the weakest rating.
    Those that do not fit follow by maximum mass. `values` are the hull's figures by name, as option rules see them.
    """
    models = [model for model in desk.catalogue.models.values() if model.is_active]
    found = [_propose(model, hull, values, desk, market, finish) for model in models]
    return sorted(found, key=lambda one: _rank(one, by))


def _rank(one: Proposal, by: OrderBy) -> tuple[bool, float, float, str]:
    if not one.fits:
        return (True, one.model.max_mass_kg, 0, one.model.code)
    left = -round(one.margin or 0, 2)
    price = float(one.price or 0)
    first, second = (price, left) if by == "price" else (left, price)
    return (False, first, second, one.model.code)


def _propose(
    model: TrailerModel, hull: HullRecord, values: dict[str, Value], desk: Desk, market: str, finish: str
) -> Proposal:
    if reasons := _at_once(model, hull, desk.catalogue, finish):
        return Proposal(model, False, reasons)
    answers, changes = mended(_standard(model, values, desk.catalogue, finish), desk.catalogue)
    if problems := problems_of(answers, desk.catalogue):
        return Proposal(model, False, tuple(problem.what for problem in problems))
    try:
        rated = rate_answers(answers, hull, desk, market=market)
    except ProblemError as error:
        return Proposal(model, False, tuple(problem.what for problem in error.problems))
    unmet = tuple(f"{one.name}: {one.says}" for one in rated.checks if one.outcome == NOT_MET)
    asked = tuple(f"{one.name}: {one.says}" for one in rated.checks if one.outcome not in (NOT_MET, MET))
    return Proposal(model, not unmet, unmet or (*asked, *changes), rated, price_of(answers, desk.catalogue))


def _at_once(model: TrailerModel, hull: HullRecord, catalogue: Range, finish: str) -> tuple[str, ...]:
    """Reasons that need no bill: length, a mass that is over whatever the options, a finish that is not made."""
    reasons = []
    if not model.hull_length_min_mm <= hull.length_mm <= model.hull_length_max_mm:
        reasons.append(
            f"The hull is {hull.length_mm:.0f} mm long; it carries {model.hull_length_min_mm} to "
            f"{model.hull_length_max_mm} mm"
        )
    if hull.mass_kg + hull.gear_kg >= model.max_mass_kg:
        reasons.append(
            f"Hull and gear are {hull.mass_kg + hull.gear_kg:.0f} kg; its maximum mass with the trailer is "
            f"{model.max_mass_kg} kg"
        )
    if finish and finish not in catalogue.finishes.get(model.code, {}):
        reasons.append("It is not made in this finish")
    return tuple(reasons)


def _standard(model: TrailerModel, values: dict[str, Value], catalogue: Range, finish: str) -> Answers:
    """The model's standard choices in the first colour there is: colours do not change a rating."""
    chosen = finish or next(iter(catalogue.finishes.get(model.code, {})), "")
    colour = next(iter(catalogue.colours), "")
    places: Sequence[str] = (ColourPlace.PORT, ColourPlace.STARBOARD)
    if chosen in COATED:
        places = (*places, ColourPlace.POWDER)
    return Answers(
        model=model.code,
        finish=chosen,
        choices=catalogue.standard(model.code),
        colours={place: colour for place in places if colour},
        hull=values,
    )
