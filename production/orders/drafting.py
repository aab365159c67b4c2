"""Drafts: writing an order down and changing it until it is confirmed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction

from bom.catalogue.configuring import Answers, load_range, price_of
from bom.catalogue.models import OptionChoice, TrailerModel, Variant
from bom.items.models import Colour
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from bom.ratings.models import Market
from production.orders.models import Customer, Hull, Order, OrderChoice, OrderColour
from production.orders.numbers import take_numbers
from production.orders.queries import agreed_of, answers_of, hull_values
from production.orders.version_models import OrderVersion


@dataclass(frozen=True)
class HullFigures:
    """The boat: kg and mm. The centre of gravity is measured forward from the transom, none where unknown."""

    name: str
    mass_kg: int
    length_mm: int
    beam_mm: int
    bow_to_transom_mm: int
    centre_of_gravity_mm: int | None = None
    is_measured: bool = False
    keel: str = ""
    chine: str = ""
    gear_kg: int = 0
    gear_at_mm: int | None = None


@dataclass(frozen=True)
class Wish:
    """What a customer asks for. `choices` maps group code to choice code, `colours` place to colour code.

    A variant fills in what `finish`, `choices` and `colours` leave open; the model's standard choices fill in
    the rest. `weight` says how much a late day hurts: 1 usual, 3 most.
    """

    customer: Customer
    model: TrailerModel
    hull: HullFigures
    asked_for: date
    finish: str = ""
    variant: Variant | None = None
    choices: Mapping[str, str] | None = None
    colours: Mapping[str, str] | None = None
    weight: int = 1
    note: str = ""
    market: Market | None = None


@transaction.atomic
def create_draft(*, wish: Wish, by: User | None) -> Order:
    """Write a new order down as a draft under the next number.

    A draft may be incomplete or impossible: what stops it is said on its page and when it is confirmed. Only what
    cannot be written at all is refused.

    Raises:
        ProblemError: an unknown choice or colour, a variant of another model, a hull without its figures.
    """
    order = Order(number=take_numbers()[0], made_by=by)
    return write_wish(order, wish)


@transaction.atomic
def change_draft(*, order: Order, wish: Wish, by: User | None) -> Order:
    """Write down anew what a draft asks for; all of it is replaced.

    Raises:
        ProblemError: as `create_draft`; the order is no longer a draft.
    """
    order = Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    if order.state != Order.State.DRAFT:
        raise ProblemError(
            Problem(
                f"Order {order.number} is {order.get_state_display()} and can no longer be changed",
                f"order {order.number}",
                "Cancel it and write a new order, or leave it as it is.",
            )
        )
    order.made_by = order.made_by or by
    return write_wish(order, wish)


def filled(wish: Wish) -> tuple[str, dict[str, str], dict[str, str]]:
    """Finish, choices and colours with what the variant and the model's standard fill in."""
    choices: dict[str, str] = dict(
        wish.model.options.filter(is_default=True).values_list("choice__group__code", "choice__code")
    )
    colours: dict[str, str] = {}
    finish = wish.finish
    if wish.variant is not None:
        choices |= dict(wish.variant.choices.values_list("choice__group__code", "choice__code"))
        colours |= dict(wish.variant.colours.values_list("place", "colour__code"))
        finish = finish or wish.variant.finish
    finish = finish or wish.model.finishes.values_list("finish", flat=True).first() or ""
    if wish.choices is not None:
        choices = {**choices, **wish.choices}
    if wish.colours is not None:
        colours = {**colours, **wish.colours}
    return (
        finish,
        {group: choice for group, choice in choices.items() if choice},
        {place: colour for place, colour in colours.items() if colour},
    )


def answers_in(wish: Wish) -> Answers:
    """What a wish asks for, as the catalogue wants to be told. Nothing is written."""
    finish, choices, colours = filled(wish)
    variant = wish.variant
    return Answers(
        model=wish.model.code,
        finish=finish,
        choices=choices,
        colours=colours,
        hull=hull_values(hull_in(wish)),
        agreed=agreed_of([variant]).get(variant.pk) if variant else None,
    )


