"""Plan what to saw from which bar."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from bom.kernel.errors import ProblemError
from production.cutting.bars.job import BarPlan, BarProgress
from production.cutting.bars.plan import cut_bars
from production.cutting.terminal.barlists import as_json, as_words, pieces_from
from production.cutting.terminal.sizes import bars_from
from production.cutting.terminal.telling import ProgressBar, until_interrupted, write_json

NOT_ALL_CUT = 3


class Command(BaseCommand):
    help = (
        "Saw a list of pieces from bars at the least cost. The list is a CSV file with the columns length_mm, "
        "quantity and name. Without prices fewest bars are used, with several lengths the least length. "
        "Ctrl-C ends the search and keeps the best plan. Ends with 0 when every piece is cut, with 3 when some are "
        "left over, with 1 when something is wrong."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("list", type=Path)
        parser.add_argument(
            "--bar",
            action="append",
            required=True,
            metavar="LENGTH[:PRICE[:COUNT]]",
            help="A length of bar in mm, as often as there are lengths.",
        )
        parser.add_argument("--kerf", type=float, default=3.0, help="mm lost in each saw cut (3)")
        parser.add_argument("--trim", type=float, default=15.0, help="mm cut off the end of each bar (15)")
        parser.add_argument(
            "--keep", type=float, default=500.0, help="shortest offcut worth keeping, mm (500)"
        )
        parser.add_argument("--seconds", type=float, default=10.0, help="time to look for a proof (10)")
        parser.add_argument("--json", type=Path, metavar="OUT.json", help="write the plan to this file")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            plan = self._plan(options)
        except ProblemError as refusal:
            raise CommandError(str(refusal)) from None
        if plan.not_cut:
            left = sum(one.quantity for one in plan.not_cut)
            raise CommandError(f"{left} pieces are left over.", returncode=NOT_ALL_CUT)

    def _plan(self, options: dict[str, Any]) -> BarPlan:
        bars, counted_in = bars_from(options["bar"])
        pieces, names = pieces_from(options["list"])
        bar = ProgressBar(sys.stderr)
        with until_interrupted() as goes_on:

            def tell(progress: BarProgress) -> bool:
                share = progress.seconds / max(options["seconds"], 0.1)
                bar.show(share, f"{progress.step}, {progress.cost:g} {counted_in}, bound {progress.bound:g}")
                return goes_on()

            plan = cut_bars(
                pieces,
                bars,
                kerf_mm=options["kerf"],
                trim_mm=options["trim"],
                shortest_offcut_mm=options["keep"],
                seconds=options["seconds"],
                progress=tell,
            )
        bar.clear()
        self.stdout.write(as_words(plan, names, counted_in))
        if options["json"]:
            write_json(options["json"], as_json(plan, names, counted_in))
            self.stdout.write(f"Written to {options['json']}.")
        return plan
