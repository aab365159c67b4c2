"""Named variants of repeat customers: kept from an order, copied, and versioned. A version is never changed.

A new version goes before the old one for new orders; orders keep the version they were made with.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from bom.catalogue.configuring import load_range, price_of
from bom.catalogue.models import Variant, VariantChoice, VariantColour
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.orders.drafting import problems_from
from production.orders.models import Customer, Hull, Order, OrderChoice, OrderColour
from production.orders.numbers import take_numbers
from production.orders.queries import answers_of


@dataclass(frozen=True)
class VariantName:
    """What a new variant is called, and its agreed price; none where list prices hold."""

    code: str
    name: str
    price: Decimal | None = None
    note: str = ""


@transaction.atomic
def keep_as_variant(*, order: Order, name: VariantName, by: User | None) -> Variant:
    """A new named variant of the order's customer, with the order's finish, choices and colours.

    Raises:
        ProblemError: the code is taken, or is no short name.
    """
    _refuse_taken(name.code)
    variant = _saved(
        Variant(code=name.code, name=name.name, model=order.model, finish=order.finish, price=name.price,
                made_by=by, note=name.note)
    )  # fmt: skip
    _fill_from_order(variant, order)
    order.customer.variants.add(variant)
    return variant


@transaction.atomic
def keep_as_version(*, order: Order, price: Decimal | None, note: str, by: User | None) -> Variant:
    """The order's finish, choices and colours as the next version of its variant; for every customer who has it.

    Raises:
        ProblemError: the order has no variant, is of another model by now, or no reason is given.
    """
    old = order.variant
    if old is None:
        raise ProblemError(
            Problem(
                "The order has no named variant", f"order {order.number}", "Keep it as a new one instead."
            )
        )
    if not note.strip():
        raise ProblemError(Problem("The reason is missing", "note", "Write what was changed and why."))
    current = Variant.objects.select_for_update(of=("self",)).get(code=old.code, is_current=True)
    if current.model_id != order.model_id:
        raise ProblemError(
            Problem(
                f"Variant {current.code} is of another model by now",
                f"order {order.number}",
                "Keep it as a new variant instead.",
            )
        )
    Variant.objects.filter(pk=current.pk).update(is_current=False)
    fresh = _saved(
        Variant(code=current.code, name=current.name, model=order.model, finish=order.finish, price=price,
                version=current.version + 1, made_by=by, note=note.strip()[:200])
    )  # fmt: skip
    _fill_from_order(fresh, order)
    for customer in current.customers.all():
        customer.variants.add(fresh)
    return fresh


@transaction.atomic
def copy_variant(*, variant: Variant, name: VariantName, customer: Customer, by: User | None) -> Variant:
    """A variant of its own for another customer, beginning as this one.

    Raises:
        ProblemError: the code is taken, or is no short name.
    """
    _refuse_taken(name.code)
    note = name.note or f"copied from {variant.code}, version {variant.version}"
    fresh = _saved(
        Variant(code=name.code, name=name.name, model=variant.model, finish=variant.finish, price=name.price,
                made_by=by, note=note)
    )  # fmt: skip
    VariantChoice.objects.bulk_create(
        VariantChoice(variant=fresh, choice_id=choice)
        for choice in variant.choices.values_list("choice_id", flat=True)
    )
    VariantColour.objects.bulk_create(
        VariantColour(variant=fresh, place=place, colour_id=colour)
        for place, colour in variant.colours.values_list("place", "colour_id")
    )
    customer.variants.add(fresh)
    return fresh


@transaction.atomic
def order_again(*, order: Order, asked_for: date, by: User | None) -> Order:
    """A new draft with everything the earlier order asked for, its hull's figures in a row of its own.

    The variant stays in the version the earlier order was made with; the price is worked out as of today.
    """
    hull = Hull.objects.get(pk=order.hull_id)
    hull.pk = None
    hull._state.adding = True
    hull.save()
    draft = Order.objects.create(
        number=take_numbers()[0],
        customer=order.customer,
        model=order.model,
        variant=order.variant,
        finish=order.finish,
        hull=hull,
        market=order.market,
        asked_for=asked_for,
        weight=order.weight,
        note=order.note,
        made_by=by,
        copied_from=order,
    )
    OrderChoice.objects.bulk_create(
        OrderChoice(order=draft, choice_id=choice)
        for choice in order.choices.values_list("choice_id", flat=True)
    )
    OrderColour.objects.bulk_create(
        OrderColour(order=draft, place=place, colour_id=colour)
        for place, colour in order.colours.values_list("place", "colour_id")
    )
    draft.price = price_of(answers_of([draft])[draft.pk], load_range())
    draft.save(update_fields=["price"])
    return draft


def _refuse_taken(code: str) -> None:
    if Variant.objects.filter(code=code).exists():
        raise ProblemError(
            Problem(
                f"There is a variant {code} already", "code", "Choose another code, or make a new version."
            )
        )


def _saved(variant: Variant) -> Variant:
    try:
        variant.full_clean()
    except ValidationError as error:
        raise ProblemError(*problems_from(error)) from error
    variant.save()
    return variant


def _fill_from_order(variant: Variant, order: Order) -> None:
    VariantChoice.objects.bulk_create(
        VariantChoice(variant=variant, choice_id=choice)
        for choice in order.choices.values_list("choice_id", flat=True)
    )
    VariantColour.objects.bulk_create(
        VariantColour(variant=variant, place=place, colour_id=colour)
        for place, colour in order.colours.values_list("place", "colour_id")
    )
