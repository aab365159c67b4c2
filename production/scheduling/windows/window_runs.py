"""Trials of windows as rows: asked for, stopped, closed when their worker falls silent."""

from bom.kernel.running import Runner
from production.scheduling.models import WindowTrial

RUNNER = Runner(WindowTrial, what="comparison", first_step="reading the order book")


def open_trial() -> WindowTrial | None:
    """The trial that waits or works."""
    return WindowTrial.objects.exclude(state=WindowTrial.State.FINISHED).order_by("pk").first()


def stop_trial(*, trial: WindowTrial) -> WindowTrial:
    """Stop a trial; nothing of it is kept."""
    RUNNER.ask_to_stop(trial)
    return trial
