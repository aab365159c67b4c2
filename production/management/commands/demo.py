"""The demonstration workshop: built, planned and served by one command."""

import sys
import time
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from bom.catalogue.models import TrailerModel
from bom.geometry.models import FlatPart
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.runs import Run
from inventory.stock.models import Posting
from production.cutting.saw.models import BarGather
from production.management.commands.serve import Command as Serve
from production.orders.models import Order
from production.planning.models import Plan, Suggestion
from production.scheduling import planning
from production.site import demo, serving
from production.site.roles import sync_roles

PLAN_DEADLINE_SECONDS = 600


class Bar:
    """A progress bar on a terminal; a line for each new step elsewhere."""

    def __init__(self, stream: Any) -> None:
        self.stream = stream
        self.is_terminal = hasattr(stream, "isatty") and stream.isatty()
        self.last = ""

    def __call__(self, percent: int, step: str) -> None:
        if self.is_terminal:
            filled = "█" * (percent // 4)
            self.stream.write(f"\r{filled:░<25} {percent:3d} %  {step:<60.60}")
        elif step != self.last:
            self.stream.write(f"{percent:3d} %  {step}\n")
        self.last = step
        self.stream.flush()

    def end(self) -> None:
        if self.is_terminal:
            self.stream.write("\n")


class Command(BaseCommand):
    help = "Build the invented workshop, plan it and serve it. A second start keeps what was done meanwhile."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--seed", type=int, default=1, help="The same seed builds the same workshop.")
        parser.add_argument("--orders", type=int, default=60, help="Open orders at scale 1.")
        parser.add_argument("--scale", type=int, default=1, help="100 gives a hundred times the orders.")
        parser.add_argument(
            "--history-weeks", type=int, default=demo.HISTORY_WEEKS, help="Weeks of history behind it."
        )
        parser.add_argument("--seconds", type=int, default=15, help="Seconds the scheduler may search.")
        parser.add_argument(
            "--check", action="store_true", help="Print the summary and end instead of serving."
        )
        parser.add_argument("--no-plan", action="store_true", help="Build only.")
        parser.add_argument("--clear", action="store_true", help="Throw the demonstration away and end.")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self._handle(options)
        except ProblemError as error:
            raise CommandError(str(error)) from error

    def _handle(self, options: dict[str, Any]) -> None:
        if not (options["check"] or options["clear"]):
            serving.refuse_if_taken(options["host"], options["port"])
        call_command("migrate", verbosity=0)
        sync_roles()
        if options["clear"]:
            demo.clear()
            self.stdout.write("The demonstration is gone; real work can begin: manage.py serve")
            return
        self._build(options)
        if not options["no_plan"]:
            self._plan(options)
        self._summary()
        if not options["check"]:
            self._sign_ins()
            Serve().serve(options["host"], options["port"], with_worker=not settings.BROKER_URL)

    def _build(self, options: dict[str, Any]) -> None:
        if Item.objects.exists():
            return
        bar = Bar(sys.stderr)
        demo.build(
            seed=options["seed"],
            scale=options["scale"],
            orders=options["orders"],
            history_weeks=options["history_weeks"],
            progress=bar,
        )
        bar.end()

    def _plan(self, options: dict[str, Any]) -> None:
        """Have a worker make the first plan, as the manager would, and release it."""
        if Plan.objects.filter(is_current=True).exists():
            return
        helper = None if settings.BROKER_URL else serving.worker()
        if helper is not None:
            helper.start()
        try:
            plan = planning.start_plan(by=None, seconds=options["seconds"])
            self._wait(plan, helper)
            planning.release_plan(plan=Plan.objects.get(pk=plan.pk), by=None)
            for gathering in BarGather.objects.filter(state=BarGather.State.QUEUED):
                self._wait(gathering, helper)
            demo.silence_one()
        finally:
            if helper is not None:
                helper.end()

    def _wait(self, run: Run, helper: serving.Child | None) -> None:
        bar = Bar(sys.stderr)
        end = time.monotonic() + PLAN_DEADLINE_SECONDS
        while time.monotonic() < end:
            run.refresh_from_db()
            bar(run.percent, f"{run}: {run.step or 'waiting for the worker'}")
            if not run.is_open:
                bar.end()
                if run.has_succeeded:
                    return
                raise ProblemError(Problem(what=f"{run} ended without a result: {run.failure}"))
            if helper is not None and not helper.is_alive():
                raise ProblemError(
                    Problem(what="The worker ended.", where=str(helper.log), mend=helper.last_words())
                )
            # The row is written by another process; a kept snapshot would hide its progress.
            connection.close()
            time.sleep(0.3)
        raise ProblemError(
            Problem(
                what="The plan was not ready in time.", mend="Look at the worker's log in the data folder."
            )
        )

    def _summary(self) -> None:
        plan = Plan.current()
        rows: list[tuple[str, object]] = [
            ("trailer models", TrailerModel.objects.count()),
            ("items", Item.objects.count()),
            ("laser parts", FlatPart.objects.count()),
            ("open orders", Order.objects.filter(state__in=Order.OPEN).count()),
            ("postings in the ledger", Posting.objects.count()),
        ]
        if plan is not None:
            suggestions = plan.suggestions.all()
            rows += [
                ("suggestions to buy", suggestions.filter(kind=Suggestion.Kind.BUY).count()),
                ("suggestions to make", suggestions.filter(kind=Suggestion.Kind.MAKE).count()),
                ("dated shortages", plan.shortages.count()),
                ("cut batches", plan.cut_batches.count()),
                ("sheets", plan.sheets),
                ("sheet use", f"{plan.sheet_use * 100:.1f} %"),
                ("galvanising loads", plan.loads.count()),
                ("powder batches", plan.powder_batches.count()),
                ("late orders", plan.orders_late),
                ("weighted hours late", f"{plan.late_hours} (best simple rule: {plan.rule_late_hours})"),
                ("planning took", f"{plan.run_seconds} s"),
            ]
        for name, value in rows:
            self.stdout.write(f"{name:>22}  {value}")

    def _sign_ins(self) -> None:
        self.stdout.write("\nSign in as one of these; the password of each is the same:")
        for person in demo.SIGN_INS:
            self.stdout.write(f"  {person.name:<12} {person.role:<20} password: {demo.PASSWORD}")
        self.stdout.write("This is a demonstration: do not let others reach it under these passwords.\n")