def hull_in(wish: Wish) -> Hull:
    """The wish's hull as a row that is not written."""
    return Hull(**vars(wish.hull))


def write_wish(order: Order, wish: Wish) -> Order:
    """Write down on the order what is asked for, with its list price. Call inside a transaction.

    Raises:
        ProblemError: as `create_draft`.
    """
    if wish.variant is not None and wish.variant.model_id != wish.model.pk:
        raise ProblemError(
            Problem(
                f"Variant {wish.variant.code} is of another model than {wish.model.code}",
                "variant",
                "Choose a variant of this model, or none.",
            )
        )
    finish, choices, colours = filled(wish)
    found_choices, found_colours = _choices(choices), _colours(colours)
    order.customer, order.model, order.variant = wish.customer, wish.model, wish.variant
    order.finish, order.asked_for, order.weight, order.note = finish, wish.asked_for, wish.weight, wish.note
    order.market = wish.market
    order.hull = _hull(order, wish.hull)
    _save(order)
    order.choices.all().delete()
    OrderChoice.objects.bulk_create([OrderChoice(order=order, choice=choice) for choice in found_choices])
    order.colours.all().delete()
    OrderColour.objects.bulk_create(
        [OrderColour(order=order, place=place, colour=colour) for place, colour in found_colours.items()]
    )
    order.price = price_of(answers_of([order])[order.pk], load_range())
    order.save(update_fields=["price"])
    return order


def _save(order: Order) -> None:
    try:
        order.full_clean(exclude=["price"])
    except ValidationError as error:
        raise ProblemError(*problems_from(error)) from error
    order.save()


def problems_from(error: ValidationError) -> list[Problem]:
    """What Django's checks found, each at its field."""
    if not hasattr(error, "error_dict"):
        return [Problem(message) for message in error.messages]
    return [
        Problem(message, name.replace("_", " ") if name != "__all__" else "")
        for name, messages in error.message_dict.items()
        for message in messages
    ]


def _hull(order: Order, figures: HullFigures) -> Hull:
    """The order's own hull with these figures; one that another order or an earlier version has stays as it is."""
    if order.hull_id and all(getattr(order.hull, name) == value for name, value in vars(figures).items()):
        return order.hull
    hull = order.hull if order.hull_id and not _is_shared(order) else Hull()
    for name in HullFigures.__dataclass_fields__:
        setattr(hull, name, getattr(figures, name))
    try:
        hull.full_clean()
    except ValidationError as error:
        raise ProblemError(*problems_from(error)).within("hull") from error
    hull.save()
    return hull


def _is_shared(order: Order) -> bool:
    others = Order.objects.filter(hull=order.hull_id).exclude(pk=order.pk)
    return others.exists() or OrderVersion.objects.filter(hull=order.hull_id).exists()


def _choices(choices: Mapping[str, str]) -> Sequence[OptionChoice]:
    rows = OptionChoice.objects.filter(group__code__in=choices, code__in=choices.values()).select_related(
        "group"
    )
    by_pair = {(row.group.code, row.code): row for row in rows}
    unknown = [pair for pair in choices.items() if pair not in by_pair]
    if unknown:
        raise ProblemError(
            *(
                Problem(f"There is no choice {choice}", f"option {group}", "Choose one of those listed.")
                for group, choice in unknown
            )
        )
    return [by_pair[pair] for pair in choices.items()]


def _colours(colours: Mapping[str, str]) -> dict[str, Colour]:
    rows = {row.code: row for row in Colour.objects.filter(code__in=colours.values())}
    unknown = [(place, code) for place, code in colours.items() if code not in rows]
    if unknown:
        raise ProblemError(
            *(
                Problem(f"There is no colour {code}", f"colour {place}", "Choose one of those listed.")
                for place, code in unknown
            )
        )
    return {place: rows[code] for place, code in colours.items()}
