"""Trace and recall over ten thousand trailers with two and a half million rows of record.

    python -m tests.benchmarks.bench_trace                                    a SQLite file of its own
    python -m tests.benchmarks.bench_trace --postgres postgres://user@host:5432/postgres      and on PostgreSQL
    python -m tests.benchmarks.bench_trace --trailers 500                                     a short one

The trailers are written by plain statements (no ledger behind them): 250 rows each, by lots that change every so many
trailers, serial numbers, steel casts behind sections and sheets, lorry loads. Times are the middle of seven.
"""

from __future__ import annotations

import argparse
import os
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks.bench_ledger import database_of_its_own

LIMIT_MS = 300
ROWS = 250
ITEMS = 230
SERIALS = 4
SUPPLIERS = 20
# A lot of each item lasts so many trailers; the slowest part's lot is on eight hundred.
LASTS = (25, 60, 150, 800)
TRIES = 7


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--postgres", default="", help="Address of a server; SQLite where none is given.")
    parser.add_argument("--trailers", type=int, default=10_000)
    options = parser.parse_args()
    with (
        tempfile.TemporaryDirectory(prefix="workshop-bench-") as folder,
        database_of_its_own(Path(folder), options.postgres) as database,
    ):
        os.environ.update(database.environment())
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "production.config.settings")
        import django

        django.setup()
        from django.core.management import call_command
        from django.db import connection

        call_command("migrate", verbosity=0)
        started = time.perf_counter()
        rows = _write(options.trailers)
        written = time.perf_counter() - started
        print(f"{database.name}: {options.trailers} trailers, {rows} rows, written in {written:.0f} s")
        over = _measure(options.trailers)
        connection.close()
    return over


def _write(trailers: int) -> int:
    """Orders, their plates and seals by the models; sources and rows by one statement each."""
    from django.db import connection, transaction

    with transaction.atomic():
        first_order, items, by = _orders(trailers)
        with connection.cursor() as cursor:
            _sources(cursor, trailers, items)
            _rows(cursor, trailers, items, first_order, by)
        _plates_and_seals(trailers, first_order, by)
        _claims(trailers, first_order, items, by)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
        cursor.execute("SELECT count(*) FROM production_builtrow")
        return int(cursor.fetchone()[0])


def _orders(trailers: int) -> tuple[int, list[int], int]:
    from django.utils import timezone

    from bom.catalogue.models import TrailerModel
    from bom.items.models import Item
    from bom.people.models import User
    from inventory.stock.models import Purpose
    from production.orders.models import Customer, FrozenBill, Hull, Order

    user = User.objects.create_superuser("manager", password="-")
    top = Item.objects.create(code="TR", name="Trailer", kind="made")
    parts = [
        Item(code=f"P-{index:03d}", name=f"part {index}", kind="section" if index % 10 == 0 else "bought")
        for index in range(ITEMS)
    ]
    items = [item.pk for item in Item.objects.bulk_create(parts)]
    model = TrailerModel.objects.create(
        code="M", name="Model", item=top, max_mass_kg=1300, own_mass_kg=300, length_mm=6000, width_mm=2000,
        hull_length_min_mm=4000, hull_length_max_mm=6000, base_price=1,
    )  # fmt: skip
    bill = FrozenBill.objects.create(digest="x", item=top)
    hull = Hull.objects.create(name="Hull", mass_kg=600, length_mm=5000, beam_mm=2000, bow_to_transom_mm=4800)
    customers = Customer.objects.bulk_create(
        Customer(code=f"C{index}", name=f"Customer {index}", place="Harbour") for index in range(200)
    )
    purposes = Purpose.objects.bulk_create(
        [Purpose(code=f"o{index}", label="-", is_open=False) for index in range(trailers)], batch_size=500
    )
    orders = Order.objects.bulk_create(
        [
            Order(
                number=f"{10000 + index}", customer=customers[index % 200], model=model, hull=hull, bill=bill,
                purpose=purposes[index], finish="galvanised", state="gone", asked_for=timezone.localdate(),
            )
            for index in range(trailers)
        ],
        batch_size=500,
    )  # fmt: skip
    return orders[0].pk, items, user.pk


