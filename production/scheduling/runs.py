"""A plan's run as a row: claimed by one worker, heard from while it works, closed exactly once."""

from collections.abc import Callable

from bom.kernel import running
from bom.kernel.running import Runner, Stopped
from production.planning.models import Plan

__all__ = ["SILENT", "Pulse", "Stopped", "carry_out", "claim", "close", "sweep"]

_RUNNER = Runner(Plan, what="plan", first_step="reading the order book")
SILENT = _RUNNER.silent

claim = _RUNNER.claim
close = _RUNNER.close
sweep = _RUNNER.sweep


class Pulse(running.Pulse):
    """The pulse of a plan."""

    def __init__(self, plan_id: int) -> None:
        super().__init__(Plan, plan_id)


def carry_out(plan_id: int, work: Callable[[Plan, Pulse], None]) -> None:
    """Claim a plan and do `work`; whatever happens, the row is closed with its outcome."""
    pulse = Pulse(plan_id)
    _RUNNER.carry_out(plan_id, lambda plan, _: work(plan, pulse), pulse)
