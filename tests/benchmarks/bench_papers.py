"""Papers of a week: sixty trailers, six papers each, by the worker's own way from the queue to the zip.

    python -m tests.benchmarks.bench_papers --data FOLDER     a demonstration that was built there (else a new one)

Every open order of the demonstration gets its plate and its check results first, so that all papers are full. Beside
the seconds stands how often the progress bar was told something new.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import threading
import time

LIMIT_S = 30
TRAILERS = 60


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--data", help="A data folder that holds a demonstration.")
    options = parser.parse_args()
    os.environ["WORKSHOP_DATA"] = options.data or tempfile.mkdtemp(prefix="workshop-bench-")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "production.config.settings")
    import django

    django.setup()
    if not options.data:
        from django.core.management import call_command

        call_command("demo", check=True)
    return _measure()


def _measure() -> int:
    from bom.people.models import User
    from production.dispatch.models import PaperRun, PaperWanted
    from production.dispatch.papers import press, running
    from production.dispatch.plating import give_plate
    from production.orders.models import Order

    by = User.objects.get(username="manager")
    orders = list(
        Order.objects.filter(state__in=[*Order.OPEN, Order.State.DONE]).select_related("model")[:TRAILERS]
    )
    for order in orders:
        give_plate(order=order, by=by)
    # Written as `start_papers` writes it, but left to this process instead of the queue.
    run = PaperRun.objects.create(key=f"bench:{time.time_ns()}", title="Papers", asked_by=by)
    PaperWanted.objects.bulk_create(PaperWanted(run=run, order=order) for order in orders)
    told: list[tuple[int, str]] = []
    watched = threading.Thread(target=_watch, args=(run.pk, told))
    watched.start()
    started = time.perf_counter()
    running.carry_out(run.pk, press=press.Press)
    made = time.perf_counter() - started
    run.refresh_from_db()
    started = time.perf_counter()
    size = len(running.zipped(run))
    zipped = time.perf_counter() - started
    watched.join()
    print(f"{len(orders)} trailers, {run.papers} papers, {run.get_outcome_display()} {run.failure}")
    print(
        f"made and kept in {made:.1f} s, zip of {size / 1e6:.1f} MB in {zipped:.1f} s; limit {LIMIT_S} s together"
    )
    print(f"the progress bar stood at {len(told)} places: {', '.join(str(percent) for percent, _ in told)}")
    return int(made + zipped > LIMIT_S or run.papers != 6 * len(orders))


def _watch(pk: int, told: list[tuple[int, str]]) -> None:
    """What a browser that asks twice a second sees of the run."""
    from django.db import connection

    from production.dispatch.models import PaperRun

    while True:
        run = PaperRun.objects.get(pk=pk)
        if not told or told[-1] != (run.percent, run.step):
            told.append((run.percent, run.step))
        if not run.is_open:
            connection.close()
            return
        time.sleep(0.5)


if __name__ == "__main__":
    raise SystemExit(main())
