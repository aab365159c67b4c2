"""The best whole plan over the columns that column generation has found: an integer programme.

Two solvers, because each is quick where the other is slow (measured): CP-SAT on saw lists with a few dozen
lengths, SCIP on bars of three odd pieces each.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence

from ortools.linear_solver.python import model_builder
from ortools.sat.python import cp_model

from production.cutting.bars.columns import missing_cost
from production.cutting.bars.whole import Column, Use, Whole

TICK_SECONDS = 0.1
# SCIP cannot be interrupted from outside: stopped, it runs out by itself after this time at the latest.
SCIP_SECONDS = 8.0
# Where few columns settle it at all, they were seen to do so in less than this; the solver's own measure.
SETTLE_WORK = 1.5


def best_by_constraints(
    whole: Whole,
    hint: Use,
    columns: Sequence[Column],
    bound: int,
    seconds: float,
    work: float,
    go_on: Callable[[], bool],
) -> Use | None:
    """Solve with CP-SAT, beginning at `hint`; ends at `bound`, after `seconds` or so much `work`, or when told to.

    `work` is in the solver's own measure, about a second each on a free processor.
    """
    model = cp_model.CpModel()
    bars = [model.new_int_var(0, most_useful(whole, column), "") for column in columns]
    missing = [model.new_int_var(0, kind.demand, "") for kind in whole.kinds]
    for kind, one in enumerate(whole.kinds):
        made = sum(c.numbers[kind] * bar for c, bar in zip(columns, bars, strict=True) if c.numbers[kind])
        model.add(made + missing[kind] >= one.demand)
    for index, count in _counts(whole):
        model.add(sum(bar for c, bar in zip(columns, bars, strict=True) if c.stock == index) <= count)
    step = whole.cost_step
    price = sum(whole.stocks[c.stock].cost // step * bar for c, bar in zip(columns, bars, strict=True))
    dear = sum(missing_cost(whole) * k.size * m for k, m in zip(whole.kinds, missing, strict=True))
    model.add(price + dear >= bound // step)
    model.minimize(price + dear)
    for column, bar in zip(columns, bars, strict=True):
        model.add_hint(bar, hint.get(column, 0))
    solver = cp_model.CpSolver()
    # One worker: several would race, and the plan would differ from run to run.
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = max(0.1, seconds)
    solver.parameters.max_deterministic_time = work
    answer = _while_asking(lambda: solver.solve(model), solver.stop_search, go_on, wait=True)
    if answer not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return {c: n for c, bar in zip(columns, bars, strict=True) if (n := solver.value(bar)) > 0}


def reaches(
    whole: Whole, columns: Sequence[Column], target: int, seconds: float, go_on: Callable[[], bool]
) -> tuple[bool, Use | None]:
    """Whether these columns make every piece at a cost of `target` or less.

    Returns whether that is settled, and the plan if there is one.
    """
    model = cp_model.CpModel()
    bars = [model.new_int_var(0, most_useful(whole, column), "") for column in columns]
    for kind, one in enumerate(whole.kinds):
        made = [c.numbers[kind] * bar for c, bar in zip(columns, bars, strict=True) if c.numbers[kind]]
        if not made:
            return True, None
        model.add(sum(made) >= one.demand)
    for index, count in _counts(whole):
        model.add(sum(bar for c, bar in zip(columns, bars, strict=True) if c.stock == index) <= count)
    step = whole.cost_step
    cost = sum(whole.stocks[c.stock].cost // step * bar for c, bar in zip(columns, bars, strict=True))
    model.add(cost <= target // step)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = max(0.1, seconds)
    solver.parameters.max_deterministic_time = SETTLE_WORK
    answer = _while_asking(lambda: solver.solve(model), solver.stop_search, go_on, wait=True)
    if answer == cp_model.INFEASIBLE:
        return True, None
    if answer not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return False, None
    return True, {c: n for c, bar in zip(columns, bars, strict=True) if (n := solver.value(bar)) > 0}


def best_by_branching(
    whole: Whole,
    columns: Sequence[Column],
    relaxed_value: float,
    bound: int,
    seconds: float,
    go_on: Callable[[], bool],
) -> Use | None:
    """Solve with SCIP until `bound` is reached, the time is over or `go_on` says stop."""
    model = model_builder.Model()
    bars = [model.new_int_var(0, most_useful(whole, column), "") for column in columns]
    missing = [model.new_int_var(0, kind.demand, "") for kind in whole.kinds]
    for kind, one in enumerate(whole.kinds):
        made = sum(c.numbers[kind] * bar for c, bar in zip(columns, bars, strict=True) if c.numbers[kind])
        model.add(made + missing[kind] >= one.demand)
    for index, count in _counts(whole):
        model.add(sum(bar for c, bar in zip(columns, bars, strict=True) if c.stock == index) <= count)
    price = sum(whole.stocks[c.stock].cost * bar for c, bar in zip(columns, bars, strict=True))
    dear = sum(missing_cost(whole) * k.size * m for k, m in zip(whole.kinds, missing, strict=True))
    model.minimize(price + dear)
    solver = model_builder.Solver("scip")
    solver.set_time_limit_in_seconds(max(0.1, min(seconds, SCIP_SECONDS)))
    # A plan at the bound differs from the relaxation by this much: no need to search on.
    solver.set_solver_specific_parameters(f"limits/absgap = {max(0.0, bound - relaxed_value) + 1e-6!r}")
    answer = _while_asking(lambda: solver.solve(model), solver.stop_search, go_on, wait=False)
    if answer not in (model_builder.SolveStatus.OPTIMAL, model_builder.SolveStatus.FEASIBLE):
        return None
    return {c: n for c, bar in zip(columns, bars, strict=True) if (n := round(solver.value(bar))) > 0}


def most_useful(whole: Whole, column: Column) -> int:
    """More bars than this of one pattern only make pieces that nobody wants."""
    return max(-(-whole.kinds[kind].demand // number) for kind, number in enumerate(column.numbers) if number)


def _counts(whole: Whole) -> list[tuple[int, int]]:
    return [(stock.index, stock.count) for stock in whole.stocks if stock.count is not None]


def _while_asking(
    solve: Callable[[], object], stop: Callable[[], None], go_on: Callable[[], bool], *, wait: bool
) -> object:
    """Solve in a thread, so that this one can go on asking the caller; None when stopped without waiting."""
    answer: list[object] = []
    thread = threading.Thread(target=lambda: answer.append(solve()))
    thread.start()
    while thread.is_alive():
        thread.join(TICK_SECONDS)
        if go_on():
            continue
        stop()
        if not wait:
            break
    return answer[0] if answer else None
