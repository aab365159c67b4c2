"""Server time of the stock pages over a ledger of a million rows.

    python -m tests.benchmarks.bench_stock_pages                      a SQLite file in a folder of its own
    DATABASE_URL=postgres://… python -m tests.benchmarks.bench_stock_pages     an empty PostgreSQL database
    python -m tests.benchmarks.bench_stock_pages --rows 100000 --data FOLDER   smaller, kept and used again

A small demonstration gets years of goods-in and issues on its bought items, the same from the same seed: written
past the ledger's door, because this is a measurement, and audited afterwards. Times are the middle of five requests
through Django's own client.
"""

import argparse
import os
import random
import statistics
import tempfile
import time
from collections.abc import Iterator
from datetime import timedelta

YEARS = 3
LIMIT_MS = 200
MOST_QUERIES = 20


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--data", help="Keep the database in this folder and use it again.")
    options = parser.parse_args()
    os.environ["WORKSHOP_DATA"] = options.data or tempfile.mkdtemp(prefix="bench-stock-")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "production.config.settings")
    import django

    django.setup()
    _fill(options.rows)
    return _measure()


def _fill(rows: int) -> None:
    from django.core.management import call_command

    from inventory.stock import cost_points, ledger
    from inventory.stock.models import Movement
    from production.site.demo import build

    call_command("migrate", verbosity=0)
    if Movement.objects.count() >= rows:
        return
    build(orders=8, history_weeks=4)
    started = time.perf_counter()
    postings, movements = _rows(rows)
    _insert("inventory_posting", ("id", "key", "kind", "happened_at", "recorded_at", "reason"), postings)
    _insert(
        "inventory_movement", ("posting_id", "item_id", "location_id", "quantity", "happened_at"), movements
    )
    _renumber_and_analyse()
    print(f"{Movement.objects.count()} rows written in {time.perf_counter() - started:.0f} s")
    for name, work in (
        ("balances rebuilt", ledger.rebuild_balances),
        ("cost points kept", cost_points.keep_points),
    ):
        started = time.perf_counter()
        print(f"{name}: {work()} in {time.perf_counter() - started:.0f} s")


def _rows(wanted: int) -> tuple[Iterator[tuple], Iterator[tuple]]:
    """Two movements a posting: ten come, then one leaves at a time; each item's shelf never falls below nothing."""
    from django.utils import timezone

    from bom.items.models import Item
    from inventory.stock.models import Balance, Location, Posting

    chance = random.Random(1)
    bought = Item.objects.filter(kind="bought", tracking="none").order_by("pk").values_list("pk", flat=True)
    shelves = dict(
        Balance.objects.filter(location__kind="shelf", item__in=list(bought)).values_list("item", "location")
    )
    items = [item for item in bought if item in shelves]
    supplier = Location.objects.get(code="SUPPLIER").pk
    conversion = Location.objects.get(code="CONV").pk
    count = wanted // 2
    first = (Posting.objects.order_by("-pk").values_list("pk", flat=True).first() or 0) + 1
    begin = timezone.now() - timedelta(days=365 * YEARS)
    step = timedelta(days=365 * YEARS) / count
    left = dict.fromkeys(items, 0)
    postings, movements = [], []
    for number in range(count):
        item = chance.choice(items)
        comes = left[item] == 0
        change = 10 if comes else -1
        left[item] += change
        at = begin + number * step
        kind = "receipt" if comes else "issue"
        postings.append((first + number, f"scale:{number}", kind, at, at, ""))
        movements.append((first + number, item, shelves[item], change, at))
        movements.append((first + number, item, supplier if comes else conversion, -change, at))
    return iter(postings), iter(movements)


def _insert(table: str, columns: tuple[str, ...], rows: Iterator[tuple]) -> None:
    from django.db import connection, transaction

    names = ", ".join(columns)
    with transaction.atomic(), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {table} ({names}) FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
        else:
            field = connection.ops.adapt_datetimefield_value
            signs = ", ".join(["%s"] * len(columns))
            made = ([field(value) if hasattr(value, "tzinfo") else value for value in row] for row in rows)
            cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({signs})", list(made))


def _renumber_and_analyse() -> None:
    from django.core.management.color import no_style
    from django.db import connection

    from inventory.stock.models import Posting

    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), [Posting]):
            cursor.execute(statement)
        cursor.execute("ANALYZE")


def _measure() -> int:
    from django.conf import settings
    from django.core.cache import cache
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from bom.items.models import Item
    from bom.people.models import User
    from inventory.stock.models import Posting

    settings.ALLOWED_HOSTS = ["*"]
    client = Client()
    client.force_login(User.objects.get(username="manager"))
    latest = Posting.objects.filter(key__startswith="scale:").order_by("-pk").first()
    code = Item.objects.filter(movements__posting=latest).values_list("code", flat=True)[0]
    pages = [
        "/stores/",
        "/stores/?sort=-available",
        "/stores/?only=to+buy",
        f"/stores/items/{code}/",
        f"/parts/{code}/",
        "/stores/ledger/",
        "/stores/ledger/?kind=receipt",
        f"/stores/ledger/?item={code}",
        "/stores/ledger/?place=A1",
        "/stores/ledger/?page=2000",
        "/parts/alerts/",
        "/buying/levels/",
        "/stores/value/",
        f"/stores/items/{code}/value/",
        f"/stores/postings/{latest.pk}/cost/",
    ]
    over = 0
    print(f"{connection.vendor}\n{'page':<44} {'ms':>8} {'queries':>8}")
    for page in pages:
        cache.clear()
        with CaptureQueriesContext(connection) as queries:
            response = client.get(page)
        asked = len(queries)  # the next request empties the log
        slowest = max(queries.captured_queries, key=lambda query: float(query["time"]))
        times = []
        for _ in range(5):
            before = time.perf_counter()
            client.get(page)
            times.append((time.perf_counter() - before) * 1000)
        middle = statistics.median(times)
        bad = response.status_code != 200 or middle > LIMIT_MS or asked > MOST_QUERIES
        over += bad
        note = f"  over; {slowest['time']} s {slowest['sql'][:110]}" if bad else ""
        print(f"{page:<44} {middle:8.1f} {asked:8d}{note}")
    print(f"\n{over} over the limit of {LIMIT_MS} ms or {MOST_QUERIES} queries")
    return 1 if over else 0


if __name__ == "__main__":
    raise SystemExit(main())
