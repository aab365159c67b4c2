"""What is ordered: model, finish, choices, colours, hull and date of each order, drawn from the seed.

Every wish keeps to the catalogue: the hull fits the model, the finish is permitted, the rules hold.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from random import Random

from bom.structure.conditions import Scope, compile_condition
from production.site.demo.catalogue import (
    GALVANISED,
    GROUPS,
    MODELS,
    RULES,
    Model,
    offers,
    price_on,
    standard_choice,
)
from production.site.demo.colours import POWDERS, ROLLERS
from production.site.demo.customers import boat_name, buyers
from production.site.demo.offers import VARIANTS, NamedVariant, variant_choices

_SHARES = {
    "U400": 4,
    "U500": 7,
    "U750": 12,
    "B1000": 12,
    "B1300": 16,
    "B1500": 16,
    "B1800": 12,
    "T2000": 9,
    "T2700": 8,
    "T3500": 4,
}
_BY_CODE = {model.code: model for model in MODELS}
_GEAR_KG = 25
_TRIES = 200
# After so many orders most are repeats: the same boat built again, on the same trailer.
_FIRST_OF_THEIR_KIND = 120
_REPEATS = 0.9


@dataclass(frozen=True)
class Boat:
    name: str
    mass_kg: int
    length_mm: int
    beam_mm: int
    bow_to_transom_mm: int
    centre_of_gravity_mm: int | None
    is_measured: bool


@dataclass(frozen=True)
class Wish:
    customer: str
    model: Model
    variant: str
    finish: str
    choices: Mapping[str, str]
    colours: Mapping[str, str]
    boat: Boat
    asked_for: date
    weight: int
    price: int

    def scope(self) -> Scope:
        """What conditions may look at."""
        return scope_of(self.model, self.finish, self.choices, self.colours, self.boat)


def scope_of(
    model: Model, finish: str, choices: Mapping[str, str], colours: Mapping[str, str], boat: Boat
) -> Scope:
    return Scope(
        option=choices,
        colour=colours,
        finish=finish,
        model={
            "axles": model.axles,
            "braked": model.braked,
            "code": model.code,
            "length_mm": model.length_mm,
            "max_mass_kg": model.max_mass_kg,
            "own_mass_kg": model.own_mass_kg,
            "width_mm": model.width_mm,
        },
        hull={
            "beam_mm": boat.beam_mm,
            "bow_to_transom_mm": boat.bow_to_transom_mm,
            "centre_of_gravity_mm": boat.centre_of_gravity_mm,
            "length_mm": boat.length_mm,
            "mass_kg": boat.mass_kg,
        },
    )


def draw_wishes(
    random: Random, count: int, scale: int, days: Sequence[date], *, already: int = 0
) -> list[Wish]:
    """So many wishes, asked for on days spread evenly over `days`, the earliest first.

    Boats are named on from the `already` named ones.
    """
    private = [buyer.code for buyer in buyers(scale) if not buyer.is_trade]
    wishes: list[Wish] = []
    for number in range(count):
        asked_for = days[number * len(days) // count]
        if number >= _FIRST_OF_THEIR_KIND and random.random() < _REPEATS:
            again = wishes[random.randrange(_FIRST_OF_THEIR_KIND)]
            boat = replace(again.boat, name=boat_name(already + number))
            wishes.append(replace(again, boat=boat, asked_for=asked_for))
            continue
        trade = random.random() < 0.45
        named = random.choice(VARIANTS) if trade else None
        wishes.append(_wish(random, already + number, asked_for, named, private))
    return wishes


def _wish(
    random: Random, number: int, asked_for: date, named: NamedVariant | None, private: Sequence[str]
) -> Wish:
    model = _BY_CODE[named.model if named else random.choices(list(_SHARES), list(_SHARES.values()))[0]]
    customer = named.customer if named else random.choice(private)
    weight = random.choices((1, 2, 3), (80, 15, 5))[0]
    for attempt in range(_TRIES):
        boat = _boat(random, number, model)
        if named:
            finish, choices, colours = named.finish, variant_choices(named, model), dict(named.colours)
        else:
            finish = random.choices(list(model.finishes), [5, 2, 2][: len(model.finishes)])[0]
            choices = _choices(random, model, plain=attempt > _TRIES // 2)
            colours = _colours(random, finish, one_colour=choices["supports"] == "keel")
        if _keeps_the_rules(model, scope_of(model, finish, choices, colours, boat)):
            price = named.price if named else _price(model, finish, choices)
            code = named.code if named else ""
            return Wish(customer, model, code, finish, choices, colours, boat, asked_for, weight, price)
    raise ValueError(f"No permitted trailer found for model {model.code}; the rules contradict each other.")


def _boat(random: Random, number: int, model: Model) -> Boat:
    length = random.randrange(*model.hulls_mm, 10)
    limit = model.max_mass_kg - model.own_mass_kg - _GEAR_KG
    shortest, longest = model.hulls_mm
    share = 0.62 + 0.28 * (length - shortest) / (longest - shortest) + random.uniform(-0.05, 0.05)
    is_measured = random.random() < 0.3
    centre = round(length * random.uniform(0.36, 0.42), -1)
    return Boat(
        boat_name(number),
        mass_kg=int(limit * share / 5) * 5,
        length_mm=length,
        beam_mm=int(round(700 + length * random.uniform(0.19, 0.24), -1)),
        bow_to_transom_mm=int(round(length * random.uniform(0.95, 0.99), -1)),
        centre_of_gravity_mm=int(centre) if is_measured or random.random() < 0.6 else None,
        is_measured=is_measured,
    )


def _choices(random: Random, model: Model, *, plain: bool) -> dict[str, str]:
    """Mostly the standard answers; now and then another that the model offers."""
    found = {}
    for group in GROUPS:
        offered = [choice for choice in group.choices if offers(model, choice)]
        keep = plain or random.random() < 0.6
        found[group.code] = (standard_choice(model, group) if keep else random.choice(offered)).code
    return found


def _colours(random: Random, finish: str, *, one_colour: bool) -> dict[str, str]:
    port = random.choices(ROLLERS, (8, 5, 3, 2, 2, 1))[0]
    starboard = port if one_colour or random.random() < 0.8 else random.choice(ROLLERS)
    colours = {"port": port, "starboard": starboard}
    if finish != GALVANISED:
        colours["powder"] = random.choice(POWDERS)
    return colours


def _keeps_the_rules(model: Model, scope: Scope) -> bool:
    rules = [rule for rule in RULES if rule.model in ("", model.code)]
    return all(
        not compile_condition(rule.when).holds(scope) or compile_condition(rule.then).holds(scope)
        for rule in rules
    )


def _price(model: Model, finish: str, choices: Mapping[str, str]) -> int:
    added = sum(
        price_on(model, choice)
        for group in GROUPS
        for choice in group.choices
        if choices[group.code] == choice.code
    )
    return model.price + model.finishes[finish] + added
