"""A person's word on a level: set by hand, accepted, kept, undone; demand put back."""

from __future__ import annotations

from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.levels.models import DemandOneOff, ItemLevel, LevelProposal, LevelRules
from inventory.levels.queries import working
from inventory.levels.working_out import work_out_levels

__all__ = [
    "ProblemError",
    "ValidationError",
    "accept_proposals",
    "change_rules",
    "choose_level",
    "choose_rules",
    "keep_proposals",
    "put_back",
    "set_level",
    "undo_proposal",
    "work_out_levels",
]

_SIZED = (Item.LotRule.FIXED, Item.LotRule.MULTIPLE, Item.LotRule.MINIMUM, Item.LotRule.PERIODS)


def set_level(*, item: Item, reorder_point: Decimal) -> ItemLevel:
    """A person's own reorder level for an item; working levels out again leaves it alone."""
    return choose_level(item=item, reorder_point=reorder_point)


@transaction.atomic
def choose_level(
    *, item: Item, reorder_point: Decimal | None, service_level: Decimal | None = None
) -> ItemLevel:
    """Set an item's level by hand; with none, have it worked out at once from the figures already known.

    `service_level` is the chance of not running out, above 0 and below 1; none leaves it as it is.

    Raises:
        ProblemError: a level below zero, or a service level that is no chance.
    """
    _refuse_bad_level(item, reorder_point, service_level)
    level, _ = ItemLevel.objects.select_for_update().get_or_create(item=item)
    if service_level is not None:
        level.service_level = service_level
    level.is_manual = reorder_point is not None
    level.reorder_point = working(level).point_rounded if reorder_point is None else reorder_point
    level.save()
    return level


@transaction.atomic
def choose_rules(
    *,
    item: Item,
    reorder_point: Decimal | None,
    service_level: Decimal,
    lot_rule: str,
    lot_size: Decimal | None,
    order_cost: Decimal | None,
    holding_rate: Decimal | None,
) -> ItemLevel:
    """A person's whole word on an item: its level as in `choose_level`, how much is ordered at once, what that costs.

    No order cost or keeping rate means that those of `LevelRules` hold.

    Raises:
        ProblemError: as `choose_level`; a lot rule that needs a lot size without one.
    """
    if lot_rule in _SIZED and not lot_size:
        label = Item.LotRule(lot_rule).label
        raise ProblemError(
            Problem(f"“{label}” needs a lot size above zero", item.code, "Write one, or choose another rule.")
        )
    level = choose_level(item=item, reorder_point=reorder_point, service_level=service_level)
    level.order_cost, level.holding_rate = order_cost, holding_rate
    level.save(update_fields=["order_cost", "holding_rate"])
    Item.objects.filter(pk=item.pk).update(lot_rule=lot_rule, lot_size=lot_size or Decimal(0))
    return level


def _refuse_bad_level(item: Item, reorder_point: Decimal | None, service_level: Decimal | None) -> None:
    if reorder_point is not None and not (reorder_point.is_finite() and reorder_point >= 0):
        raise ProblemError(
            Problem(
                f"{reorder_point} is not a level for {item.code}", "", "Write zero or a quantity above it."
            )
        )
    if service_level is not None and not 0 < service_level < 1:
        raise ProblemError(
            Problem(
                f"{service_level} is not a chance", item.code, "Write a number between 0 and 1, e.g. 0.95."
            )
        )


@transaction.atomic
def accept_proposals(*, proposals: list[int], by: User | None) -> int:
    """Put the proposed levels in force. A proposal decided meanwhile is left alone. Returns how many were accepted."""
    found = _waiting(proposals)
    levels = {level.item_id: level for level in _levels([one.item_id for one in found])}
    for one in found:
        level = levels[one.item_id]
        # What is undone must go back to what was in force at this moment, whoever set it since.
        one.in_force, one.was_manual = level.reorder_point, level.is_manual
        level.reorder_point, level.is_manual = one.proposed, False
        level.save(update_fields=["reorder_point", "is_manual"])
        _decide(one, LevelProposal.State.ACCEPTED, by)
    return len(found)


@transaction.atomic
def keep_proposals(*, proposals: list[int], by: User | None) -> int:
    """Leave the levels as they are. The same proposal is not made again. Returns how many were kept."""
    found = _waiting(proposals)
    for one in found:
        _decide(one, LevelProposal.State.KEPT, by)
    return len(found)


@transaction.atomic
def undo_proposal(*, proposal: LevelProposal, by: User | None) -> LevelProposal:
    """Take back what was decided: the level is again what it was, and the proposal waits.

    Raises:
        ProblemError: nothing was decided, a later proposal waits, or the level was changed since.
    """
    one = LevelProposal.objects.select_for_update().select_related("item").get(pk=proposal.pk)
    level = _levels([one.item_id])[0]
    where = f"level of {one.item.code}"
    if one.state not in (LevelProposal.State.ACCEPTED, LevelProposal.State.KEPT):
        raise ProblemError(
            Problem("Nothing was decided on this proposal", where, "Accept it or keep the level.")
        )
    if LevelProposal.objects.filter(item=one.item_id, state=LevelProposal.State.WAITING).exists():
        raise ProblemError(Problem("A later proposal waits", where, "Decide on that one."))
    if one.state == LevelProposal.State.ACCEPTED:
        if level.reorder_point != one.proposed or level.is_manual:
            raise ProblemError(
                Problem("The level was changed since", where, "Set the level by hand if it is wrong.")
            )
        level.reorder_point, level.is_manual = one.in_force, one.was_manual
        level.save(update_fields=["reorder_point", "is_manual"])
    one.decided_by = one.decided_at = None
    one.state = LevelProposal.State.WAITING
    one.save(update_fields=["state", "decided_by", "decided_at"])
    return one


@transaction.atomic
def put_back(*, one_off: DemandOneOff, counts: bool, by: User | None) -> DemandOneOff:
    """Count a set-aside week in full, or (with `counts` False) set it aside again. Holds from the next working out."""
    one = DemandOneOff.objects.select_for_update().get(pk=one_off.pk)
    one.is_put_back, one.decided_by, one.decided_at = counts, by, timezone.now()
    one.save(update_fields=["is_put_back", "decided_by", "decided_at"])
    return one


@transaction.atomic
def change_rules(*, rules: LevelRules) -> LevelRules:
    """Keep other rules for all items; they hold from the next working out.

    Raises:
        ValidationError: figures that make no sense.
    """
    rules.pk = 1
    rules.full_clean(validate_unique=False)
    rules.save(force_insert=not LevelRules.objects.filter(pk=1).exists())
    return rules


def _waiting(proposals: list[int]) -> list[LevelProposal]:
    rows = LevelProposal.objects.select_for_update().filter(
        pk__in=proposals, state=LevelProposal.State.WAITING
    )
    return list(rows.order_by("item_id"))


def _levels(item_ids: list[int]) -> list[ItemLevel]:
    return list(ItemLevel.objects.select_for_update().filter(item_id__in=item_ids).order_by("item_id"))


def _decide(one: LevelProposal, state: LevelProposal.State, by: User | None) -> None:
    one.state, one.decided_by, one.decided_at = state, by, timezone.now()
    one.save(update_fields=["state", "decided_by", "decided_at", "in_force", "was_manual"])
