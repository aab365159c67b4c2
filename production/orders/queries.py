"""Questions about orders, answered for many at once."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch, Value, prefetch_related_objects

from bom.catalogue.configuring import Agreed, Answers
from bom.catalogue.models import ColourPlace, Variant, VariantChoice
from bom.structure.conditions import Value as Figure
from bom.structure.wording import HULL_FIELDS
from production.orders.models import Hull, Order, OrderChoice, OrderColour


def answers_of(orders: Iterable[Order]) -> dict[int, Answers]:
    """What each order asks for, by order id. At most four queries whatever the number of orders."""
    rows = Order.objects.filter(pk__in={order.pk for order in orders}).select_related(
        "model", "variant", "hull"
    )
    found = list(rows)
    choices: dict[int, dict[str, str]] = defaultdict(dict)
    for order_id, group, choice in (
        OrderChoice.objects.filter(order__in=found)
        .order_by("choice__group__sequence", "choice__group__code")
        .values_list("order_id", "choice__group__code", "choice__code")
    ):
        choices[order_id][group] = choice
    agreed = agreed_of(order.variant for order in found if order.variant)
    colours: dict[int, dict[str, str]] = defaultdict(dict)
    for order_id, place, colour in OrderColour.objects.filter(order__in=found).values_list(
        "order_id", "place", "colour__code"
    ):
        colours[order_id][place] = colour
    return {
        order.pk: Answers(
            model=order.model.code,
            finish=order.finish,
            choices=choices[order.pk],
            colours=colours[order.pk],
            hull=hull_values(order.hull),
            agreed=agreed.get(order.variant_id or 0),
        )
        for order in found
    }


def agreed_of(variants: Iterable[Variant]) -> dict[int, Agreed]:
    """What was agreed for each of these variants that has a price, by id. At most one query."""
    priced = {variant.pk: variant for variant in variants if variant.price is not None}
    # What was fetched for a variant once is not fetched again: forms ask several times.
    wanted = Prefetch("choices", VariantChoice.objects.select_related("choice__group"))
    prefetch_related_objects(list(priced.values()), wanted)
    return {
        pk: Agreed(
            variant.price or Decimal(0),
            variant.finish,
            {row.choice.group.code: row.choice.code for row in variant.choices.all()},
            variant_words(variant),
        )
        for pk, variant in priced.items()
    }


def variant_words(variant: Variant) -> str:
    return f"{variant.name}, version {variant.version}, as agreed"


@dataclass(frozen=True)
class Asked:
    """One choice or colour of an order: `question` is the option group or the place, with its word."""

    is_colour: bool
    question: str
    question_word: str
    answer: str
    answer_word: str


def asked_of(order: Order) -> list[Asked]:
    """What an order asks for, choices in the order asked, then colours. One query."""
    choices = order.choices.order_by().values_list(
        Value(0),
        "choice__group__sequence",
        "choice__group__code",
        "choice__group__name",
        "choice__code",
        "choice__name",
    )
    colours = order.colours.order_by().values_list(
        Value(1), Value(0), "place", "place", "colour__code", "colour__name"
    )
    rows = sorted(choices.union(colours, all=True))
    return [
        Asked(bool(kind), question, ColourPlace(word).label if kind else word, answer, answer_word)
        for kind, _, question, word, answer, answer_word in rows
    ]


def hull_values(hull: Hull) -> dict[str, Figure]:
    """The figures of a hull that expressions may use; unknown ones are left out."""
    values = {name: getattr(hull, name) for name, _ in HULL_FIELDS}
    return {name: value for name, value in values.items() if value is not None}
