"""The form of a draft: it offers only what the chosen model offers."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms

from bom.catalogue.configuring import COATED, Agreed, Answers, Offer, Range
from bom.catalogue.models import ColourPlace, Finish, Variant
from bom.kernel.errors import Problem
from bom.ratings.models import Market
from production.orders.drafting import HullFigures, Wish
from production.orders.models import Customer, Hull, Order
from production.orders.queries import agreed_of, asked_of

NOTHING_CHOSEN = ("", "—")
HULL_FIELDS = ("mass_kg", "length_mm", "beam_mm", "bow_to_transom_mm", "centre_of_gravity_mm")
MORE_OF_HULL = ("keel", "chine", "gear_kg", "gear_at_mm")
DAY = {"type": "date"}


class DraftForm(forms.Form):
    """Fields `option_<group>` and `colour_<place>` depend on the model; the rest is the same for every order."""

    customer = forms.ModelChoiceField(queryset=Customer.objects.all(), to_field_name="code", label="Customer")
    model = forms.ChoiceField(label="Model")
    variant = forms.ChoiceField(label="Named variant", required=False)
    asked_for = forms.DateField(label="Asked for", widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"))
    finish = forms.ChoiceField(label="Finish", required=False)
    hull_name = forms.CharField(label="Hull", max_length=80)
    hull_mass_kg = forms.IntegerField(label="Hull mass, kg", min_value=1, max_value=100_000)
    hull_length_mm = forms.IntegerField(label="Length, mm", min_value=500, max_value=30_000)
    hull_beam_mm = forms.IntegerField(label="Beam, mm", min_value=200, max_value=10_000)
    hull_bow_to_transom_mm = forms.IntegerField(label="Bow to transom, mm", min_value=500, max_value=30_000)
    hull_centre_of_gravity_mm = forms.IntegerField(
        label="Centre of gravity from the transom, mm", min_value=1, max_value=30_000, required=False
    )
    hull_is_measured = forms.BooleanField(label="Centre of gravity was measured", required=False)
    hull_keel = forms.ChoiceField(label="Keel", choices=Hull.Keel.choices, required=False)
    hull_chine = forms.ChoiceField(label="Chine", choices=Hull.Chine.choices, required=False)
    hull_gear_kg = forms.IntegerField(
        label="Gear in the hull, kg", min_value=0, max_value=20_000, required=False
    )
    hull_gear_at_mm = forms.IntegerField(
        label="Gear from the transom, mm", min_value=0, max_value=30_000, required=False
    )
    market = forms.ModelChoiceField(
        label="Registered in", queryset=Market.objects.all(), to_field_name="code", required=False
    )
    weight = forms.TypedChoiceField(
        label="How much a late day hurts",
        coerce=int,
        choices=[(1, "as usual"), (2, "more"), (3, "most")],
        initial=1,
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        catalogue: Range,
        variants: Iterable[Variant],
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=dict(initial or {}), label_suffix="")
        self.catalogue = catalogue
        self.variants = {variant.key: variant for variant in variants}
        active = [model for model in catalogue.models.values() if model.is_active]
        self.model_code = str((data or initial or {}).get("model") or (active[0].code if active else ""))
        self.initial.setdefault("model", self.model_code)
        self._set_choices("model", [(model.code, str(model)) for model in active])
        of_model = [one for one in self.variants.values() if one.model.code == self.model_code]
        self._set_choices("variant", [NOTHING_CHOSEN, *((one.key, _variant_label(one)) for one in of_model)])
        permitted = catalogue.finishes.get(self.model_code, {})
        # Finishes the model does not permit stay in the list, marked, so that the reason can be read.
        self._set_choices(
            "finish",
            [
                (code, label if code in permitted else f"{label} (not on this model)")
                for code, label in Finish.choices
            ],
        )
        self._add_options()
        self._add_colours()

    def _set_choices(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices

    def _add_options(self) -> None:
        for code, offers in self.catalogue.offered(self.model_code).items():
            group = self.catalogue.groups[code]
            named = [(one.choice, _offer_words(one)) for one in offers]
            self.fields[f"option_{code}"] = forms.ChoiceField(
                label=group.name, required=False, choices=[NOTHING_CHOSEN, *named]
            )

    def _add_colours(self) -> None:
        colours = [NOTHING_CHOSEN, *self.catalogue.colours.items()]
        for place, label in ColourPlace.choices:
            self.fields[f"colour_{place}"] = forms.ChoiceField(
                label=f"Colour of {label}", required=False, choices=colours
            )

    def mark(self, ruled_out: Mapping[tuple[str, str], str]) -> None:
        """Say beside a choice that a rule would refuse it; it stays in the list, so that the reason can be read."""
        for code, offers in self.catalogue.offered(self.model_code).items():
            field = self.fields[f"option_{code}"]
            assert isinstance(field, forms.ChoiceField)
            marked = [offer.choice for offer in offers if (code, offer.choice) in ruled_out]
            against = " (a rule is against it)"
            named = [
                (one.choice, f"{_offer_words(one)}{against if one.choice in marked else ''}")
                for one in offers
            ]
            field.choices = [NOTHING_CHOSEN, *named]
            reasons = [ruled_out[code, choice] for choice in marked]
            field.widget.attrs["title"] = " ".join(dict.fromkeys(reasons))

    def asked(self) -> Answers:
        """What the form asks for as it stands, complete or not."""
        values = {name: self[name].value() or "" for name in self.fields}
        variant = self.variants.get(str(values["variant"]))
        return Answers(
            model=self.model_code,
            finish=str(values["finish"]),
            choices=_by_prefix(values, "option_"),
            colours=_by_prefix(values, "colour_"),
            hull={name: whole(values[f"hull_{name}"]) for name in HULL_FIELDS},
            agreed=agreed_of([variant]).get(variant.pk) if variant else None,
        )

    def wish(self) -> Wish:
        """What a valid form asks for. Everything is said outright, so that no standard creeps in unseen."""
        data = self.cleaned_data
        figures = {name: data[f"hull_{name}"] for name in HULL_FIELDS}
        return Wish(
            customer=data["customer"],
            model=self.catalogue.models[data["model"]],
            variant=self.variants.get(data["variant"]),
            hull=HullFigures(
                name=data["hull_name"],
                is_measured=data["hull_is_measured"],
                keel=data["hull_keel"],
                chine=data["hull_chine"],
                gear_kg=data["hull_gear_kg"] or 0,
                gear_at_mm=data["hull_gear_at_mm"],
                **figures,
            ),
            market=data["market"],
            asked_for=data["asked_for"],
            finish=data["finish"],
            choices={
                name.removeprefix("option_"): data[name] for name in self.fields if name.startswith("option_")
            },
            colours={
                name.removeprefix("colour_"): data[name] for name in self.fields if name.startswith("colour_")
            },
            weight=data["weight"],
            note=data["note"],
        )

    def rows(
        self, prefix: str, problems: Iterable[Problem] = ()
    ) -> list[tuple[forms.BoundField, list[Problem]]]:
        """The fields whose names begin with `prefix`, each with the problems that stand at it."""
        said: dict[str, list[Problem]] = {}
        for problem in problems:
            said.setdefault(field_of(problem), []).append(problem)
        return [(self[name], said.get(name, [])) for name in self.fields if name.startswith(prefix)]


def asked_in(typed: Mapping[str, Any], agreed: Agreed | None = None) -> Answers:
    """What the form's fields ask for as they stand in an address, complete or not."""
    return Answers(
        model=str(typed.get("model", "")),
        finish=str(typed.get("finish", "")),
        choices=_by_prefix(typed, "option_"),
        colours=_by_prefix(typed, "colour_"),
        hull={name: whole(typed.get(f"hull_{name}")) for name in HULL_FIELDS},
        agreed=agreed,
    )


