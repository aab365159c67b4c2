"""The way in: rules at once, then search, then exact windows, the best always kept and checked."""

from __future__ import annotations

from collections.abc import Mapping

from bom.kernel.errors import ProblemError
from production.scheduling.solver.bound import late_bound
from production.scheduling.solver.check import check_schedule
from production.scheduling.solver.decode import Decoded, Decoder
from production.scheduling.solver.intake import work_problems
from production.scheduling.solver.job import RuleValue, Solution, Work
from production.scheduling.solver.model import Machine, Model, build_model
from production.scheduling.solver.neighbourhoods import Neighbourhoods
from production.scheduling.solver.ruin import Ruin
from production.scheduling.solver.rules import LOOK_AHEAD_MIN, atc, dispatch, edd
from production.scheduling.solver.turns import Turns
from production.scheduling.solver.watch import Progress, Watch
from production.scheduling.solver.window import WindowModel

FIRST_SHARE = 0.06
BURST_SECONDS = 1.0
WINDOW_SECONDS = 2.5
WHOLE_OPERATIONS = 90
"""Up to so many operations the whole work is one window."""
WINDOW_MARGIN_MIN = 3 * 1440
OUT_OF_TIME = "The work does not fit into the horizon. Open the stations longer or plan further ahead."


def solve(
    work: Work,
    seconds: float,
    *,
    workers: int = 2,
    before: Mapping[str, int] | None = None,
    seed: int = 1,
    progress: Progress = lambda percent, sentence, best: True,
) -> Solution:
    """Place every operation so that as few weighted minutes as possible are late, in about `seconds`.

    Lateness comes first; of schedules equally late the one with the earlier finishes is better. Layers: the rules
    EDD and ATC at once; with `before` (starts by operation) the schedule of an earlier plan, and of schedules equally
    late the one that moves fewer operations away from it; jobs taken out and put back in another order; windows of
    some jobs solved exactly (CP-SAT) while the rest stands. `progress(percent, sentence, best)` is called about
    four times a second in the caller's thread; False ends the search with the best schedule so far. The search is
    limited by the clock, so two runs may differ. The answer is never worse than the best rule's.

    Raises `ProblemError` when the work makes no sense or does not fit into its windows, or when the schedule
    does not pass the independent checker (then nothing is returned).
    """
    watch = Watch(seconds, progress)
    problems = work_problems(work)
    if problems:
        raise ProblemError(*problems)
    run = _Run(build_model(work, before), watch, workers, seed)
    run.try_rules()
    run.try_earlier(before or {})
    run.improve()
    if run.best is None:
        raise ProblemError(OUT_OF_TIME)
    schedule = run.decoder.schedule(run.best)
    problems = check_schedule(work, schedule)
    if problems:
        raise ProblemError(*problems)
    bound = run.best.late if run.proven else run.bound
    return Solution(
        schedule=schedule,
        rules=tuple(run.rules),
        bound_late_minutes=bound,
        proven=bound == run.best.late,
        seconds=watch.spent,
        schedules_tried=run.decoder.decoded + run.ruin.steps,
        windows_solved=run.windows,
        stopped=watch.stopped,
        first_seconds=run.first_seconds,
        moved=run.model.moves(run.best.start, range(run.model.count)),
    )


