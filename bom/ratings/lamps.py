"""Lamps and reflectors: which are asked for by width, length and mass, and whether the bill has them."""

from collections.abc import Iterator, Sequence

from bom.ratings.figures import (
    MET,
    NOT_MET,
    PERSON,
    Check,
    Figures,
    category_mass_kg,
    length_by,
    needs_person,
    unruled,
)
from bom.ratings.rules import ASK, NO, Rule, Rules


def lamp_checks(figures: Figures, rules: Rules) -> Iterator[Check]:
    """Every lamp and reflector, and whether they may hang on a removable board."""
    yield from _by_size(
        figures, rules, "front_lamps_mm", "front_lamp", "Front position lamps", figures.width_mm, 2
    )
    yield from _by_size(
        figures, rules, "outline_lamps_mm", "outline_lamp", "End-outline marker lamps", figures.width_mm, 2
    )
    yield _side_lamps(figures, rules)
    yield from _by_size(figures, rules, "fog_lamp_mm", "fog_lamp", "Rear fog lamp", figures.width_mm, 1)
    kg = category_mass_kg(figures, rules)
    yield from _by_size(figures, rules, "reversing_lamp_kg", "reversing_lamp", "Reversing lamp", kg, 1, "kg")
    for duty, name, count in (
        ("rear_lamp", "Rear position, stop and direction lamps", 2),
        ("plate_lamp", "Number plate lamp", 1),
        ("triangle", "Rear reflectors, triangles", 2),
        ("side_reflector", "Side reflectors", 2),
        ("front_reflector", "Front reflectors", 2),
    ):
        yield _carried(figures, duty, name, count, "asked for on every trailer", (), "UN R48, from memory")
    yield _board(figures, rules)


def _by_size(
    figures: Figures,
    rules: Rules,
    subject: str,
    duty: str,
    name: str,
    amount: float,
    count: int,
    unit: str = "mm",
) -> Iterator[Check]:
    rule = rules.get(subject)
    if rule is None:
        yield needs_person(
            duty, name, f"No rule of {rules.market or 'this market'} says when they are asked for"
        )
        return
    words = "from" if rule.edge == "from" else "over"
    because = f"{amount:.0f} {unit}; asked for {words} {rule.figure:.0f} {unit}"
    if rule.bites(amount):
        yield _carried(figures, duty, name, count, because, (rule,))
    else:
        yield Check(duty, name, MET, f"not asked for at {amount:.0f} {unit}", because, rules=(rule,))


def _carried(
    figures: Figures,
    duty: str,
    name: str,
    count: int,
    because: str,
    rules: Sequence[Rule],
    source: str = "",
) -> Check:
    there = figures.duties.get(duty, 0)
    if there < count and not figures.is_on_record(duty):
        why = f"{count} asked for, but no part is on record as one"
        return Check(duty, name, PERSON, why, because, None, tuple(rules), source)
    outcome = MET if there >= count else NOT_MET
    return Check(
        duty, name, outcome, f"{count} asked for, {there} in the bill", because, None, tuple(rules), source
    )


def _side_lamps(figures: Figures, rules: Rules) -> Check:
    name, duty = "Side marker lamps", "side_lamp"
    needed = ("side_lamps_mm", "side_lamps_as", "side_lamps_boats", "side_lamps_gap_mm")
    if lacking := unruled(duty, name, rules, needed):
        return lacking
    line, goes_by, boats, gap = (rules.by_subject[subject] for subject in needed)
    length, words = length_by(figures, goes_by)
    because = f"{words}; asked for {line.edge or 'over'} {line.figure:.0f} mm"
    if not line.bites(length):
        return Check(duty, name, MET, f"not asked for at {length:.0f} mm", because, rules=(line, goes_by))
    count = 2 * side_lamps_a_side(figures.length_mm, gap.figure)
    if boats.word == NO:
        return Check(duty, name, MET, "not asked for on boat trailers", because, rules=(line, boats))
    check = _carried(figures, duty, name, count, because, (line, goes_by, gap))
    if boats.word == ASK and check.outcome == NOT_MET:
        return needs_person(duty, name, f"{check.says}; boat trailers may be let off", (line, goes_by, boats))
    return check


def side_lamps_a_side(length_mm: float, gap_mm: float) -> int:
    """The fewest lamps on one side: foremost within the gap of the front, drawbar counted, no wider gap between two,
    the rearmost within 1 m of the rear (the last from memory), and one in the middle third."""
    whole, rest = divmod(length_mm - 1000, gap_mm)
    return max(2, int(whole) + (rest > 0))


def _board(figures: Figures, rules: Rules) -> Check:
    name = "Removable light board"
    if not figures.has_board:
        return Check("board", name, MET, "lamps are fixed to the trailer")
    rule = rules.get("board_allowed")
    if rule is None or rule.word == ASK:
        used = (rule,) if rule else ()
        return needs_person("board", name, "lamps on a removable board: ask whether it is accepted", used)
    outcome = NOT_MET if rule.word == NO else MET
    says = (
        "not accepted" if rule.word == NO else "accepted; it must hang on when driving without or with a load"
    )
    return Check("board", name, outcome, says, rules=(rule,))
