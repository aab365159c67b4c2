"""Working all levels out in the background: queued, carried out by a worker, stopped."""

from __future__ import annotations

from functools import partial

from django.db import transaction
from django.utils import timezone

from bom.kernel.running import Pulse, Runner, Stopped
from bom.people.models import User
from inventory.levels import history
from inventory.levels.forecasts import Fit, find_forecasts, store_forecasts
from inventory.levels.models import LevelProposal, LevelRun
from inventory.levels.tasks import work_out
from inventory.levels.working_out import read_ground, work_out_levels

RUNNER = Runner(LevelRun, what="levels", first_step="reading a year of use")
sweep = RUNNER.sweep


def start_run(*, by: User | None) -> LevelRun:
    """Queue a working out of all levels. Where one already waits or runs, that one is returned."""
    with transaction.atomic():
        running = open_run()
        if running is not None:
            return running
        run = LevelRun.objects.create(today=timezone.localdate(), asked_by=by, step="waiting for the worker")
        transaction.on_commit(partial(work_out.delay, run.pk))
    return run


def open_run() -> LevelRun | None:
    """The run that waits or works."""
    return LevelRun.objects.exclude(state=LevelRun.State.FINISHED).order_by("pk").first()


def stop_run(*, run: LevelRun) -> LevelRun:
    """Stop a run; nothing of it is kept."""
    RUNNER.ask_to_stop(run)
    return run


def carry_out(run_id: int, *, fit: Fit) -> None:
    """Work out everything for a queued run. `fit` fits the smoothing methods."""
    RUNNER.carry_out(run_id, partial(_work, fit=fit))


def _work(run: LevelRun, pulse: Pulse, *, fit: Fit) -> None:
    ground = read_ground(run.today)
    reach = history.orders_reach(run.today)
    pulse.step(10, f"{len(ground.items)} items; trying forecasts")

    def tell(done: int, of: int, code: str) -> bool:
        return pulse.tell(10 + 75 * done / max(1, of), f"forecast {done + 1} of {of}, {code}")

    found = find_forecasts(ground, reach, fit=fit, tell=tell)
    if found is None:
        raise Stopped
    pulse.step(88, "writing levels and classes down")
    with transaction.atomic():
        run.forecasts_made = store_forecasts(found, ground=ground, reach=reach)
        run.items_seen = work_out_levels(ground=ground, propose=True)
        run.proposals_made = LevelProposal.objects.filter(state=LevelProposal.State.WAITING).count()
        run.save(update_fields=["forecasts_made", "items_seen", "proposals_made"])
        if not RUNNER.close(run.pk, LevelRun.Outcome.SUCCEEDED):
            raise Stopped
