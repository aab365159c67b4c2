"""Substitutes in a kit: another item is picked instead, because a person said yes."""

from decimal import Decimal

from django.db import transaction

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from inventory.stock import reserving
from inventory.stock.models import Reservation
from inventory.stores.rules import substitutes
from production.assembly.kits import locked_kit, named, purpose_of, refuse_when_taken, settle
from production.assembly.models import KitLine
from production.assembly.supply import shelf_supply
from production.works.models import Swap


@transaction.atomic
def take_instead(
    *, line: KitLine, instead: Item, by: User, quantity: Decimal | None = None, seen: Decimal | None = None
) -> KitLine:
    """Pick another item for what a line still wants (or for `quantity` of it). Returns the line of the substitute.

    A line of which another number is wanted than the person has `seen` is left as it is: a second click.

    Raises:
        ProblemError: nobody said that it may be taken, the kit wants fewer, the shelves are short of it too, or the
            kit is in assembly.
    """
    kit = locked_kit(line.kit_id)
    line = kit.lines.select_related("item").get(pk=line.pk)
    if seen is not None and seen != line.wanted:
        return kit.lines.filter(item=instead).first() or line
    refuse_when_taken(kit)
    offer = next(
        (one for one in substitutes([line.item_id]).get(line.item_id, []) if one.instead == instead), None
    )
    if offer is None:
        raise ProblemError(
            Problem(
                f"Nobody said that {instead.code} may be taken instead of {line.item.code}",
                named(kit),
                "Add it to the substitutes on the item's page first.",
            )
        )
    wanted = line.wanted - line.picked
    taken = wanted if quantity is None else quantity
    other = kit.lines.filter(item=instead).first() or KitLine(kit=kit, item=instead, wanted=Decimal(0))
    free = shelf_supply({instead.pk: other.picked}, purpose_of(kit))[instead.pk] - (
        other.wanted - other.picked
    )
    if not 0 < taken <= min(wanted, free):
        raise ProblemError(
            Problem(
                f"{format_quantity(taken)} of {instead.code} cannot be taken for {line.item.code}: the kit wants "
                f"{format_quantity(wanted)}, the shelves can give {format_quantity(max(free, Decimal(0)))}",
                named(kit),
                "Take no more than that.",
            )
        )
    other.wanted += taken
    other.save()
    line.wanted -= taken
    line.save(update_fields=["wanted"])
    Swap.objects.create(
        order=kit.order, item=line.item, instead=instead, quantity=taken, note=offer.note, by=by
    )
    _let_go_of_more(line, kit.order.purpose_id)
    settle(kit)
    return other


@transaction.atomic
def undo_swap(*, swap: Swap, by: User) -> None:
    """The kit wants the first item again.

    Raises:
        ProblemError: the substitute is picked already, or the kit is in assembly.
    """
    kit = locked_kit(swap.order.kit.pk)
    refuse_when_taken(kit)
    other = kit.lines.select_related("item").get(item=swap.instead_id)
    if other.wanted - other.picked < swap.quantity:
        raise ProblemError(
            Problem(f"{other.item.code} is picked already", named(kit), "Put it back first, then undo.")
        )
    other.wanted -= swap.quantity
    if other.wanted:
        other.save(update_fields=["wanted"])
    else:
        other.delete()
    line = kit.lines.get(item=swap.item_id)
    line.wanted += swap.quantity
    line.save(update_fields=["wanted"])
    swap.delete()
    settle(kit)


def _let_go_of_more(line: KitLine, purpose_id: int | None) -> None:
    """What is kept of the first item beyond what the kit still wants is free for others."""
    kept = Reservation.objects.filter(item=line.item_id, purpose=purpose_id).select_related("purpose").first()
    if kept is not None and kept.quantity > line.wanted:
        reserving.release(item=line.item, purpose=kept.purpose, quantity=kept.quantity - line.wanted)
