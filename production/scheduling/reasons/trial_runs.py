"""Trials of cures as rows: claimed by one worker, closed when it falls silent."""

from bom.kernel.running import Runner
from production.scheduling.reasons.cure_models import CureTrial

RUNNER = Runner(CureTrial, what="trial of cures", first_step="reading the plan")
