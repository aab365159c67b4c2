"""Rating orders: what an order asks for, its bill, the rules of its market; worked out for many at once."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cached_property

from bom.catalogue.configuring import Answers, Range, configuration_of, load_range
from bom.catalogue.models import TrailerModel
from bom.costing.masses import Centre, Placed, balance, unit_masses
from bom.ratings.figures import Vehicle, Wheel
from bom.ratings.queries import RatingBook, load_ratings
from bom.ratings.rating import HullRecord, Rated, Trailer, rate, running_gear
from bom.structure.conditions import Value
from bom.structure.expansion import Expansion
from bom.structure.loading import Loaded
from production.orders.freezing import expand_bill, load_bills
from production.orders.models import Hull
from production.orders.rating_models import TowingVehicle
from production.orders.rolling import centres_of


@dataclass(frozen=True)
class Desk:
    """Everything that proposing, rating and setting up look at; fetched once for any number of orders.

    `all_centres` are the centres of gravity by revision, of every revision that some trailer is made by.
    """

    catalogue: Range
    loaded: Loaded
    ratings: RatingBook
    all_centres: Mapping[int, Mapping[int, Centre]]

    @cached_property
    def centres(self) -> dict[tuple[str, int], Centre]:
        """By item and position of its line, of the revisions in force."""
        return {
            (code, position): centre
            for code, revision in self.loaded.revision_ids.items()
            for position, centre in self.all_centres.get(revision, {}).items()
        }

    def with_bills(self, loaded: Loaded) -> "Desk":
        """The same for another trailer, whose bills were fetched together with these."""
        return self if loaded is self.loaded else replace(self, loaded=loaded)


def load_desk(
    on: date,
    *,
    catalogue: Range | None = None,
    loaded: Loaded | None = None,
    trailer: int | None = None,
) -> Desk:
    """The desk as of a day, for a trailer or else the next to be ordered; what is at hand already may be given along.
    At most fifteen queries."""
    bills = loaded or load_bills(on, trailer)
    return Desk(
        catalogue=catalogue or load_range(),
        loaded=bills,
        ratings=load_ratings(on),
        all_centres=centres_of(bills.all_revision_ids),
    )


def only_models(models: Mapping[str, TrailerModel]) -> Range:
    """A catalogue that knows these models and nothing of what they offer: enough to work out a bill."""
    return Range(models=models, groups={}, choices={}, finishes={}, offers={}, rules=(), colours={})


def expansion_of(answers: Answers, desk: Desk) -> Expansion:
    """The bill of what is asked for. ProblemError where it cannot be worked out."""
    top_item = desk.catalogue.models[answers.model].item.code
    return expand_bill(desk.loaded, top_item, configuration_of(answers, desk.catalogue))


def trailer_of(model: TrailerModel, expansion: Expansion, desk: Desk) -> Trailer:
    """The trailer of a bill: its mass, its parts, and where it balances without axles and wheels."""
    masses = unit_masses(expansion, desk.loaded.own_kg, desk.loaded.raw)
    found = balance(expansion, masses, desk.centres)
    wheel_sets = _wheel_sets(expansion, desk.ratings)
    body = [_sprung(one, wheel_sets, expansion, model, desk.ratings) for one in found.placed]
    kg = sum((mass for mass, _ in body), Decimal(0))
    moment = sum((mass * at for mass, at in body), Decimal(0))
    return Trailer(
        model=model,
        own_kg=float(masses[expansion.top_item]),
        parts=expansion.totals,
        body_at_mm=float(moment / kg) if kg > 0 else None,
    )


def rate_answers(
    answers: Answers,
    hull: HullRecord,
    desk: Desk,
    *,
    market: str = "",
    vehicle: Vehicle | None = None,
    nose_kg: float | None = None,
) -> Rated:
    """Rate what is asked for. ProblemError where its bill cannot be worked out."""
    trailer = trailer_of(desk.catalogue.models[answers.model], expansion_of(answers, desk), desk)
    return rate(trailer, hull, desk.ratings, market=market, vehicle=vehicle, nose_kg=nose_kg)


def hull_record(hull: Hull) -> HullRecord:
    return HullRecord(
        mass_kg=hull.mass_kg,
        length_mm=hull.length_mm,
        bow_to_transom_mm=hull.bow_to_transom_mm,
        centre_mm=hull.centre_of_gravity_mm,
        is_measured=hull.is_measured,
        gear_kg=hull.gear_kg,
        gear_at_mm=hull.gear_at_mm,
    )


def hull_of_values(values: Mapping[str, Value | None], is_measured: bool = False) -> HullRecord | None:
    """The hull of a form as it stands; none while mass or a length is missing."""
    needed = [values.get(name) for name in ("mass_kg", "length_mm", "bow_to_transom_mm")]
    if not all(isinstance(value, int) and value > 0 for value in needed):
        return None
    mass, length, bow = (float(value) for value in needed if isinstance(value, int))
    return HullRecord(
        mass_kg=mass,
        length_mm=length,
        bow_to_transom_mm=bow,
        centre_mm=_number(values.get("centre_of_gravity_mm")),
        is_measured=is_measured,
        gear_kg=_number(values.get("gear_kg")) or 0,
        gear_at_mm=_number(values.get("gear_at_mm")),
    )


def vehicles_of(order_ids: Iterable[int]) -> dict[int, Vehicle]:
    """The towing vehicle of each order that has one. One query."""
    rows = TowingVehicle.objects.filter(order__in=set(order_ids))
    return {row.order_id: vehicle_of(row) for row in rows}


def vehicle_of(row: TowingVehicle) -> Vehicle:
    names = ("max_mass_kg", "unladen_kg", "braked_kg", "unbraked_kg", "nose_kg", "train_kg", "d_kn")
    limits = {name: getattr(row, name) for name in names}
    return Vehicle(
        row.name, **{name: None if value is None else float(value) for name, value in limits.items()}
    )


def _number(value: Value | None) -> float | None:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _wheel_sets(expansion: Expansion, book: RatingBook) -> frozenset[str]:
    """Items that are a wheel, or are put together from one."""
    direct = {code for code in expansion.totals if isinstance(book.parts.get(code), Wheel)}
    return frozenset(direct | {edge.parent for edge in expansion.edges if edge.component in direct})


def _sprung(
    one: Placed, wheel_sets: frozenset[str], expansion: Expansion, model: TrailerModel, book: RatingBook
) -> tuple[Decimal, Decimal]:
    """Mass and place of a line as far as it hangs on the springs: no axles, and of the wheels only the spare."""
    if one.item in wheel_sets:
        turning = Decimal(2 * model.axles) / expansion.totals[one.item]
        return one.mass_kg * max(Decimal(0), 1 - turning), one.centre.x_mm
    return (Decimal(0) if running_gear(one.item, book) else one.mass_kg), one.centre.x_mm
