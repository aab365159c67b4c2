"""Numbers by which others know our items: given, taken away, and looked up."""

from __future__ import annotations

from decimal import Decimal

from django.db import transaction

from bom.items.models import Item, ItemIdentifier
from bom.kernel import gs1
from bom.kernel.errors import Problem, ProblemError


@transaction.atomic
def add_identifier(*, item: Item, kind: str, code: str, holds: Decimal = Decimal(1)) -> ItemIdentifier:
    """Give an item a number that others know it by. The same number given twice is one row.

    Raises:
        ProblemError: no such kind, an empty or too long code, a GTIN with a wrong check digit or of another item,
            or a pack that holds nothing.
    """
    code = _checked_code(kind, code)
    if not holds.is_finite() or holds <= 0:
        raise ProblemError(
            Problem(f"One {code} cannot hold {holds}", "holds", "Write a quantity above zero.")
        )
    if kind == ItemIdentifier.Kind.GTIN:
        _refuse_other_owner(item, code)
    row, _ = ItemIdentifier.objects.update_or_create(
        item=item, kind=kind, code=code, defaults={"holds": holds}
    )
    return row


def remove_identifier(*, identifier: ItemIdentifier) -> None:
    """Take a number away from its item; labels that carry it are then unknown."""
    identifier.delete()


def items_called(code: str) -> list[ItemIdentifier]:
    """Items known to others by `code`, whatever kind of number it is. One query."""
    rows = ItemIdentifier.objects.filter(code__iexact=code).select_related("item").order_by("item__code")
    return list(rows)


def _checked_code(kind: str, code: str) -> str:
    if kind not in ItemIdentifier.Kind.values:
        raise ProblemError(Problem(f"There is no kind of number “{kind}”", "kind", "Choose one of the list."))
    code = code.strip()
    if kind == ItemIdentifier.Kind.GTIN:
        return gs1.gtin(code)
    if not code or len(code) > 60:
        raise ProblemError(
            Problem("The number is empty or longer than 60 characters", "code", "Copy it off the label.")
        )
    return code


def _refuse_other_owner(item: Item, code: str) -> None:
    other = ItemIdentifier.objects.filter(kind=ItemIdentifier.Kind.GTIN, code=code).exclude(item=item)
    owner = other.select_related("item").first()
    if owner is not None:
        raise ProblemError(
            Problem(
                f"GTIN {code} belongs to {owner.item.code}",
                "code",
                "A GTIN names one thing only: read the label again, or take it from the other item first.",
            )
        )
