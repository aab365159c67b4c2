"""Nest the drawings of a folder on sheets."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from bom.kernel.errors import Problem, ProblemError
from production.cutting.nesting.job import NestProgress, NestResult, NestSettings
from production.cutting.nesting.nest import nest
from production.cutting.terminal.folder import read_folder
from production.cutting.terminal.nests import as_json, as_words
from production.cutting.terminal.sizes import offcuts_from, sheets_from
from production.cutting.terminal.telling import ProgressBar, until_interrupted, write_json

NOT_ALL_PLACED = 3
BY_THE_CLOCK = (
    "The search is limited by the clock: another run with the same seed may lay the parts out differently. "
    "Keep this layout; --seconds 0 gives the first one, the same in every run."
)
FIRST_ONLY = (
    "This is the first layout, the same in every run; with more --seconds better ones are looked for."
)


class Command(BaseCommand):
    help = (
        "Nest the parts of a folder on sheets. The folder holds DXF files and parts.csv with the columns file, "
        "quantity and rotations (degrees between spaces; empty means as drawn), and if wanted mirror (yes) and "
        "priority (higher lies on an earlier sheet). Ctrl-C ends the search and keeps the best layout. "
        "Ends with 0 when every part is placed, with 3 when some are left over, with 1 when something is wrong."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", type=Path)
        parser.add_argument(
            "--sheet",
            action="append",
            default=[],
            metavar="LENGTHxWIDTH[:PRICE[:COUNT]]",
            help="A size of sheet in mm, as often as there are sizes; without a price it costs its area, "
            "without a count there are as many as needed.",
        )
        parser.add_argument(
            "--offcut",
            action="append",
            default=[],
            type=Path,
            metavar="FILE.dxf",
            help="An offcut drawn with the holes in it, used before new sheets; as often as there are offcuts.",
        )
        parser.add_argument("--gap", type=float, default=5.0, help="mm between parts (5)")
        parser.add_argument("--margin", type=float, default=10.0, help="mm to the sheet's edges (10)")
        parser.add_argument(
            "--seconds",
            type=float,
            default=10.0,
            help="time to look for better layouts (10); with 0 the first layout, the same in every run",
        )
        parser.add_argument("--seed", type=int, default=1, help="another number, other layouts (1)")
        parser.add_argument("--json", type=Path, metavar="OUT.json", help="write the layout to this file")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            result = self._nest(options)
        except ProblemError as refusal:
            raise CommandError(str(refusal)) from None
        if result.unplaced:
            left = sum(one.quantity for one in result.unplaced)
            raise CommandError(f"{left} parts are left over.", returncode=NOT_ALL_PLACED)

    def _nest(self, options: dict[str, Any]) -> NestResult:
        offcuts, corners = offcuts_from(options["offcut"])
        stocks = [*sheets_from(options["sheet"]), *offcuts]
        if not stocks:
            raise ProblemError(Problem("No sheet is given", "--sheet", "Write --sheet 3000x1500"))
        settings = NestSettings(
            gap_mm=options["gap"],
            margin_mm=options["margin"],
            seconds=options["seconds"],
            seed=options["seed"],
        )
        bar = ProgressBar(sys.stderr)
        with until_interrupted() as goes_on:
            parts = read_folder(options["folder"], lambda file: bar.show(0.0, f"reading {file}"))

            def tell(progress: NestProgress) -> bool:
                bar.show(progress.share, progress.words)
                return goes_on()

            result = nest(parts, stocks, settings, tell)
        bar.clear()
        self.stdout.write(as_words(parts, result, corners))
        self.stdout.write(FIRST_ONLY if settings.seconds == 0 else BY_THE_CLOCK)
        if options["json"]:
            write_json(options["json"], as_json(result, corners))
            self.stdout.write(f"Written to {options['json']}.")
        return result
