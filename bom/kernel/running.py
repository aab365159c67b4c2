"""A run as a row: claimed by one worker, heard from while it works, closed exactly once. For every kind of `Run`."""

from __future__ import annotations

import logging
from collections.abc import Callable
from time import monotonic
from typing import Generic, TypeVar

from django.utils import timezone

from bom.kernel.errors import ProblemError
from bom.kernel.runs import SILENCE_ALLOWED, Run

log = logging.getLogger(__name__)

R = TypeVar("R", bound=Run)

# Seldom enough to spare the database, often enough that a cancel is heard within two seconds.
SECONDS_BETWEEN_BEATS = 0.5


class Stopped(Exception):
    """The run was cancelled, or closed by the sweeper, while it worked."""


class Pulse:
    """Tells the row how far the work is, and the work whether to go on."""

    def __init__(self, model: type[Run], run_id: int) -> None:
        self.model = model
        self.run_id = run_id
        self._last = 0.0
        self._goes_on = True

    def tell(self, percent: float, step: str, *, now: bool = False) -> bool:
        """Write percentage and step, at most twice a second unless `now`; False means that the work should stop."""
        if now or monotonic() - self._last >= SECONDS_BETWEEN_BEATS:
            self._last = monotonic()
            open_row = self.model._default_manager.filter(
                pk=self.run_id, state=Run.State.RUNNING, cancel_asked=False
            )
            beat = open_row.update(
                heartbeat_at=timezone.now(), percent=min(99, int(percent)), step=step[:200]
            )
            self._goes_on = beat == 1
        return self._goes_on

    def step(self, percent: float, step: str) -> None:
        """Begin a new step, or raise `Stopped`."""
        if not self.tell(percent, step, now=True):
            raise Stopped


class Runner(Generic[R]):
    """The life of one kind of run. `what` is what it makes ("plan"), `first_step` what it says when claimed."""

    def __init__(self, model: type[R], *, what: str, first_step: str) -> None:
        self.model, self.what, self.first_step = model, what, first_step

    @property
    def silent(self) -> str:
        return (
            "The worker fell silent; it may have been stopped or have run out of memory. "
            f"Nothing was changed. Make the {self.what} again."
        )

    def claim(self, run_id: int) -> R | None:
        """Take a queued run for this worker; none where another worker has it or it was cancelled meanwhile."""
        now = timezone.now()
        queued = self.model._default_manager.filter(pk=run_id, state=Run.State.QUEUED)
        claimed = queued.update(
            state=Run.State.RUNNING, started_at=now, heartbeat_at=now, step=self.first_step
        )
        return self.model._default_manager.get(pk=run_id) if claimed == 1 else None

    def carry_out(self, run_id: int, work: Callable[[R, Pulse], None], pulse: Pulse | None = None) -> None:
        """Claim a run and do `work`; whatever happens, the row is closed with its outcome.

        `work` closes the row itself, with `close`, in the transaction that stores its results.
        """
        run = self.claim(run_id)
        if run is None:
            return
        try:
            work(run, pulse or Pulse(self.model, run_id))
        except Stopped:
            self.close(run_id, Run.Outcome.CANCELLED)
        except ProblemError as error:
            self.close(run_id, Run.Outcome.FAILED, str(error))
        except Exception as error:
            log.exception("%s failed", run)
            self.close(run_id, Run.Outcome.FAILED, self._fault(error))

    def close(self, run_id: int, outcome: Run.Outcome, failure: str = "") -> bool:
        """Finish a running row. False where it is no longer running: then what it found must not be kept.

        A run that was asked to stop cannot succeed any more.
        """
        rows = self.model._default_manager.filter(pk=run_id, state=Run.State.RUNNING)
        if outcome == Run.Outcome.SUCCEEDED:
            rows = rows.filter(cancel_asked=False)
        done = {"percent": 100, "step": "done"} if outcome == Run.Outcome.SUCCEEDED else {}
        closed = rows.update(
            state=Run.State.FINISHED, outcome=outcome, failure=failure, finished_at=timezone.now(), **done
        )
        return closed == 1

    def ask_to_stop(self, run: R) -> None:
        """Stop a waiting run at once, a running one within two seconds. A finished one is left as it is."""
        rows = self.model._default_manager.filter(pk=run.pk)
        rows.filter(state=Run.State.QUEUED).update(
            state=Run.State.FINISHED, outcome=Run.Outcome.CANCELLED, finished_at=timezone.now()
        )
        rows.filter(state=Run.State.RUNNING).update(cancel_asked=True)
        run.refresh_from_db()

    def sweep(self) -> int:
        """Close running rows that have been silent too long. Returns how many."""
        silent = self.model._default_manager.filter(
            state=Run.State.RUNNING, heartbeat_at__lt=timezone.now() - SILENCE_ALLOWED
        )
        return silent.update(
            state=Run.State.FINISHED,
            outcome=Run.Outcome.FAILED,
            failure=self.silent,
            finished_at=timezone.now(),
        )

    def _fault(self, error: Exception) -> str:
        return (
            f"A fault in the program stopped the {self.what} ({type(error).__name__}: {error}). Nothing was "
            f"changed. Make the {self.what} again; if it happens twice, send the log of the worker to whoever looks "
            "after the program."
        )
