"""What may be ordered: a configuration checked against its model, its price, and the names bills may use.

`Range` is the whole catalogue in memory. Fetch it once and check thousands of configurations with it.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from bom.catalogue.models import (
    ColourPlace,
    Finish,
    ModelFinish,
    ModelOption,
    OptionChoice,
    OptionGroup,
    OptionRule,
    TrailerModel,
)
from bom.items.models import Colour
from bom.kernel.errors import Problem, ProblemError
from bom.structure.conditions import Scope, Value, compile_condition
from bom.structure.expansion import Configuration
from bom.structure.wording import HULL_FIELDS, MODEL_FIELDS, KnownNames

COATED = (Finish.DUPLEX, Finish.PAINTED)


@dataclass(frozen=True)
class Agreed:
    """The price agreed for a named variant, and the finish and choices (group to choice) that it covers."""

    price: Decimal
    finish: str
    choices: Mapping[str, str] = field(default_factory=dict)
    name: str = ""


@dataclass(frozen=True)
class Answers:
    """What an order asks for. `choices` maps group code to choice code, `colours` place to colour code, `hull`
    field to value (mm and kg); `agreed` is what was agreed for a named variant, where a price was."""

    model: str
    finish: str
    choices: Mapping[str, str] = field(default_factory=dict)
    colours: Mapping[str, str] = field(default_factory=dict)
    hull: Mapping[str, Value] = field(default_factory=dict)
    agreed: "Agreed | None" = None


@dataclass(frozen=True)
class Group:
    code: str
    name: str
    is_required: bool


@dataclass(frozen=True)
class Offer:
    """A choice that a model offers."""

    group: str
    choice: str
    name: str
    price: Decimal
    is_default: bool


@dataclass(frozen=True)
class Rule:
    """A rule between choices; `model` is the code of the only model it is for, or "" for every model."""

    model: str
    when: str
    then: str
    sentence: str


@dataclass(frozen=True)
class Range:
    """The models with all they offer, by model code; groups in the order in which they are asked."""

    models: Mapping[str, TrailerModel]
    groups: Mapping[str, Group]
    choices: Mapping[str, Mapping[str, str]]
    finishes: Mapping[str, Mapping[str, Decimal]]
    offers: Mapping[str, Mapping[tuple[str, str], Offer]]
    rules: tuple[Rule, ...]
    colours: Mapping[str, str]

    def offered(self, model: str) -> dict[str, list[Offer]]:
        """The model's offers by group code, groups in the order asked; groups without an offer are left out."""
        by_group: dict[str, list[Offer]] = {code: [] for code in self.groups}
        for offer in self.offers.get(model, {}).values():
            by_group[offer.group].append(offer)
        return {code: offers for code, offers in by_group.items() if offers}

    def standard(self, model: str) -> dict[str, str]:
        """The model's standard choice by group."""
        return {
            offer.group: offer.choice for offer in self.offers.get(model, {}).values() if offer.is_default
        }

    def rules_for(self, model: str) -> Iterator[Rule]:
        return (rule for rule in self.rules if rule.model in ("", model))


def load_range() -> Range:
    """The whole catalogue, groups without any choice left out. Six queries whatever its size."""
    choices: dict[str, dict[str, str]] = defaultdict(dict)
    groups: dict[str, Group] = {}
    for group, group_name, is_required, code, name in OptionChoice.objects.order_by(
        "group__sequence", "group__code", "sequence", "code"
    ).values_list("group__code", "group__name", "group__is_required", "code", "name"):
        groups.setdefault(group, Group(group, group_name, is_required))
        choices[group][code] = name
    rules = OptionRule.objects.order_by("pk").values_list("model__code", "when", "then", "sentence")
    return replace(
        priced_range(),
        groups=groups,
        choices=choices,
        rules=tuple(Rule(model or "", when, then, sentence) for model, when, then, sentence in rules),
        colours=dict(Colour.objects.values_list("code", "name")),
    )


def priced_range() -> Range:
    """The models with what they offer at which price, without rules and colours: enough for `price_of`. Three
    queries."""
    finishes: dict[str, dict[str, Decimal]] = defaultdict(dict)
    for model, finish, price in ModelFinish.objects.values_list("model__code", "finish", "price"):
        finishes[model][finish] = price
    offers: dict[str, dict[tuple[str, str], Offer]] = defaultdict(dict)
    groups: dict[str, Group] = {}
    for model, group, group_name, choice, name, price, is_default in ModelOption.objects.order_by(
        "choice__sequence", "choice__code"
    ).values_list(
        "model__code",
        "choice__group__code",
        "choice__group__name",
        "choice__code",
        "choice__name",
        "price",
        "is_default",
    ):
        groups.setdefault(group, Group(group, group_name, is_required=False))
        offers[model][group, choice] = Offer(group, choice, name, price, is_default)
    return Range(
        models={model.code: model for model in TrailerModel.objects.select_related("item")},
        groups=groups,
        choices={},
        finishes=finishes,
        offers=offers,
        rules=(),
        colours={},
    )


