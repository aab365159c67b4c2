"""Server time and number of queries of every page.

    python -m tests.benchmarks.bench_pages              a demonstration workshop in a folder of its own
    python -m tests.benchmarks.bench_pages --scale 100  a hundred times the orders (minutes to build)

Times are the middle of five requests through Django's own client: the server's work, without a network.
"""

import argparse
import os
import statistics
import tempfile
import time


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--scale", type=int, default=1)
    parser.add_argument("--data", help="Keep the workshop in this folder and use it again.")
    parser.add_argument("--seconds", type=int, default=10)
    options = parser.parse_args()
    os.environ["WORKSHOP_DATA"] = options.data or tempfile.mkdtemp(prefix="workshop-bench-")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "production.config.settings")
    import django

    django.setup()
    from django.core.management import call_command

    started = time.perf_counter()
    call_command("demo", check=True, scale=options.scale, seconds=options.seconds)
    print(f"\nbuilt and planned in {time.perf_counter() - started:.1f} s\n")
    return _measure(150 if options.scale == 1 else 300)


def _measure(limit_ms: float) -> int:
    from django.conf import settings
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from bom.people.models import User
    from production.site.demo import SIGN_INS
    from production.site.roles import MANAGER
    from tests.house.addresses import every_page

    settings.ALLOWED_HOSTS = ["*"]
    client = Client()
    client.force_login(User.objects.get(username=next(p.name for p in SIGN_INS if p.role == MANAGER)))
    over = 0
    print(f"{'page':<52} {'ms':>7} {'queries':>8} {'kB':>7}")
    for address in every_page():
        with CaptureQueriesContext(connection) as queries:
            response = client.get(address)
        asked = len(queries)  # the next request empties the log
        if response.status_code != 200:
            continue
        times = []
        for _ in range(5):
            before = time.perf_counter()
            client.get(address)
            times.append((time.perf_counter() - before) * 1000)
        middle = statistics.median(times)
        sign = "" if middle <= limit_ms and asked <= 20 else "  over"
        over += bool(sign)
        size = len(response.content) / 1000 if not response.streaming else 0
        print(f"{address:<52} {middle:7.1f} {asked:8d} {size:7.1f}{sign}")
    print(f"\n{over} over the limit of {limit_ms:.0f} ms or 20 queries")
    return 1 if over else 0


if __name__ == "__main__":
    raise SystemExit(main())