class _Run:
    """One search: the best so far, and what was found on the way."""

    def __init__(self, model: Model, watch: Watch, workers: int, seed: int) -> None:
        self.model, self.watch, self.workers, self.seed = model, watch, workers, seed
        self.decoder = Decoder(model)
        self.ruin = Ruin(self.decoder, seed)
        self.best: Decoded | None = None
        self.rules: list[RuleValue] = []
        self.bound = late_bound(model)
        self.proven = False
        self.windows = 0
        self.first_seconds = 0.0

    def try_rules(self) -> None:
        """EDD, and the best of ATC's look-ahead times."""
        self._note_rule("EDD", self._keep(dispatch(self.model, edd(self.model))))
        tries = [self._keep(dispatch(self.model, atc(self.model, ahead))) for ahead in LOOK_AHEAD_MIN]
        found = [one for one in tries if one is not None]
        self._note_rule("ATC", min(found, key=lambda one: one.cost, default=None))

    def try_earlier(self, before: Mapping[str, int]) -> None:
        """The earlier plan's sequence; operations it does not know keep the best rule's place."""
        if before and self.best is not None:
            starts = self.best.start
            operations = self.model.work.operations
            self._keep([before.get(one.id, starts[index]) for index, one in enumerate(operations)])

    def improve(self) -> None:
        """Search, then windows, until time is up, the caller says stop, or nothing can be better."""
        if self.best is None or not self.watch.go_on():
            return
        free = [index for index in range(self.model.count) if self.model.fixed[index] is None]
        if len(free) <= WHOLE_OPERATIONS and self._solve_whole(free):
            return
        self.watch.sentence = "Trying other sequences"
        self._ruin(self.watch.seconds * FIRST_SHARE)
        near, turns = Neighbourhoods(self.model, self.seed), Turns(self.seed)
        while self.model.due and self.watch.go_on():
            begun, late = self.watch.spent, self.best.late
            is_window = turns.next()
            if is_window:
                self._window(near)
            else:
                self._ruin(BURST_SECONDS)
            turns.learn(is_window, late - self.best.late, self.watch.spent - begun)

    def _ruin(self, seconds: float) -> None:
        if self.best is not None:
            self.watch.sentence = "Trying other sequences"
            self.best = self.ruin.run(self.watch, self.best, seconds)

    def _window(self, near: Neighbourhoods) -> None:
        if self.best is None:
            return
        self.watch.sentence = "Solving a window of the schedule exactly"
        chosen = near.next(self.best)
        last = max([self.best.end[index] for index in chosen], default=0) + WINDOW_MARGIN_MIN
        better, proven = self._solve_window(chosen, last, WINDOW_SECONDS)
        near.learn(proven=proven, better=better)

    def _solve_whole(self, free: list[int]) -> bool:
        """The whole work as one window; True where its optimum was proven."""
        self.watch.sentence = "Solving the whole schedule exactly"
        _, self.proven = self._solve_window(free, self.model.horizon_end(), self.watch.left / 2)
        return self.proven

    def _solve_window(self, chosen: list[int], last: int, seconds: float) -> tuple[bool, bool]:
        """Answers whether the schedule got better, and whether the window was solved to its end."""
        now = self.best
        if now is None:
            return False, False
        window = WindowModel(self.model, now, chosen, min(last, self.model.horizon_end()))
        self.windows += 1
        answer = window.solve(
            self.watch, min(seconds, self.watch.left), self.workers, self.seed + self.windows
        )
        if answer is None:
            return False, False
        keys = [answer.start.get(index, start) for index, start in enumerate(now.start)]
        self._keep(keys)
        if self.model.work.ovens:
            self._keep(keys, floors=True)
        return self.best is not now, answer.optimal

    def _keep(self, keys: list[int], floors: bool = False) -> Decoded | None:
        """Decode; the best so far gives way to what is better."""
        model = self.model
        held = (
            {index: keys[index] for index in range(model.count) if not _is_machine(model, index)}
            if floors
            else None
        )
        tried = self.decoder.decode(keys, held)
        if tried is not None and (self.best is None or tried.cost < self.best.cost):
            if self.best is None:
                self.first_seconds = self.watch.spent
            self.best, self.watch.best = tried, tried.late
        return tried

    def _note_rule(self, name: str, decoded: Decoded | None) -> None:
        if decoded is not None:
            self.rules.append(RuleValue(name, decoded.late, sum(decoded.finish)))


def _is_machine(model: Model, index: int) -> bool:
    return isinstance(model.places[model.place[index]], Machine)
