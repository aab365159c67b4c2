"""Printed weeks as rows: claimed by one worker, closed when it falls silent."""

from bom.kernel.running import Runner
from production.scheduling.notices.feed_models import WeekPaper

RUNNER = Runner(WeekPaper, what="printed week", first_step="reading the plan")
