"""Broken inputs by the thousand: `python -m tests.benchmarks.bench_broken_files [how many] [seed]`.

Needs the demonstration in the database of the settings; nothing is written. Drawings, workbooks, pasted counts,
expressions, bills, options and prices in the shares 4 : 2 : 2 : 2 : 1 : 1 : 1.
"""

import os
import random
import sys
import tempfile
import time
from pathlib import Path

import django


def main(count: int, seed: int) -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "production.config.settings")
    django.setup()
    # Only once the settings stand: these bring in models.
    from bom.catalogue.files import RANGE
    from bom.items.models import Item
    from inventory.buying.price_files import PRICES
    from tests import broken_files

    codes = list(Item.objects.filter(kind="bought").values_list("code", flat=True)[:100])
    draw, faults = random.Random(seed), 0
    with tempfile.TemporaryDirectory() as folder:
        kinds = {
            "drawings": lambda: broken_files.try_drawings(draw, count * 4 // 10, Path(folder)),
            "workbooks": lambda: broken_files.try_workbooks(draw, count * 2 // 10),
            "counts": lambda: broken_files.try_counts(draw, count * 2 // 10, codes),
            "expressions": lambda: broken_files.try_expressions(draw, count * 2 // 10),
            "bills": lambda: broken_files.try_bills(draw, count // 10),
            "options": lambda: broken_files.try_tables(draw, count // 10, RANGE),
            "prices": lambda: broken_files.try_tables(draw, count // 10, PRICES),
        }
        print(f"{'kind':<12}{'inputs':>8}{'good':>8}{'told':>8}{'faults':>8}{'ms each':>9}")
        for kind, work in kinds.items():
            begun = time.perf_counter()
            tally = work()
            each = (time.perf_counter() - begun) * 1000 / max(1, tally.all)
            print(f"{kind:<12}{tally.all:>8}{tally.good:>8}{tally.told:>8}{len(tally.faults):>8}{each:>9.1f}")
            for fault in tally.faults[:10]:
                print("   ", fault)
            faults += len(tally.faults)
    return 1 if faults else 0


if __name__ == "__main__":
    figures = [int(text) for text in sys.argv[1:]]
    sys.exit(main(*(figures + [200, 1][len(figures) :])))
