"""Writes the catalogue: models with their finishes, options, rules, and the variants of repeat customers."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from bom.catalogue.models import (
    ModelFinish,
    ModelOption,
    OptionChoice,
    OptionGroup,
    OptionRule,
    TrailerModel,
    Variant,
    VariantChoice,
    VariantColour,
)
from bom.items.models import Colour, Item
from production.site.demo.catalogue import (
    DUPLEX,
    GALVANISED,
    GROUPS,
    MODELS,
    PAINTED,
    RULES,
    Model,
    offers,
    price_on,
    standard_choice,
)

_VERSION_AGE = timedelta(weeks=30)


@dataclass(frozen=True)
class NamedVariant:
    """A repeat customer's set-up: what differs from the standard choices, and the agreed price."""

    code: str
    name: str
    customer: str
    model: str
    finish: str
    colours: Mapping[str, str]
    choices: Mapping[str, str]
    price: int
    earlier: "Earlier | None" = None


@dataclass(frozen=True)
class Earlier:
    """The version before: what it chose, what it cost, and what the present one changed about it."""

    choices: Mapping[str, str]
    price: int
    changed: str


VARIANTS = (
    NamedVariant(
        "marrow-day",
        "Marrowmouth day boat set-up",
        "MARROW",
        "B1300",
        GALVANISED,
        {"port": "red", "starboard": "blue"},
        {"supports": "rollers", "lights": "submersible"},
        3440,
        Earlier(
            {"supports": "rollers"},
            3290,
            "submersible lamps, because the day boats are launched from the slip",
        ),
    ),
    NamedVariant(
        "marrow-cruiser",
        "Marrowmouth cruiser set-up",
        "MARROW",
        "T2700",
        GALVANISED,
        {"port": "blue", "starboard": "blue"},
        {"wash": "kit", "spare": "wheel"},
        6490,
    ),
    NamedVariant(
        "quay-club",
        "Quaythorpe club boat set-up",
        "QUAY",
        "U500",
        PAINTED,
        {"port": "yellow", "starboard": "yellow", "powder": "blue"},
        {"supports": "keel", "lights": "board"},
        1840,
    ),
    NamedVariant(
        "skelder-rib",
        "Skelderby safety boat set-up",
        "SKELDER",
        "B1500",
        DUPLEX,
        {"port": "black", "starboard": "black", "powder": "grey"},
        {"supports": "rollers", "winch": "w1200", "lights": "submersible", "wash": "kit"},
        4090,
    ),
    NamedVariant(
        "osgarth-fisher",
        "Osgarth fishing boat set-up",
        "OSGARTH",
        "B1800",
        GALVANISED,
        {"port": "orange", "starboard": "orange"},
        {"supports": "bunks", "winch": "w1200", "guides": "poles"},
        3480,
    ),
    NamedVariant(
        "tiddle-launch",
        "Tiddlestow launch set-up",
        "TIDDLE",
        "T2000",
        DUPLEX,
        {"port": "grey", "starboard": "grey", "powder": "green"},
        {"supports": "rollers", "lights": "submersible", "wash": "kit"},
        6240,
        Earlier(
            {"supports": "rollers", "lights": "submersible"},
            5990,
            "with the brake wash kit, after two seized drums",
        ),
    ),
)


@dataclass(frozen=True)
class Offered:
    """Catalogue rows by their codes; a choice by (group, choice)."""

    models: Mapping[str, TrailerModel]
    choices: Mapping[tuple[str, str], OptionChoice]
    variants: Mapping[str, Variant]


def add_catalogue(items: Mapping[str, Item], colours: Mapping[str, Colour]) -> Offered:
    models = {model.code: _model(model, items) for model in MODELS}
    ModelFinish.objects.bulk_create(
        ModelFinish(model=models[model.code], finish=finish, price=Decimal(price))
        for model in MODELS
        for finish, price in model.finishes.items()
    )
    choices = _add_choices()
    ModelOption.objects.bulk_create(
        ModelOption(
            model=models[model.code],
            choice=choices[group.code, choice.code],
            is_default=choice is standard_choice(model, group),
            price=Decimal(price_on(model, choice)),
        )
        for model in MODELS
        for group in GROUPS
        for choice in group.choices
        if offers(model, choice)
    )
    OptionRule.objects.bulk_create(
        OptionRule(model=models.get(rule.model), when=rule.when, then=rule.then, sentence=rule.sentence)
        for rule in RULES
    )
    return Offered(models, choices, _add_variants(models, choices, colours))


def variant_choices(variant: NamedVariant, model: Model) -> dict[str, str]:
    """The whole set of choices of a variant: the standard ones and what it changes."""
    return {group.code: standard_choice(model, group).code for group in GROUPS} | dict(variant.choices)


def _model(model: Model, items: Mapping[str, Item]) -> TrailerModel:
    return TrailerModel.objects.create(
        code=model.code,
        name=model.name,
        item=items[model.top],
        max_mass_kg=model.max_mass_kg,
        axles=model.axles,
        braked=model.braked,
        own_mass_kg=model.own_mass_kg,
        length_mm=model.length_mm,
        width_mm=model.width_mm,
        hull_length_min_mm=model.hulls_mm[0],
        hull_length_max_mm=model.hulls_mm[1],
        base_price=Decimal(model.price),
    )


def _add_choices() -> dict[tuple[str, str], OptionChoice]:
    found = {}
    for sequence, group in enumerate(GROUPS, start=1):
        row = OptionGroup.objects.create(code=group.code, name=group.name, sequence=sequence * 10)
        for place, choice in enumerate(group.choices, start=1):
            found[group.code, choice.code] = OptionChoice.objects.create(
                group=row, code=choice.code, name=choice.name, sequence=place * 10
            )
    return found


def _add_variants(
    models: Mapping[str, TrailerModel],
    choices: Mapping[tuple[str, str], OptionChoice],
    colours: Mapping[str, Colour],
) -> dict[str, Variant]:
    plain = {model.code: model for model in MODELS}
    found = {}
    for named in VARIANTS:
        version, note = 1, ""
        if named.earlier:
            before = replace(named, choices=named.earlier.choices, price=named.earlier.price)
            row = _variant(before, models, is_current=False, made_at=timezone.now() - _VERSION_AGE)
            _fill(row, before, plain, choices, colours)
            version, note = 2, named.earlier.changed
        row = _variant(named, models, version=version, note=note)
        _fill(row, named, plain, choices, colours)
        found[named.code] = row
    return found


def _variant(named: NamedVariant, models: Mapping[str, TrailerModel], **more: Any) -> Variant:
    return Variant.objects.create(
        code=named.code,
        name=named.name,
        model=models[named.model],
        finish=named.finish,
        price=Decimal(named.price),
        **more,
    )


def _fill(
    row: Variant,
    named: NamedVariant,
    plain: Mapping[str, Model],
    choices: Mapping[tuple[str, str], OptionChoice],
    colours: Mapping[str, Colour],
) -> None:
    VariantChoice.objects.bulk_create(
        VariantChoice(variant=row, choice=choices[pair])
        for pair in variant_choices(named, plain[named.model]).items()
    )
    VariantColour.objects.bulk_create(
        VariantColour(variant=row, place=place, colour=colours[code]) for place, code in named.colours.items()
    )
