"""Expansion and parts planning of the demonstration's order book, from the database to the netted plan.

python -m tests.benchmarks.bench_planning --data FOLDER    a demonstration that was built there (else a new one)
"""

import argparse
import os
import tempfile
import time


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--data", help="A data folder that holds a demonstration.")
    options = parser.parse_args()
    os.environ["WORKSHOP_DATA"] = options.data or tempfile.mkdtemp(prefix="workshop-bench-")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "production.config.settings")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("demo", check=True)
    _measure()


def _measure() -> None:
    from django.utils import timezone

    from bom.catalogue.configuring import configuration_of, load_range
    from production.orders.freezing import expand_bill, load_book
    from production.orders.models import Order
    from production.orders.queries import answers_of
    from production.scheduling.making.making import _net, _read

    orders = list(Order.objects.filter(state__in=Order.OPEN).select_related("customer", "model__item"))
    rows = []
    before = time.perf_counter()
    book, catalogue, answers = load_book(timezone.localdate()), load_range(), answers_of(orders)
    rows.append(("reading bills, catalogue and answers", time.perf_counter() - before))
    before = time.perf_counter()
    lines = 0
    for order in orders:
        scope = configuration_of(answers[order.pk], catalogue)
        lines += len(expand_bill(book.loaded, order.model.item.code, scope).edges)
    rows.append((f"expanding {len(orders)} orders, {lines} lines, each anew", time.perf_counter() - before))
    before = time.perf_counter()
    ground = _read()
    rows.append(("reading the floor, stock and receipts", time.perf_counter() - before))
    before = time.perf_counter()
    plan = _net(ground.needs)
    rows.append((f"netting, {len(plan.pegs)} pegs", time.perf_counter() - before))
    rows.append(("together", sum(seconds for _, seconds in rows)))
    print()
    for name, seconds in rows:
        print(f"{name:<60} {seconds * 1000:8.0f} ms")


if __name__ == "__main__":
    main()