def field_of(problem: Problem) -> str:
    """The form field at which a configuration problem stands, or "" for the form as a whole."""
    if problem.where == "hull length":
        return "hull_length_mm"
    group, _, name = problem.where.partition(" ")
    return f"{group}_{name}" if group in ("colour", "option", "hull") and name else problem.where


def initial_of(order: Order) -> dict[str, Any]:
    """The form's values from an order. One query."""
    hull = order.hull
    values: dict[str, Any] = {
        "customer": order.customer.code,
        "model": order.model.code,
        "variant": order.variant.key if order.variant else "",
        "asked_for": order.asked_for,
        "finish": order.finish,
        "hull_name": hull.name,
        "hull_is_measured": hull.is_measured,
        "weight": order.weight,
        "note": order.note,
        **{f"hull_{name}": getattr(hull, name) for name in (*HULL_FIELDS, *MORE_OF_HULL)},
        "market": order.market.code if order.market else "",
    }
    for asked in asked_of(order):
        values[f"{'colour' if asked.is_colour else 'option'}_{asked.question}"] = asked.answer
    return values


def standard_of(catalogue: Range, model: str) -> dict[str, str]:
    """What a new order of the model starts with: its standard choices and its first finish."""
    finishes = catalogue.finishes.get(model, {})
    values = {f"option_{group}": choice for group, choice in catalogue.standard(model).items()}
    return {**values, "finish": next(iter(finishes), "")}


def with_variant(values: Mapping[str, Any], variant: Variant) -> dict[str, Any]:
    """The values with what the variant fixes filled in."""
    choices = variant.choices.values_list("choice__group__code", "choice__code")
    colours = variant.colours.values_list("place", "colour__code")
    return {
        **values,
        "finish": variant.finish,
        **{f"option_{group}": choice for group, choice in choices},
        **{f"colour_{place}": colour for place, colour in colours},
    }


def fitted(values: Mapping[str, Any], catalogue: Range) -> dict[str, Any]:
    """The values after the model changed: what it does not offer falls back to its standard."""
    model = str(values.get("model", ""))
    offered, standard = catalogue.offers.get(model, {}), standard_of(catalogue, model)
    fitting = dict(values)
    for group in catalogue.groups:
        name = f"option_{group}"
        if (group, fitting.get(name, "")) not in offered:
            fitting[name] = standard.get(name, "")
    if fitting.get("finish") not in catalogue.finishes.get(model, {}):
        fitting["finish"] = standard["finish"]
    if fitting["finish"] not in COATED:
        fitting["colour_powder"] = ""
    return fitting


def _offer_words(offer: Offer) -> str:
    """A choice as the list names it: what it adds to the price, and whether it is the standard one."""
    words = f"{offer.name}, {offer.price:+,.0f}" if offer.price else offer.name
    return f"{words}, standard" if offer.is_default else words


def _variant_label(variant: Variant) -> str:
    return (
        variant.name if variant.is_current else f"{variant.name}, version {variant.version} (as ordered then)"
    )


def _by_prefix(values: Mapping[str, Any], prefix: str) -> dict[str, str]:
    return {
        name.removeprefix(prefix): str(value)
        for name, value in values.items()
        if name.startswith(prefix) and value
    }


def whole(value: Any) -> int | None:
    """A figure as typed; none where it is no whole number."""
    text = str(value).strip()
    return int(text) if text.isascii() and text.isdigit() else None


class CancelForm(forms.Form):
    reason = forms.CharField(label="Why it is cancelled", max_length=200)


class PromiseForm(forms.Form):
    promised_on = forms.DateField(
        label="Promised for", required=False, widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d")
    )