_NUMBERS = "WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < {most}) "


def _sources(cursor, trailers: int, items: list[int]) -> None:
    """Lots of every item, serial numbers of every trailer, casts behind every tenth item's lots, lorry loads."""
    first = items[0]
    lots = trailers // LASTS[0] + 1
    columns = "INSERT INTO production_source (id, kind, code, item_id, supplier_id) "
    supplier = _suppliers()
    pieces = f"i / {lots} AS part, i % {lots} AS lot"
    cursor.execute(
        f"{columns}{_NUMBERS.format(most=ITEMS * lots - 1)}"
        f"SELECT i + 1, 'lot', 'L' || lot || '-' || part, {first} + part, {supplier} + part % {SUPPLIERS} "
        f"FROM (SELECT i, {pieces} FROM n) AS t"
    )
    serials = 1_000_000
    cursor.execute(
        f"{columns}{_NUMBERS.format(most=trailers * SERIALS - 1)}"
        f"SELECT {serials} + i, 'serial', 'S' || i, {first} + i % {SERIALS}, {supplier} + i % {SERIALS} FROM n"
    )
    casts = 2_000_000
    cursor.execute(
        f"{columns}{_NUMBERS.format(most=lots - 1)}SELECT {casts} + i, 'cast', 'CAST-' || i, NULL, NULL FROM n"
    )
    loads = 3_000_000
    cursor.execute(
        f"{columns}{_NUMBERS.format(most=trailers // 12)}SELECT {loads} + i, 'load', 'GL-' || i, NULL, NULL FROM n"
    )
    cursor.execute(
        "INSERT INTO production_origin (source_id, made_from_id) "
        f"SELECT id, {casts} + (id - 1) % {lots} FROM production_source WHERE kind = 'lot' "
        f"AND (item_id - {first}) % 10 = 0"
    )


def _suppliers() -> int:
    """The number of the first of them; the others follow it."""
    from inventory.buying.models import Supplier

    made = Supplier.objects.bulk_create(
        Supplier(code=f"SUP-{index}", name=f"Supplier {index}") for index in range(SUPPLIERS)
    )
    return made[0].pk


def _rows(cursor, trailers: int, items: list[int], first_order: int, by: int) -> None:
    first, lots = items[0], trailers // LASTS[0] + 1
    lasts = " ".join(f"WHEN {rest} THEN {days}" for rest, days in enumerate(LASTS))
    columns = "INSERT INTO production_builtrow (order_id, kind, item_id, source_id, quantity, words, by_id) "
    cursor.execute(
        f"{columns}{_NUMBERS.format(most=trailers - 1)}"
        f"SELECT {first_order} + n.i, 'part', {first} + p.i, "
        f"1 + p.i * {lots} + n.i / CASE p.i % 4 {lasts} END, 2, '', NULL "
        f"FROM n CROSS JOIN (SELECT i FROM n WHERE i < {ITEMS}) AS p"
    )
    for kind, count, source, item in (
        ("part", SERIALS, f"1000000 + n.i * {SERIALS} + p.i", f"{first} + p.i"),
        ("coated", 1, "3000000 + n.i / 12", "NULL"),
        ("measured", ROWS - ITEMS - SERIALS - 1, "NULL", "NULL"),
    ):
        cursor.execute(
            f"{columns}{_NUMBERS.format(most=trailers - 1)}"
            f"SELECT {first_order} + n.i, '{kind}', {item}, {source}, 1, 'checked: good', {by} "
            f"FROM n CROSS JOIN (SELECT i FROM n WHERE i < {count}) AS p"
        )


def _plates_and_seals(trailers: int, first_order: int, by: int) -> None:
    from django.utils import timezone

    from production.dispatch.models import Seal, SerialPlate

    now = timezone.now()
    SerialPlate.objects.bulk_create(
        [
            SerialPlate(
                order_id=first_order + index, mark="ZZ9", number=index + 1, vin=f"ZZ9BT0000A{index:07d}"[:17],
                model_year=2026, max_mass_kg=1300, axles=1, by_id=by,
            )
            for index in range(trailers)
        ],
        batch_size=500,
    )  # fmt: skip
    Seal.objects.bulk_create(
        [
            Seal(
                order_id=first_order + index,
                number=index + 1,
                rows=ROWS,
                digest=f"{index:064d}",
                by_id=by,
                at=now,
            )
            for index in range(trailers)
        ],
        batch_size=500,
    )


