"""Runs of the week besides its plans: their life as rows, and closing those whose worker fell silent."""

from bom.kernel.running import Runner
from production.scheduling.cure_models import CureTrial
from production.scheduling.feed_models import WeekPaper
from production.scheduling.promise_models import PromiseRun

CURES = Runner(CureTrial, what="trial of cures", first_step="reading the plan")
PROMISES = Runner(PromiseRun, what="offer of a date", first_step="reading the plan")
PAPERS = Runner(WeekPaper, what="printed week", first_step="reading the plan")


def sweep() -> None:
    """Close what has been silent too long."""
    CURES.sweep()
    PROMISES.sweep()
    PAPERS.sweep()
