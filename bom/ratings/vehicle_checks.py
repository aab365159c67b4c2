"""The trailer behind one towing vehicle, as far as its papers are known."""

from collections.abc import Iterator

from bom.ratings.couplings import dc_value_kn
from bom.ratings.figures import (
    BRAKED,
    UNBRAKED,
    Check,
    Figures,
    Vehicle,
    at_most,
    needs_person,
)
from bom.ratings.rules import Rules


def vehicle_checks(figures: Figures, rules: Rules) -> Iterator[Check]:
    """What the vehicle's papers allow; nothing where no vehicle is given."""
    vehicle = figures.vehicle
    if vehicle is None:
        return
    source = f"papers of {vehicle.name}"
    towed = vehicle.braked_kg if figures.is_braked else vehicle.unbraked_kg
    word = BRAKED if figures.is_braked else UNBRAKED
    if towed is None:
        yield needs_person(
            "towed", "Mass the vehicle may tow", f"no limit for a {word} trailer is given", source=source
        )
    else:
        yield at_most(
            "towed",
            f"Mass the vehicle may tow, {word}",
            figures.laden_kg,
            towed,
            "kg",
            "laden mass",
            source=source,
        )
    if vehicle.nose_kg is not None:
        yield at_most(
            "vehicle_nose",
            "Nose load of the vehicle",
            figures.nose_kg,
            vehicle.nose_kg,
            "kg",
            "nose load as set up",
            source=source,
        )
    if vehicle.train_kg is not None and vehicle.max_mass_kg is not None:
        together = vehicle.max_mass_kg + figures.laden_kg
        working = f"vehicle {vehicle.max_mass_kg:.0f} + trailer {figures.laden_kg:.0f} kg"
        yield at_most(
            "train",
            "Mass of vehicle and trailer together",
            together,
            vehicle.train_kg,
            "kg",
            working,
            source=source,
        )
    if vehicle.d_kn is not None and vehicle.max_mass_kg is not None and (gravity := rules.get("gravity")):
        dc = dc_value_kn(vehicle.max_mass_kg, figures.max_mass_kg - figures.nose_kg, gravity.figure)
        yield at_most(
            "vehicle_d",
            "D of the vehicle's hitch",
            dc,
            vehicle.d_kn,
            "kN",
            "Dc as for the coupling",
            rules=(gravity,),
            places=2,
        )
    yield from _unbraked_share(figures, vehicle, rules)


def _unbraked_share(figures: Figures, vehicle: Vehicle, rules: Rules) -> Iterator[Check]:
    rule = rules.get("unbraked_vehicle_share")
    if figures.is_braked or rule is None or vehicle.unladen_kg is None:
        return
    limit = rule.figure * vehicle.unladen_kg
    working = f"{rule.figure:g} × unladen mass of the vehicle {vehicle.unladen_kg:.0f} kg"
    yield at_most(
        "unbraked_share",
        "Unbraked trailer against the vehicle",
        figures.laden_kg,
        limit,
        "kg",
        working,
        rules=(rule,),
    )