def _claims(trailers: int, first_order: int, items: list[int], by: int) -> None:
    """Four hundred claims on forty parts, of a batch each."""
    from django.utils import timezone

    from production.dispatch.models import Claim

    lots = trailers // LASTS[0] + 1
    Claim.objects.bulk_create(
        Claim(
            number=f"WC-{index}", key=f"k{index}", order_id=first_order + index, item_id=items[index % 40],
            source_id=1 + index % 40 * lots, cause="material", words="-", reported_on=timezone.localdate(), by_id=by,
        )
        for index in range(min(400, trailers))
    )  # fmt: skip


def _measure(trailers: int) -> int:
    over = 0
    for name, act in _asked(trailers):
        times = []
        for _ in range(TRIES):
            before = time.perf_counter()
            answer = act()
            times.append((time.perf_counter() - before) * 1000)
            if getattr(answer, "status_code", 200) != 200:
                raise RuntimeError(f"{name}: {answer.status_code}")
        found = len(answer) if isinstance(answer, list) else ""
        ms = statistics.median(times)
        over += ms > LIMIT_MS
        late = "  OVER" if ms > LIMIT_MS else ""
        print(f"{name:<42} {ms:8.1f} ms, slowest {max(times):8.1f} ms  {found}{late}")
    return over


def _asked(trailers: int) -> list[tuple[str, Callable[[], object]]]:
    """What is timed: a name, and something to do."""
    from django.conf import settings
    from django.test import Client

    from bom.people.models import User
    from production.dispatch import calling_back, tracing
    from production.dispatch.models import Source
    from production.orders.models import Order

    settings.ALLOWED_HOSTS = ["*"]
    client, user = Client(), User.objects.get()
    client.force_login(user)
    lots = trailers // LASTS[0] + 1
    middle = Order.objects.order_by("pk")[trailers // 2]
    widest = Source.objects.get(pk=1 + 3 * lots)  # of a part whose lot lasts longest
    cast = Source.objects.get(code="CAST-1")
    serial = Source.objects.get(code=f"S{trailers * 2}")
    vin = middle.plates.get().vin
    recalls = iter(range(1000))
    return [
        ("one serial number, forward", lambda: list(tracing.trailers_with(serial))),
        ("the widest lot, forward", lambda: list(tracing.trailers_with(widest))),
        ("a steel cast, forward", lambda: list(tracing.trailers_with(cast))),
        ("one trailer, back to everything", lambda: tracing.behind(middle)),
        ("find by the beginning of a number", lambda: tracing.find_sources("L1")),
        (
            "a recall of the widest lot is opened",
            lambda: calling_back.open_recall(source=widest, by=user, reason=f"reason {next(recalls)}"),
        ),
        ("page: the widest lot", lambda: client.get(f"/gate/trace/{widest.pk}/")),
        ("page: a steel cast", lambda: client.get(f"/gate/trace/{cast.pk}/")),
        ("page: the recall's list", lambda: client.get("/gate/recalls/RC-0001/")),
        ("page: one record, with its seal", lambda: client.get(f"/gate/records/{middle.number}/")),
        ("page: recalls", lambda: client.get("/gate/recalls/")),
        ("page: trailers gone", lambda: client.get("/gate/records/")),
        ("page: trailers gone, of an owner", lambda: client.get("/gate/records/?q=Customer 11")),
        ("page: trailers gone, of a VIN", lambda: client.get(f"/gate/records/?q={vin}")),
        ("page: trailers gone, the last page", lambda: client.get(f"/gate/records/?page={trailers // 50}")),
        ("page: a source is looked for", lambda: client.get("/gate/trace/?q=L1")),
        ("page: claims with rates", lambda: client.get("/gate/claims/")),
    ]


if __name__ == "__main__":
    raise SystemExit(main())
