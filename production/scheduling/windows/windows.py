"""Fuller sheets against cutting early: the same parts gathered over different windows. Loads the nesting.

Every window cuts exactly the parts that the orders need within `REACH_DAYS` working days, so sheets and money can be
compared. Nothing is changed by it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.running import Pulse, Stopped
from production.cutting import batching
from production.cutting.batching import Batch, Flat, Gathered, Owed
from production.cutting.nesting.job import NestProgress
from production.cutting.raws import Metal, Raw, raws_left, read_raw, sheet_areas
from production.scheduling.making import steel
from production.scheduling.making.making import Ground, net_of, read_ground
from production.scheduling.models import WindowOption, WindowTrial
from production.scheduling.windows.window_runs import RUNNER

REACH_DAYS = 10
SECONDS_A_WINDOW = 12.0
CENT, TENTH, SHARE = Decimal("0.01"), Decimal("0.1"), Decimal("0.0001")


def carry_out(trial_id: int) -> None:
    """Try the windows of a queued trial."""
    RUNNER.carry_out(trial_id, _work)


def _work(trial: WindowTrial, pulse: Pulse) -> None:
    ground = read_ground()
    pulse.step(5, "netting the parts")
    items = [item.pk for item in ground.needs.items.values() if item.is_made]
    flats, raws = batching.read_flats(items), read_raw()
    until = ground.days.shift(ground.today.toordinal(), REACH_DAYS)
    owed = [
        one
        for one in steel.owed_parts(ground.needs, net_of(ground.needs), flats)
        if max(one.needed_on, one.steel_on).toordinal() <= until and flats[one.item_id].metal in raws
    ]
    if not owed:
        raise ProblemError(
            Problem(
                f"No order needs parts of the laser within {REACH_DAYS} working days",
                "order book",
                "Compare again when there is something to cut.",
            )
        )
    windows = [int(one) for one in trial.days.split(",")]
    options = [
        _option(trial, days, ground, owed, flats, raws, _Share(pulse, index, len(windows), days))
        for index, days in enumerate(windows)
    ]
    with transaction.atomic():
        WindowOption.objects.bulk_create(options)
        if not RUNNER.close(trial.pk, WindowTrial.Outcome.SUCCEEDED):
            raise Stopped


class _Share:
    """Passes on how far one window is, and stops it where the trial was stopped."""

    def __init__(self, pulse: Pulse, index: int, count: int, days: int) -> None:
        self.pulse, self.index, self.count, self.days = pulse, index, count, days

    def tell(self, share: float) -> bool:
        return self.pulse.tell(5 + 90 * (self.index + share) / self.count, f"window of {self.days} days")


def _option(
    trial: WindowTrial,
    days: int,
    ground: Ground,
    owed: Sequence[Owed],
    flats: Mapping[int, Flat],
    raws: Mapping[Metal, Sequence[Raw]],
    share: _Share,
) -> WindowOption:
    gathered = batching.gather(owed, flats, ground.days, ground.today, days, sheet_areas(raws))
    seconds = batching.share_seconds(gathered, SECONDS_A_WINDOW, ground.today, ground.days)
    laid: list[Batch] = []
    for index, (one, limit) in enumerate(zip(gathered, seconds, strict=True)):
        free = raws_left(raws.get(one.metal, []), (sheet.raw for batch in laid for sheet in batch.sheets))

        def tell(progress: NestProgress, index: int = index) -> bool:
            return share.tell((index + progress.share) / len(gathered))

        laid.append(batching.lay_out(one, flats, free, limit, tell))
        if not share.tell((index + 1) / len(gathered)):
            raise Stopped
    money, money_days = early_money(gathered, flats, raws, ground)
    return _row(trial, days, laid, money, money_days)


def _row(
    trial: WindowTrial, days: int, laid: Sequence[Batch], money: float, money_days: float
) -> WindowOption:
    sheets = [sheet for batch in laid for sheet in batch.sheets]
    area = sum(batch.area_mm2 for batch in laid)
    used = sum(batch.use * batch.area_mm2 for batch in laid)
    return WindowOption(
        trial=trial,
        days=days,
        batches=len(laid),
        sheets=len(sheets),
        sheet_m2=_decimal(area / 1e6, CENT),
        use=_decimal(used / area if area else 0.0, SHARE),
        minutes=_decimal(sum(batch.minutes for batch in laid), TENTH),
        parts=sum(len(sheet.spots) for sheet in sheets),
        sheet_money=_decimal(sum(sheet.raw.stock.price for sheet in sheets), CENT),
        early_money=_decimal(money, CENT),
        early_money_days=_decimal(money_days, CENT),
    )


def early_money(
    gathered: Sequence[Gathered],
    flats: Mapping[int, Flat],
    raws: Mapping[Metal, Sequence[Raw]],
    ground: Ground,
) -> tuple[float, float]:
    """Money in parts cut before their day, and that money times the working days they lie.

    A part's steel is its area at the price of the cheapest whole sheet of its metal by area; what falls off is not
    counted. A batch is cut on the day its first part is needed, today at the earliest.
    """
    money = money_days = 0.0
    for batch in gathered:
        rate = price_a_mm2(raws[batch.metal])
        cut_on = max(batch.needed_on, batch.steel_on, ground.today)
        for one in batch.owed:
            early = _working_days(ground, cut_on, one.needed_on)
            if early > 0:
                worth = flats[one.item_id].area_mm2 * one.quantity * rate
                money += worth
                money_days += worth * early
    return money, money_days


def price_a_mm2(raws: Sequence[Raw]) -> float:
    """The lowest price of a whole sheet by its area; 0 where there are offcuts only."""
    return min((raw.price / raw.area_mm2 for raw in raws if raw.lot_id is None), default=0.0)


def _working_days(ground: Ground, first: date, last: date) -> int:
    """Working days from one day to a later one."""
    count, day, until = 0, first.toordinal(), last.toordinal()
    while day < until:
        day = ground.days.shift(day, 1)
        count += 1
    return count


def _decimal(value: float, places: Decimal) -> Decimal:
    return Decimal(repr(float(value))).quantize(places)
