"""The demonstration's levels: worked out a quarter ago, chosen by hand for some, and proposed anew today.

Where the past is too short for that, they are worked out today only.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.utils import timezone

from bom.items.models import Item
from bom.people.models import User
from inventory.levels import history
from inventory.levels.forecasts import find_forecasts, store_forecasts
from inventory.levels.models import LevelProposal, LevelRun
from inventory.levels.verbs import accept_proposals, choose_rules, keep_proposals
from inventory.levels.working_out import read_ground, work_out_levels

QUARTER_WEEKS = 13
# Before that quarter there must be weeks enough for levels and forecasts.
_LONG_ENOUGH_WEEKS = 2 * QUARTER_WEEKS
_FEWEST_WAITING = 4


@dataclass(frozen=True)
class Chosen:
    """What a person chose for an item; what is none is left to the working and to the rules of all items."""

    level: str | None = None
    service: str = "0.95"
    lot_rule: str = Item.LotRule.AS_NEEDED
    order_cost: str | None = None
    holding_rate: str | None = None


CHOSEN: Mapping[str, Chosen] = {
    "WI-1200": Chosen(level="22"),
    "MG-PL-TW": Chosen(level="4"),
    "UBOLT-100": Chosen(level="20", lot_rule=Item.LotRule.ECONOMIC),
    "LAMP-PLATE": Chosen(service="0.98"),
    "STRAP-TIE": Chosen(lot_rule=Item.LotRule.ECONOMIC),
    "LAMP-SIDE": Chosen(lot_rule=Item.LotRule.ECONOMIC),
    # Tyres come by a lorry of their own and take much room.
    "TY-13-96": Chosen(lot_rule=Item.LotRule.LEAST_TOTAL, order_cost="35.00", holding_rate="0.3500"),
    "RING-TIE": Chosen(lot_rule=Item.LotRule.LEAST_AVERAGE),
    "BUSH-20": Chosen(lot_rule=Item.LotRule.LEAST_TOTAL),
}


def add_levels(items: Mapping[str, Item], today: date, history_weeks: int, by: User) -> None:
    """Levels in force, forecasts, and proposals of which a few are decided."""
    is_long = history_weeks >= _LONG_ENOUGH_WEEKS
    work_out_levels(today=today - timedelta(weeks=QUARTER_WEEKS) if is_long else today)
    for code, chosen in CHOSEN.items():
        if code in items:
            _choose(items[code], chosen)
    if is_long:
        _propose(today, by)
        _decide_some(by)


def _choose(item: Item, chosen: Chosen) -> None:
    choose_rules(
        item=item,
        reorder_point=_number(chosen.level),
        service_level=Decimal(chosen.service),
        lot_rule=chosen.lot_rule,
        lot_size=None,
        order_cost=_number(chosen.order_cost),
        holding_rate=_number(chosen.holding_rate),
    )


def _number(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


def _propose(today: date, by: User) -> None:
    """As the worker does, but for the smoothing methods: fitting them would load numpy where pages are served."""
    started_at = timezone.now()
    ground, reach = read_ground(today), history.orders_reach(today)
    found = find_forecasts(ground, reach, fit=lambda training: {}, tell=lambda done, of, code: True)
    made = store_forecasts(found or [], ground=ground, reach=reach)
    seen = work_out_levels(ground=ground, propose=True)
    LevelRun.objects.create(
        today=today,
        state=LevelRun.State.FINISHED,
        outcome=LevelRun.Outcome.SUCCEEDED,
        percent=100,
        asked_by=by,
        started_at=started_at,
        finished_at=timezone.now(),
        items_seen=seen,
        forecasts_made=made,
        proposals_made=LevelProposal.objects.filter(state=LevelProposal.State.WAITING).count(),
    )


def _decide_some(by: User) -> None:
    """Two are accepted and one is kept as it was; the others wait."""
    waiting = LevelProposal.objects.filter(state=LevelProposal.State.WAITING).order_by("item__code")
    ids = list(waiting.values_list("pk", flat=True))
    if len(ids) >= _FEWEST_WAITING:
        accept_proposals(proposals=ids[:2], by=by)
        keep_proposals(proposals=ids[2:3], by=by)
