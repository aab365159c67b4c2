"""How old kept costs are, and asking for new ones."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.core.cache import cache
from django.db import transaction
from django.utils import timezone

from production.orders.cost_models import CostSnapshot
from production.site.costs.keeping import mark
from production.site.tasks import keep_costs

WAIT_S = 120
"""Nobody asks for the same work again within so many seconds."""


def ask_for_costs() -> bool:
    """Have the costs worked out anew in the background, unless somebody has just asked. Whether it was asked now."""
    if not cache.add("costs-asked-for", True, WAIT_S):
        return False
    transaction.on_commit(keep_costs.delay)
    return True


@dataclass(frozen=True)
class HowKept:
    """When the figures of a page were worked out (None: just now), and whether prices or rates changed since."""

    at: datetime | None
    is_stale: bool


def how_kept(shown: Collection[CostSnapshot]) -> HowKept:
    """Where something is stale or was not kept yet, new figures are asked for. At most one query."""
    if not shown or any(one.pk is None for one in shown):
        ask_for_costs()
        return HowKept(None, False)
    today = mark(timezone.localdate())
    is_stale = any(one.rests_on != today for one in shown)
    if is_stale:
        ask_for_costs()
    return HowKept(min(one.at for one in shown), is_stale)
