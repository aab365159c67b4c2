"""Coupling and nose load: Dc, vertical load S, the least and the most that may rest on the nose."""

from collections.abc import Iterator

from bom.ratings.couplings import dc_value_kn, least_nose_kg, most_nose_kg
from bom.ratings.figures import (
    MET,
    NOT_MET,
    PERSON,
    Check,
    Coupling,
    Figures,
    at_most,
    needs_person,
    unruled,
    without_margin,
)
from bom.ratings.rules import Rules


def coupling_checks(figures: Figures, rules: Rules) -> Iterator[Check]:
    """The coupling against what it pulls and carries."""
    coupling = figures.coupling
    if coupling is None:
        yield needs_person("dc", "Coupling", "No coupling with a rating is in the bill")
        return
    source = f"rating of {coupling.code}"
    yield _dc(figures, coupling, rules)
    if coupling.s_kg is None:
        yield needs_person("s", "Vertical load S", f"{coupling.code} has no S on record", source=source)
    else:
        working = "nose load as set up; see the balance of moments"
        yield at_most(
            "s",
            "Vertical load S of the coupling",
            figures.nose_kg,
            coupling.s_kg,
            "kg",
            working,
            source=source,
        )
    if coupling.max_mass_kg is not None:
        working = "the coupling's own limit of the trailer's maximum mass"
        yield without_margin(
            at_most(
                "coupling_mass",
                "Maximum mass of the coupling",
                figures.max_mass_kg,
                coupling.max_mass_kg,
                "kg",
                working,
                source=source,
            )
        )


def _dc(figures: Figures, coupling: Coupling, rules: Rules) -> Check:
    name = "Coupling, Dc"
    if coupling.dc_kn is None:
        return needs_person(
            "dc", name, f"{coupling.code} has no Dc on record", source=f"rating of {coupling.code}"
        )
    if lacking := unruled("dc", name, rules, ("gravity", "vehicle_assumed_kg")):
        return lacking
    gravity, assumed = rules.by_subject["gravity"], rules.by_subject["vehicle_assumed_kg"]
    known = figures.vehicle.max_mass_kg if figures.vehicle else None
    towing = known or assumed.figure
    on_axles = figures.max_mass_kg - figures.nose_kg
    dc = dc_value_kn(towing, on_axles, gravity.figure)
    whose = figures.vehicle.name if known and figures.vehicle else "assumed, no vehicle given"
    working = (
        f"g × T × C ÷ (T + C), T = {towing / 1000:.3f} t ({whose}), "
        f"C = ({figures.max_mass_kg:.0f} − {figures.nose_kg:.0f}) kg = {on_axles / 1000:.3f} t"
    )
    used = (gravity,) if known else (gravity, assumed)
    check = at_most("dc", name, dc, coupling.dc_kn, "kN", working, rules=used, places=2)
    if check.outcome == NOT_MET and not known:
        return Check(
            "dc", name, PERSON, f"{check.says}; give the towing vehicle", working, check.margin, used
        )
    return check


def nose_checks(figures: Figures, rules: Rules) -> Iterator[Check]:
    """The least nose load asked for, and the most of a centre-axle trailer."""
    if figures.nose_kg <= 0:
        yield Check("nose_least", "Least nose load", NOT_MET, f"{figures.nose_kg:.0f} kg: it tips backwards")
        return
    needed = ("nose_least_share", "nose_least_cap_kg", "nose_most_share", "nose_most_kn", "gravity")
    if lacking := unruled("nose_least", "Least and most nose load", rules, needed):
        yield lacking
        return
    share, cap, most_share, most_kn, gravity = (rules.by_subject[subject] for subject in needed)
    least = least_nose_kg(figures.laden_kg, share.figure, cap.figure)
    most = most_nose_kg(figures.max_mass_kg, most_share.figure, most_kn.figure, gravity.figure)
    working = (
        f"smaller of {share.figure:g} × {figures.laden_kg:.0f} kg and {cap.figure:.0f} kg = {least:.1f} kg; "
        f"with mass 5 % and centre 100 mm out the nose load is "
        f"{figures.nose_low_kg:.0f} to {figures.nose_high_kg:.0f} kg"
    )
    is_met = figures.nose_kg >= least
    says = f"{figures.nose_kg:.0f} kg, at least {least:.0f} kg asked for"
    outcome, margin = (MET if is_met else NOT_MET), (figures.nose_kg - least) / figures.nose_kg
    if is_met and figures.nose_low_kg < least and figures.centre_is != "measured":
        outcome = PERSON
        says += f"; the centre of gravity is {figures.centre_is} and may take it below: weigh the nose"
    yield Check("nose_least", "Least nose load", outcome, says, working, margin, (share, cap))
    most_words = f"smaller of {most_share.figure:g} × {figures.max_mass_kg:.0f} kg and {most_kn.figure:g} kN"
    working = f"{most_words} = {most:.1f} kg"
    yield at_most(
        "nose_most",
        "Most nose load of a centre-axle trailer",
        figures.nose_kg,
        most,
        "kg",
        working,
        rules=(most_share, most_kn),
    )
