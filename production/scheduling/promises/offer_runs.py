"""Offers of a date as rows: claimed by one worker, closed when it falls silent."""

from bom.kernel.running import Runner
from production.scheduling.promises.promise_models import PromiseRun

RUNNER = Runner(PromiseRun, what="offer of a date", first_step="reading the plan")
