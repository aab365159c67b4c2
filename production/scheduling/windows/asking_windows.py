"""Asking for a comparison of windows: over how many days parts are gathered into one batch."""

from collections.abc import Sequence
from functools import partial

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.scheduling.models import WindowTrial
from production.scheduling.planning import LEAST_DAYS, MOST_DAYS
from production.scheduling.tasks import try_windows
from production.scheduling.windows.window_runs import open_trial

USUAL = (2, 5, 10)
MOST_WINDOWS = 5


def start_trial(*, by: User | None, days: Sequence[int] = USUAL) -> WindowTrial:
    """Queue a comparison. Where one already waits or runs, that one is returned.

    Raises:
        ProblemError: no window, too many, or one that makes no sense.
    """
    days = sorted(set(days))
    if not 1 <= len(days) <= MOST_WINDOWS or any(not LEAST_DAYS <= one <= MOST_DAYS for one in days):
        raise ProblemError(
            Problem(
                "These windows cannot be compared",
                ", ".join(map(str, days)) or "no window",
                f"Give up to {MOST_WINDOWS} windows of {LEAST_DAYS} to {MOST_DAYS} working days.",
            )
        )
    with transaction.atomic():
        running = open_trial()
        if running is not None:
            return running
        trial = WindowTrial.objects.create(
            days=", ".join(map(str, days)), asked_by=by, step="waiting for the worker"
        )
        transaction.on_commit(partial(try_windows.delay, trial.pk))
    return trial


def run_trial(trial_id: int) -> WindowTrial:
    """Carry a queued comparison out here and now, as the worker would."""
    try_windows(trial_id)
    return WindowTrial.objects.get(pk=trial_id)
