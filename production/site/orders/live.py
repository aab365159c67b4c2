"""What is typed into the form of a draft, rated and set up, or reckoned through; nothing is saved."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from bom.catalogue.configuring import price_of, priced_range
from bom.catalogue.models import ColourPlace, TrailerModel, Variant
from bom.kernel.errors import Problem, ProblemError
from bom.ratings.figures import Vehicle
from bom.ratings.rating import HullRecord, rate
from production.orders.freezing import load_book
from production.orders.queries import agreed_of
from production.orders.rating import expansion_of, hull_of_values, load_desk, only_models, trailer_of
from production.orders.rolling import roll_expansions
from production.orders.showing import Shown, shown_now
from production.site.costs.pricing import prices_on
from production.site.costs.reckoning import Asked, Reckoned, expanded, reckon
from production.site.orders.forms import asked_in, whole

Typed = Mapping[str, str]


@dataclass(frozen=True)
class Live:
    """A form as it stands; `shown` is none where it is too early to say, or where `problems` stand in the way."""

    shown: Shown | None = None
    problems: tuple[Problem, ...] = ()


def rated_as_typed(
    typed: Typed, day: date, vehicle: Vehicle | None = None, trailer: int | None = None
) -> Live:
    """Rate and set up what the form asks for; `trailer` is the order's number where it has one. Nine queries."""
    asked, hull = asked_in(typed), hull_in(typed)
    model = TrailerModel.objects.select_related("item").filter(code=asked.model).first()
    if model is None or hull is None:
        return Live()
    desk = load_desk(day, catalogue=only_models({model.code: model}), trailer=trailer)
    try:
        found = trailer_of(model, expansion_of(asked, desk), desk)
    except ProblemError as error:
        return Live(problems=_missing_colours(asked.colours) or error.problems)
    rated = rate(found, hull, desk.ratings, market=typed.get("market", ""), vehicle=vehicle)
    return Live(shown_now(rated, model.length_mm))


def _missing_colours(colours: Mapping[str, str]) -> tuple[Problem, ...]:
    """Parts that come in colours cannot be found before one is chosen; said as the person sees it."""
    rollers = (ColourPlace.PORT, ColourPlace.STARBOARD)
    missing = [str(place.label) for place in rollers if not colours.get(place)]
    if not missing:
        return ()
    return (
        Problem(
            f"No colour of {' and '.join(missing)} is chosen", "", "Choose it; the parts follow from it."
        ),
    )


def reckoned_as_typed(typed: Typed, day: date) -> Reckoned | None:
    """What the form asks for with its cost; none while it cannot be built. Sixteen queries."""
    catalogue, variant = priced_range(), _variant(typed.get("variant", ""))
    agreed = agreed_of([variant]).get(variant.pk) if variant else None
    asked = asked_in(typed, agreed)
    model = catalogue.models.get(asked.model)
    if model is None or hull_in(typed) is None:
        return None
    book, price = load_book(day), price_of(asked, catalogue)
    expansion = expanded(Asked(model, asked, price), book)
    if expansion is None:
        return None
    (bill,) = roll_expansions([expansion], book)
    return reckon(bill, asked.finish, price, prices_on(day, bill.items.values()))


def hull_in(typed: Typed) -> HullRecord | None:
    """The hull as typed; none while its mass or a length is missing."""
    names = ("mass_kg", "length_mm", "bow_to_transom_mm", "centre_of_gravity_mm", "gear_kg", "gear_at_mm")
    values = {name: whole(typed.get(f"hull_{name}")) for name in names}
    return hull_of_values(values, is_measured=bool(typed.get("hull_is_measured")))


def _variant(key: str) -> Variant | None:
    """The variant that a form names: by its code the current version, by code and number an earlier one."""
    code, _, version = key.partition(".")
    rows = Variant.objects.select_related("model").filter(code=code)
    earlier = whole(version)
    return rows.filter(is_current=True).first() if earlier is None else rows.filter(version=earlier).first()
