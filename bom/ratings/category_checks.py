"""Category, brakes, breakaway and sizes of the trailer."""

from collections.abc import Iterator

from bom.ratings.figures import (
    BRAKED,
    MET,
    NOT_MET,
    PERSON,
    UNBRAKED,
    Check,
    Figures,
    at_most,
    category_mass_kg,
    length_by,
    needs_person,
    unruled,
)
from bom.ratings.rules import ON_AXLES, Rule, Rules


def category_of(kg: float, rules: Rules) -> str:
    """O1, O2, or "" for what is heavier than O2; also "" where the rules do not say."""
    first, second = rules.get("o1_most_kg"), rules.get("o2_most_kg")
    if first is None or second is None or kg > second.figure:
        return ""
    return "O1" if kg <= first.figure else "O2"


def category_checks(figures: Figures, rules: Rules) -> Iterator[Check]:
    """The category by mass, and the brakes that it asks for."""
    needed = ("o1_most_kg", "o2_most_kg", "brakes_kg", "category_mass", "secondary_most_kg")
    if lacking := unruled("category", "Category and brakes", rules, needed):
        yield lacking
        return
    first, second, brakes, goes_by, secondary = (rules.by_subject[subject] for subject in needed)
    kg = category_mass_kg(figures, rules)
    category = category_of(kg, rules)
    working = f"{kg:.0f} kg: " + (
        f"maximum mass {figures.max_mass_kg:.0f} − nose load {figures.nose_kg:.0f}, what the axles put on the ground"
        if goes_by.word == ON_AXLES
        else "the whole maximum mass"
    )
    yield Check(
        "category",
        "Category",
        MET if category else NOT_MET,
        f"category {category}" if category else f"heavier than O2, which ends at {second.figure:.0f} kg",
        working,
        rules=(first, second, goes_by),
    )
    yield _brakes(figures, brakes, goes_by, kg)
    yield _breakaway(figures, secondary)


def _brakes(figures: Figures, brakes: Rule, goes_by: Rule, kg: float) -> Check:
    word = BRAKED if figures.is_braked else UNBRAKED
    rules = (brakes, goes_by)
    needs_brakes = brakes.bites(kg)
    working = f"brakes are asked for {brakes.edge or 'over'} {brakes.figure:.0f} kg; {kg:.0f} kg goes by"
    if needs_brakes and not figures.is_braked:
        return Check(
            "brakes", "Brakes", NOT_MET, f"unbraked, but {kg:.0f} kg needs brakes", working, rules=rules
        )
    if figures.is_braked and figures.axle is not None and not figures.axle.is_braked:
        return Check(
            "brakes",
            "Brakes",
            NOT_MET,
            f"braked model, but {figures.axle.code} has no brakes",
            working,
            rules=rules,
        )
    if figures.is_braked and figures.coupling is not None and not figures.coupling.is_overrun:
        return needs_person(
            "brakes", "Brakes", f"{figures.coupling.code} does not work overrun brakes", rules
        )
    says = f"{word}; brakes {'are asked for' if needs_brakes else 'are not asked for'}"
    return Check("brakes", "Brakes", MET, says, working, rules=rules)


def _breakaway(figures: Figures, secondary: Rule) -> Check:
    """Braked: a breakaway cable, or a secondary coupling up to a mass. Unbraked: a secondary coupling."""
    name = "Breakaway cable or secondary coupling"
    if figures.is_braked and figures.duties.get("breakaway"):
        return Check("breakaway", name, MET, "breakaway cable in the bill", rules=(secondary,))
    if figures.duties.get("secondary"):
        is_met = not figures.is_braked or figures.max_mass_kg <= secondary.figure
        says = f"secondary coupling in the bill, accepted up to {secondary.figure:.0f} kg"
        return Check("breakaway", name, MET if is_met else NOT_MET, says, rules=(secondary,))
    if not (figures.is_on_record("breakaway") and figures.is_on_record("secondary")):
        return needs_person("breakaway", name, "no part is on record as one or the other", (secondary,))
    return Check("breakaway", name, NOT_MET, "neither is in the bill", rules=(secondary,))


def size_checks(figures: Figures, rules: Rules) -> Iterator[Check]:
    """Width and length against the limits of the market."""
    width = rules.get("width_most_mm")
    if width is None:
        yield needs_person("width", "Width", f"No limit of width is written down for {rules.market}")
    else:
        yield at_most(
            "width", "Overall width", figures.width_mm, width.figure, "mm", "of the model", rules=(width,)
        )
    yield _length(figures, rules)


def _length(figures: Figures, rules: Rules) -> Check:
    needed = ("length_as", "length_most_mm", "length_heavy_most_mm", "heavy_vehicle_kg")
    if lacking := unruled("length", "Length", rules, needed):
        return lacking
    goes_by, light, heavy, line = (rules.by_subject[subject] for subject in needed)
    length, words = length_by(figures, goes_by)
    towing = figures.vehicle.max_mass_kg if figures.vehicle else None
    limit = heavy if towing is not None and line.bites(towing) else light
    check = at_most("length", "Length", length, limit.figure, "mm", words, rules=(goes_by, limit))
    if check.outcome == NOT_MET and towing is None and length <= heavy.figure:
        why = f"{check.says}; behind a heavier vehicle {heavy.figure:.0f} mm: give the towing vehicle"
        return Check("length", "Length", PERSON, why, words, check.margin, (goes_by, limit, heavy))
    return check
