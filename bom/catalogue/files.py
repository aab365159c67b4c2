"""Options and prices as tables: models with their base prices, option groups, choices, what each model offers at which
price, finishes, and the rules between choices. Out and in again without loss (see `bom.items.sheets`)."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.db.models import Count

from bom.catalogue.configuring import known_names
from bom.catalogue.in_use import broken_expressions
from bom.catalogue.models import (
    Finish,
    ModelFinish,
    ModelOption,
    OptionChoice,
    OptionGroup,
    OptionRule,
    TrailerModel,
    VariantChoice,
)
from bom.items.sheets import Desk, Key, Places, Sheet, amount, named, small
from bom.items.uploads import number, text, yes_no
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.workbooks import Row, Table
from bom.structure.conditions import compile_condition
from bom.structure.wording import KnownNames


def _given(row: Row, name: str) -> bool:
    return name in row.letters


def _code(row: Row, column: str) -> str:
    found = text(row, column)
    if not found:
        raise ProblemError(Problem("No code is written", row.where(column), "Write its code."))
    return found


class ModelSheet(Sheet[TrailerModel]):
    """Names, base prices and whether a model is offered; models themselves are made with their bills."""

    table = Table("models", ("model", "base_price"), ("name", "active"))
    is_fixed = True

    def standing(self) -> dict[Key, TrailerModel]:
        return {(one.code,): one for one in TrailerModel.objects.order_by("max_mass_kg", "code")}

    def read(self, row: Row) -> tuple[Key, dict[str, Any]]:
        values: dict[str, Any] = {"base_price": amount(row, "base_price")}
        if _given(row, "name"):
            values["name"] = text(row, "name")
        if _given(row, "active"):
            values["is_active"] = yes_no(row, "active", empty=True)
        return (_code(row, "model"),), values

    def new(self, key: Key) -> TrailerModel:
        return TrailerModel(code=key[0])

    def words(self, key: Key) -> str:
        return f"model {key[0]}"

    def cells(self, one: TrailerModel) -> tuple[Any, ...]:
        return (one.code, one.base_price, one.name, _yes(one.is_active))


class GroupSheet(Sheet[OptionGroup]):
    table = Table("groups", ("group", "name"), ("sequence", "required"))

    def standing(self) -> dict[Key, OptionGroup]:
        return {(one.code,): one for one in OptionGroup.objects.order_by("sequence", "code")}

    def read(self, row: Row) -> tuple[Key, dict[str, Any]]:
        values: dict[str, Any] = {"name": text(row, "name")}
        if _given(row, "sequence"):
            values["sequence"] = small(row, "sequence")
        if _given(row, "required"):
            values["is_required"] = yes_no(row, "required", empty=True)
        return (_code(row, "group"),), values

    def new(self, key: Key) -> OptionGroup:
        return OptionGroup(code=key[0])

    def cells(self, one: OptionGroup) -> tuple[Any, ...]:
        return (one.code, one.name, one.sequence, _yes(one.is_required))

    def needed_by(self, gone: Sequence[OptionGroup]) -> Iterator[tuple[OptionGroup, str]]:
        held = dict(
            OptionChoice.objects.filter(group__in=gone)
            .order_by()
            .values_list("group")
            .annotate(all=Count("pk"))
        )
        return ((one, f"{held[one.pk]} choices stand in it") for one in gone if one.pk in held)


class ChoiceSheet(Sheet[OptionChoice]):
    table = Table("choices", ("group", "choice", "name"), ("sequence",))

    @cached_property
    def groups(self) -> dict[str, OptionGroup]:
        return {one.code: one for one in OptionGroup.objects.all()}

    def standing(self) -> dict[Key, OptionChoice]:
        rows = OptionChoice.objects.select_related("group")
        ordered = rows.order_by("group__sequence", "group__code", "sequence", "code")
        return {(one.group.code, one.code): one for one in ordered}

    def read(self, row: Row) -> tuple[Key, dict[str, Any]]:
        group = named(row, "group", text(row, "group"), self.groups)
        values: dict[str, Any] = {"name": text(row, "name")}
        if _given(row, "sequence"):
            values["sequence"] = small(row, "sequence")
        return (group.code, _code(row, "choice")), values

    def new(self, key: Key) -> OptionChoice:
        return OptionChoice(group=self.groups[key[0]], code=key[1])

    def cells(self, one: OptionChoice) -> tuple[Any, ...]:
        return (one.group.code, one.code, one.name, one.sequence)

    def needed_by(self, gone: Sequence[OptionChoice]) -> Iterator[tuple[OptionChoice, str]]:
        offered = _counted(ModelOption.objects.filter(choice__in=gone))
        in_variants = _counted(VariantChoice.objects.filter(choice__in=gone))
        for one in gone:
            if one.pk in offered:
                yield one, f"{offered[one.pk]} models offer it"
            elif one.pk in in_variants:
                yield one, f"{in_variants[one.pk]} versions of named variants have it"


class OfferSheet(Sheet[ModelOption]):
    """What each model offers; `standard` marks the choice that is taken where nothing is said."""

    table = Table("offers", ("model", "group", "choice", "price"), ("standard",))

    @cached_property
    def models(self) -> dict[str, TrailerModel]:
        return {one.code: one for one in TrailerModel.objects.all()}

    @cached_property
    def choices(self) -> dict[tuple[str, str], OptionChoice]:
        return {(one.group.code, one.code): one for one in OptionChoice.objects.select_related("group")}

    def standing(self) -> dict[Key, ModelOption]:
        rows = ModelOption.objects.select_related("model", "choice__group").order_by(
            "model__max_mass_kg",
            "model__code",
            "choice__group__sequence",
            "choice__group__code",
            "choice__sequence",
            "choice__code",
        )
        return {(one.model.code, one.choice.group.code, one.choice.code): one for one in rows}

    def read(self, row: Row) -> tuple[Key, dict[str, Any]]:
        model = named(row, "model", text(row, "model"), self.models)
        pair = (text(row, "group"), text(row, "choice"))
        named(row, "choice", " ".join(pair).strip(), self.choices, pair)
        values: dict[str, Any] = {"price": _price(row)}
        if _given(row, "standard"):
            values["is_default"] = yes_no(row, "standard")
        return (model.code, *pair), values

    def new(self, key: Key) -> ModelOption:
        return ModelOption(model=self.models[key[0]], choice=self.choices[key[1], key[2]])

    def words(self, key: Key) -> str:
        return f"{key[0]}: {key[1]} {key[2]}"

    def cells(self, one: ModelOption) -> tuple[Any, ...]:
        return (one.model.code, one.choice.group.code, one.choice.code, one.price, _yes(one.is_default))


class FinishSheet(Sheet[ModelFinish]):
    table = Table("finishes", ("model", "finish", "price"))

    @cached_property
    def models(self) -> dict[str, TrailerModel]:
        return {one.code: one for one in TrailerModel.objects.all()}

    def standing(self) -> dict[Key, ModelFinish]:
        rows = ModelFinish.objects.select_related("model").order_by(
            "model__max_mass_kg", "model__code", "finish"
        )
        return {(one.model.code, one.finish): one for one in rows}

    def read(self, row: Row) -> tuple[Key, dict[str, Any]]:
        model = named(row, "model", text(row, "model"), self.models)
        finish = text(row, "finish")
        if finish not in Finish.values:
            raise ProblemError(
                Problem(
                    f"There is no finish {finish}" if finish else "No finish is written",
                    row.where("finish"),
                    f"There are: {', '.join(Finish.values)}.",
                )
            )
        return (model.code, finish), {"price": _price(row)}

    def new(self, key: Key) -> ModelFinish:
        return ModelFinish(model=self.models[key[0]], finish=key[1])

    def words(self, key: Key) -> str:
        return f"{key[0]}: {key[1]}"

    def cells(self, one: ModelFinish) -> tuple[Any, ...]:
        return (one.model.code, one.finish, one.price)


class RuleSheet(Sheet[OptionRule]):
    """Rules have no code: one is known by its two conditions, else by its sentence."""

    table = Table("rules", ("when", "then", "sentence"), ("model",))

    @cached_property
    def models(self) -> dict[str, TrailerModel]:
        return {one.code: one for one in TrailerModel.objects.all()}

    @cached_property
    def names(self) -> KnownNames:
        return known_names()

    def standing(self) -> dict[Key, OptionRule]:
        rows = OptionRule.objects.select_related("model").order_by("pk")
        return {_rule_key(one): one for one in rows}

    def read(self, row: Row) -> tuple[Key, dict[str, Any]]:
        code = text(row, "model")
        if code:
            named(row, "model", code, self.models)
        when, then = (self._condition(row, name) for name in ("when", "then"))
        return (code, when, then), {"when": when, "then": then, "sentence": text(row, "sentence")}

    def _condition(self, row: Row, column: str) -> str:
        condition = text(row, column)
        if not condition:
            mend = "Write what must hold; true for always."
            raise ProblemError(Problem("No condition is written", row.where(column), mend))
        try:
            compile_condition(condition, self.names)
        except ProblemError as refusal:
            raise refusal.within(row.where(column)) from refusal
        return condition

    def new(self, key: Key) -> OptionRule:
        return OptionRule(model=self.models[key[0]] if key[0] else None, when=key[1], then=key[2])

    def recognise(self, key: Key, values: Mapping[str, Any], standing: Mapping[Key, OptionRule]) -> Key:
        same = (
            known
            for known, one in standing.items()
            if known[0] == key[0] and one.sentence == values["sentence"]
        )
        return next(same, key)

    def words(self, key: Key) -> str:
        return f"{key[0] or 'every model'}: when {key[1]}, then {key[2]}"

    def cells(self, one: OptionRule) -> tuple[Any, ...]:
        return (one.when, one.then, one.sentence, one.model.code if one.model else "")


def _rule_key(one: OptionRule) -> Key:
    return (one.model.code if one.model else "", one.when, one.then)


def _price(row: Row) -> Decimal:
    """A price may be below zero: a choice that leaves something out makes the trailer cheaper."""
    from_cell = row.values.get("price")
    if from_cell is None:
        raise ProblemError(
            Problem("No price is written", row.where("price"), "Write 0 where it costs nothing.")
        )
    found = number(row, "price")
    assert found is not None  # an empty cell was told above
    return found


def _counted(rows: Any) -> dict[int, int]:
    return dict(rows.order_by().values_list("choice").annotate(all=Count("pk")))


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _check(before: KnownNames, places: Places) -> Iterable[Problem]:
    """What is wrong with the whole: two standards in one group, and bills and rules that name what has gone."""
    offers = places.get("offers", {})
    standards = Counter(
        ModelOption.objects.filter(is_default=True).values_list("model__code", "choice__group__code")
    )
    for (model, group), count in sorted(standards.items()):
        if count > 1:
            rows = [row for key, row in offers.items() if key[:2] == (model, group)]
            marked = [row for row in rows if text(row, "standard") and yes_no(row, "standard")]
            where = (marked or rows)[-1].where("standard") if rows else f"model {model}, group {group}"
            yield Problem(
                f"Model {model} would have {count} standard choices in {group}", where, "Leave one of them."
            )
    yield from broken_expressions(before, known_names())


RANGE = Desk(
    name="options-and-prices",
    sheets=lambda: (ModelSheet(), GroupSheet(), ChoiceSheet(), OfferSheet(), FinishSheet(), RuleSheet()),
    begin=known_names,
    check=_check,
)
