"""How long working out levels and alerts takes: `python -m tests.benchmarks.bench_levels [items]`.

A workshop in a folder of its own (or the database of `DATABASE_URL`, which must be empty) with so many bought items
(10,000 if not said), a supplier each, and a year in which every second item is used each second week and the rest
now and then. The rows are written straight into the tables, because they are only there to be read. A fifth of the
items is short on a plan, too. Forecasts are tried on the items whose lead time is long.

Printed are seconds as they passed, and those that this process worked; the limit holds for the former.
"""

from __future__ import annotations

import os
import random
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bom.items.models import Item
    from tests.production.small_workshop import SmallWorkshop

WEEKS = 52
ALERTS_WITHIN = 5.0
ORDERS = 20
_AT_ONCE = 1000


@dataclass(frozen=True)
class Row:
    """One line of the table."""

    what: str
    seconds: float
    worked: float
    found: str


def main() -> int:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    os.environ.setdefault("WORKSHOP_DATA", tempfile.mkdtemp(prefix="workshop-bench-"))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "production.config.settings")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    from bom.items.models import Item

    if Item.objects.exists():
        print("This database has items already; give an empty one.")
        return 2
    moved = _fill(count)
    print(f"{count} items, {moved} movements of stock")
    return _print(_measure())


def _fill(count: int) -> int:
    """Items, a year of movements, and a plan with shortages; returns how many movements."""
    from inventory.stock import ledger
    from tests.production.small_workshop import build

    draw = random.Random(1)
    shop = build()
    items = _items(count, draw)
    _sell(items)
    moved = _move(items, draw)
    ledger.rebuild_balances()
    _plan(shop, items[:: max(1, count // 2000)])
    return moved


def _items(count: int, draw: random.Random) -> list[Item]:
    from bom.items.models import Item

    rows = [
        Item(
            code=f"X{number:05d}",
            name=f"part {number}",
            kind="bought",
            lead_days=40 if number % 100 == 7 else draw.choice([4, 8, 12, 10]),
            standard_cost=Decimal(draw.randint(5, 9000)) / 100,
            lot_rule=draw.choice(["as_needed", "economic", "least_average", "least_total"]),
        )
        for number in range(count)
    ]
    return Item.objects.bulk_create(rows, batch_size=_AT_ONCE)


def _sell(items: Sequence[Item]) -> None:
    from inventory.buying.models import Supplier, SupplierItem

    supplier = Supplier.objects.create(code="ALL", name="Everything")
    SupplierItem.objects.bulk_create(
        [
            SupplierItem(
                supplier=supplier, item=item, price=item.standard_cost, pack=1, lead_days=item.lead_days
            )
            for item in items
        ],
        batch_size=_AT_ONCE,
    )


def _move(items: list[Item], draw: random.Random) -> int:
    from django.utils import timezone

    from inventory.stock.models import Location, Movement, Posting

    places = {place.code: place for place in Location.objects.all()}
    now = timezone.now()
    moved = 0

    def post(key: str, kind: str, weeks_ago: int, origin: str, target: str, few: Sequence[Item]) -> None:
        nonlocal moved
        posting = Posting(key=key, kind=kind, happened_at=now - timedelta(weeks=weeks_ago, days=1))
        posting.save()
        rows = []
        for item in few:
            quantity = Decimal(draw.randint(1, 30))
            rows += [
                Movement(
                    posting=posting,
                    item=item,
                    location=places[place],
                    quantity=moved_by,
                    happened_at=posting.happened_at,
                )
                for place, moved_by in ((origin, -quantity), (target, quantity))
            ]
        Movement.objects.bulk_create(rows, batch_size=_AT_ONCE)
        moved += len(rows)

    for number in range(8):
        post(f"r{number}", "receipt", WEEKS + 1 - number * 6, "SUPPLIER", "A1", items)
    often, seldom = items[: len(items) // 2], items[len(items) // 2 :]
    for week in range(WEEKS, 0, -1):
        few = often[week % 2 :: 2] + [item for item in seldom if draw.random() < 0.1]
        post(f"i{week}", "issue", week, "A1", "CONV", few)
    return moved


def _plan(shop: SmallWorkshop, items: Sequence[Item]) -> None:
    """A released plan in which these items are short, each for one of a few orders."""
    from django.utils import timezone

    from production.planning.models import Plan, Shortage
    from production.works.confirming import confirm_order

    orders = [confirm_order(order=shop.draft(), by=shop.user) for _ in range(ORDERS)]
    plan = Plan.objects.create(
        number=1, state="finished", outcome="succeeded", is_current=True, released_at=timezone.now()
    )
    today = timezone.localdate()
    Shortage.objects.bulk_create(
        [
            Shortage(
                plan=plan,
                order=orders[number % ORDERS],
                item=item,
                quantity=1 + number % 7,
                needed_on=today + timedelta(days=5),
                available_on=today + timedelta(days=12),
                days_short=7,
            )
            for number, item in enumerate(items)
        ],
        batch_size=_AT_ONCE,
    )


def _measure() -> list[Row]:
    from django.utils import timezone

    from inventory.levels import forecasts, queries, smoothing, working_out
    from inventory.levels.models import ItemLevel, LevelProposal
    from inventory.stock import valuing
    from production.planning.alerting.watching import watch

    rows: list[Row] = []
    today = timezone.localdate()
    far = today + timedelta(days=40)

    def timed(what: str, work: Callable[[], str]) -> None:
        begun, worked = time.perf_counter(), time.process_time()
        found = work()
        rows.append(Row(what, time.perf_counter() - begun, time.process_time() - worked, found))

    ground = working_out.read_ground(today)
    timed("read a year of use", lambda: f"{len(working_out.read_ground(today).items)} items")
    timed("value every item", lambda: f"{len(valuing.unit_cost(ground.items))} costs")
    timed("first levels and classes", lambda: f"{working_out.work_out_levels(ground=ground)} levels")
    ItemLevel.objects.filter(item__code__endswith="7").update(reorder_point=1000)

    def anew() -> str:
        working_out.work_out_levels(ground=ground, propose=True)
        return f"{LevelProposal.objects.count()} proposals"

    timed("levels anew, with proposals", anew)

    def forecast() -> str:
        found = forecasts.find_forecasts(ground, far, fit=smoothing.fitted, tell=lambda *_: True)
        return f"{len(found or [])} items"

    timed("forecasts where orders fall short", forecast)
    timed("shelf alerts", lambda: f"{len(queries.shelf_alerts(today=today))} under their level")
    timed("alerts of both kinds, first look", lambda: str(watch()))
    timed("alerts of both kinds, looked again", lambda: str(watch()))
    return rows


def _print(rows: Sequence[Row]) -> int:
    print(f"{'what':<36} {'seconds':>8} {'worked':>8}  found")
    for row in rows:
        print(f"{row.what:<36} {row.seconds:>8.2f} {row.worked:>8.2f}  {row.found}")
    over = [row for row in rows if "alerts" in row.what and row.seconds > ALERTS_WITHIN]
    slowest = max(row.seconds for row in rows if "alerts" in row.what)
    print(f"slowest look for alerts over its limit of {ALERTS_WITHIN:.0f} s: {slowest / ALERTS_WITHIN:.2f}")
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
