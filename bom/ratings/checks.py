"""Is each rating of a trailer kept with this hull? One check after the other, each with its working. Plain data only.

The outcome is "met", "not met" or "needs a person", never more than that: the rules are a table somebody typed, and
approval belongs to the approval authority and a qualified person.
"""

from collections.abc import Iterable, Iterator

from bom.ratings.category_checks import category_checks, size_checks
from bom.ratings.coupling_checks import coupling_checks, nose_checks
from bom.ratings.figures import (
    MET,
    NOT_MET,
    PERSON,
    Check,
    Figures,
    Outcome,
    at_most,
    needs_person,
    without_margin,
)
from bom.ratings.lamps import lamp_checks
from bom.ratings.rules import Rules
from bom.ratings.tyres import tyre_load_kg, tyre_speed_kmh
from bom.ratings.vehicle_checks import vehicle_checks


def checks_of(figures: Figures, rules: Rules) -> list[Check]:
    """Every check, in the order in which a person would go round the trailer."""
    return [
        *_masses(figures),
        *_axles(figures),
        *_tyres(figures, rules),
        *coupling_checks(figures, rules),
        *nose_checks(figures, rules),
        *category_checks(figures, rules),
        *size_checks(figures, rules),
        *lamp_checks(figures, rules),
        *vehicle_checks(figures, rules),
    ]


def weakest(checks: Iterable[Check]) -> Check | None:
    """The check with the least margin; that one decides."""
    measured = [check for check in checks if check.margin is not None]
    return min(measured, key=lambda check: check.margin if check.margin is not None else 0, default=None)


def overall(checks: Iterable[Check]) -> Outcome:
    """The worst of all: not met before needs a person before met."""
    outcomes = {check.outcome for check in checks}
    return NOT_MET if NOT_MET in outcomes else PERSON if PERSON in outcomes else MET


def _masses(figures: Figures) -> Iterator[Check]:
    working = (
        f"trailer {figures.own_kg:.0f} + hull {figures.hull_kg:.0f} + gear {figures.gear_kg:.0f} "
        f"= {figures.laden_kg:.0f} kg"
    )
    source = f"maximum mass of model {figures.model}"
    yield at_most("mass", "Maximum mass", figures.laden_kg, figures.max_mass_kg, "kg", working, source=source)
    payload = figures.max_mass_kg - figures.own_kg
    yield at_most(
        "payload",
        "Payload",
        figures.hull_kg + figures.gear_kg,
        payload,
        "kg",
        f"maximum mass {figures.max_mass_kg:.0f} − trailer with its options {figures.own_kg:.0f} = {payload:.0f} kg",
        source=source,
    )


def _axles(figures: Figures) -> Iterator[Check]:
    axle = figures.axle
    if axle is None:
        yield needs_person("axle", "Axles", "No axle with a rating is in the bill")
        return
    heaviest = max(figures.axles_kg)
    loads = " and ".join(f"{kg:.0f}" for kg in figures.axles_kg)
    source = f"rating of {axle.code}"
    yield at_most(
        "axle",
        "Axle" if figures.axles == 1 else "Heavier loaded axle",
        heaviest,
        axle.capacity_kg,
        "kg",
        f"laden {figures.laden_kg:.0f} − nose {figures.nose_kg:.0f} = {figures.on_axles_kg:.0f} kg; "
        f"each axle: {loads} kg",
        source=source,
    )
    plate = figures.axles * axle.capacity_kg + figures.nose_kg
    yield without_margin(
        at_most(
            "plate",
            "Maximum mass that the axles and the nose can bear",
            figures.max_mass_kg,
            plate,
            "kg",
            f"{figures.axles} × {axle.capacity_kg:.0f} + nose load {figures.nose_kg:.0f} = {plate:.0f} kg",
            source=source,
        )
    )


def _tyres(figures: Figures, rules: Rules) -> Iterator[Check]:
    tyre, wheel = figures.tyre, figures.wheel
    each = max(figures.axles_kg) / figures.wheels_an_axle
    working = f"{max(figures.axles_kg):.0f} kg on the axle ÷ {figures.wheels_an_axle} wheels"
    if wheel is None:
        yield needs_person("wheel", "Wheels", "No wheel with a rating is in the bill")
    else:
        source = f"rating of {wheel.code}"
        yield at_most("wheel", "Wheel", each, wheel.capacity_kg, "kg", working, source=source)
    carries = tyre_load_kg(tyre.load_index) if tyre else None
    if tyre is None or carries is None:
        yield needs_person("tyre", "Tyres", "No tyre with a load index is in the bill")
        return
    working = f"{working}; load index {tyre.load_index} is {carries} kg a tyre"
    source = f"load index table; {tyre.code}"
    yield at_most("tyre", "Tyre", each, carries, "kg", working, source=source)
    wanted = rules.get("tyre_speed_kmh")
    speed = tyre_speed_kmh(tyre.speed_symbol)
    if wanted is None or speed is None:
        yield needs_person(
            "speed", "Tyre speed", "No speed symbol, or no speed to be good for, is written down"
        )
        return
    yield Check(
        "speed",
        "Tyre speed",
        MET if speed >= wanted.figure else NOT_MET,
        f"symbol {tyre.speed_symbol} is {speed} km/h, at least {wanted.figure:.0f} km/h wanted",
        rules=(wanted,),
    )