def known_names() -> KnownNames:
    """The names that conditions of bills and option rules may use, from the catalogue as it is. Three queries."""
    options: dict[str, list[str]] = {code: [] for code in OptionGroup.objects.values_list("code", flat=True)}
    for group, choice in OptionChoice.objects.values_list("group__code", "code"):
        options[group].append(choice)
    colours = Colour.objects.order_by("code").values_list("code", flat=True)
    return KnownNames.of(options=options, colours=colours, finishes=Finish.values)


def configuration_of(answers: Answers, catalogue: Range) -> Configuration:
    """What expressions may look at. ProblemError where the model is unknown."""
    model = _model(answers, catalogue)
    return Scope(
        option=dict(answers.choices),
        colour=dict(answers.colours),
        finish=answers.finish,
        model={name: getattr(model, name) for name, _ in MODEL_FIELDS},
        hull={name: answers.hull.get(name) for name, _ in HULL_FIELDS},
    )


def problems_of(answers: Answers, catalogue: Range) -> list[Problem]:
    """Everything that stops this configuration from being built; an empty list when nothing does."""
    if answers.model not in catalogue.models:
        return [_unknown_model(answers, catalogue)]
    problems = [
        *_finish_problems(answers, catalogue),
        *_choice_problems(answers, catalogue),
        *_colour_problems(answers, catalogue),
        *_hull_problems(answers, catalogue),
    ]
    # A rule over choices that are missing or unknown would only repeat the same in other words.
    return problems or list(_rule_problems(answers, catalogue))


def price_of(answers: Answers, catalogue: Range) -> Decimal:
    """The price of one trailer: the sum of `price_lines`."""
    return sum((amount for _, amount in price_lines(answers, catalogue)), Decimal(0))


def price_lines(answers: Answers, catalogue: Range) -> list[tuple[str, Decimal]]:
    """The working of a price: what each part adds, as (in words, amount).

    Model, finish and choices at list prices; or, where a price was agreed for a named variant, that price and what
    the answers change about the variant at the difference of list prices.
    """
    model = _model(answers, catalogue)
    if answers.agreed is not None:
        return [
            (answers.agreed.name or "as agreed", answers.agreed.price),
            *_changed(answers, answers.agreed, catalogue),
        ]
    offers = catalogue.offers.get(answers.model, {})
    chosen = [offers[pair] for pair in answers.choices.items() if pair in offers]
    finish = catalogue.finishes.get(answers.model, {}).get(answers.finish, Decimal(0))
    return [
        (f"{model.code} {model.name}", model.base_price),
        (_finish_name(answers.finish), finish),
        *((f"{catalogue.groups[offer.group].name}: {offer.name}", offer.price) for offer in chosen),
    ]


def _changed(answers: Answers, agreed: Agreed, catalogue: Range) -> Iterator[tuple[str, Decimal]]:
    """What differs from the variant as agreed, each at the difference of its list prices."""
    finishes, nothing = catalogue.finishes.get(answers.model, {}), Decimal(0)
    if answers.finish != agreed.finish:
        difference = finishes.get(answers.finish, nothing) - finishes.get(agreed.finish, nothing)
        yield f"{_finish_name(answers.finish)} instead of {_finish_name(agreed.finish)}", difference
    offers = catalogue.offers.get(answers.model, {})
    covered = {**catalogue.standard(answers.model), **agreed.choices}
    for code, group in catalogue.groups.items():
        now, before = (
            offers.get((code, answers.choices.get(code, ""))),
            offers.get((code, covered.get(code, ""))),
        )
        if now != before:
            words = f"{now.name if now else 'none'} instead of {before.name if before else 'none'}"
            amount = (now.price if now else nothing) - (before.price if before else nothing)
            yield f"{group.name}: {words}", amount


def _model(answers: Answers, catalogue: Range) -> TrailerModel:
    if answers.model not in catalogue.models:
        raise ProblemError(_unknown_model(answers, catalogue))
    return catalogue.models[answers.model]


def _unknown_model(answers: Answers, catalogue: Range) -> Problem:
    return Problem(f"There is no model {answers.model}", "model", f"There are: {_listed(catalogue.models)}.")


def _finish_name(code: str) -> str:
    return Finish(code).label if code in Finish.values else code


def _finish_problems(answers: Answers, catalogue: Range) -> Iterator[Problem]:
    permitted = catalogue.finishes.get(answers.model, {})
    if answers.finish in permitted:
        return
    names = _listed(_finish_name(code) for code in permitted)
    mend = f"Permitted are: {names}." if permitted else "State on the model which finishes it permits."
    yield Problem(
        f"Model {answers.model} is not made in the finish “{_finish_name(answers.finish)}”", "finish", mend
    )


def _choice_problems(answers: Answers, catalogue: Range) -> Iterator[Problem]:
    offered = catalogue.offered(answers.model)
    for code, offers in offered.items():
        group = catalogue.groups[code]
        if group.is_required and not answers.choices.get(code):
            names = _listed(offer.name for offer in offers)
            yield Problem(f"{group.name}: nothing is chosen", f"option {code}", f"Choose one of: {names}.")
    for code, choice in answers.choices.items():
        if code not in catalogue.groups:
            yield Problem(
                f"There is no option group {code}",
                f"option {code}",
                f"There are: {_listed(catalogue.groups)}.",
            )
        elif (code, choice) not in catalogue.offers.get(answers.model, {}):
            yield _not_offered(answers, code, choice, catalogue)


def _not_offered(answers: Answers, code: str, choice: str, catalogue: Range) -> Problem:
    name = catalogue.choices.get(code, {}).get(choice, choice)
    names = _listed(offer.name for offer in catalogue.offered(answers.model).get(code, []))
    mend = f"It offers: {names}." if names else "It offers nothing there; leave it out."
    return Problem(
        f"Model {answers.model} does not offer {catalogue.groups[code].name}: {name}", f"option {code}", mend
    )


def _colour_problems(answers: Answers, catalogue: Range) -> Iterator[Problem]:
    for place, colour in answers.colours.items():
        if place not in ColourPlace.values:
            yield Problem(
                f"There is no colour place {place}", "colour", f"There are: {_listed(ColourPlace.values)}."
            )
        elif colour not in catalogue.colours:
            yield Problem(
                f"There is no colour {colour}", f"colour {place}", f"There are: {_listed(catalogue.colours)}."
            )
    has_powder = bool(answers.colours.get(ColourPlace.POWDER))
    if (
        answers.finish in COATED
        and answers.finish in catalogue.finishes.get(answers.model, {})
        and not has_powder
    ):
        yield Problem(
            f"The finish “{_finish_name(answers.finish)}” needs a powder colour",
            "colour powder",
            "Choose the colour of the powder coat.",
        )
    if answers.finish == Finish.GALVANISED and has_powder:
        yield Problem(
            "A galvanised trailer has no powder coat, but a powder colour is chosen",
            "colour powder",
            "Leave the powder colour out, or choose a finish with powder coat.",
        )


def _hull_problems(answers: Answers, catalogue: Range) -> Iterator[Problem]:
    model = catalogue.models[answers.model]
    length = answers.hull.get("length_mm")
    if isinstance(length, int) and not model.hull_length_min_mm <= length <= model.hull_length_max_mm:
        fitting = [
            one.code
            for one in catalogue.models.values()
            if one.is_active and one.hull_length_min_mm <= length <= one.hull_length_max_mm
        ]
        yield Problem(
            f"The hull is {length} mm long; model {model.code} carries hulls of "
            f"{model.hull_length_min_mm} to {model.hull_length_max_mm} mm",
            "hull length",
            f"Models for this length: {_listed(fitting)}." if fitting else "No model carries this length.",
        )


def _rule_problems(answers: Answers, catalogue: Range) -> Iterator[Problem]:
    scope = configuration_of(answers, catalogue)
    unknown: set[str] = set()
    for rule in catalogue.rules_for(answers.model):
        try:
            if missing := _unknown_of_hull(rule, scope):
                unknown |= missing
                continue
            broken = compile_condition(rule.when).holds(scope) and not compile_condition(rule.then).holds(
                scope
            )
        except ProblemError as error:
            yield from error.within(f"option rule “{rule.sentence}”").problems
            continue
        if broken:
            yield Problem(rule.sentence, "options", f"It holds when {rule.when}; then {rule.then} is needed.")
    for name in sorted(unknown):
        words = name.rpartition("_")[0].replace("_", " ")
        yield Problem(
            f"The {words} of the hull is not filled in", f"hull {name}", "A rule of this model needs it."
        )


def _unknown_of_hull(rule: Rule, scope: Scope) -> set[str]:
    """Fields of the hull that the rule needs and nobody has filled in."""
    names = (*compile_condition(rule.when).references, *compile_condition(rule.then).references)
    return {name.member for name in names if name.root == "hull" and scope.hull.get(name.member) is None}


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names)
