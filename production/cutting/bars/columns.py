"""Column generation: the linear relaxation over all sawing patterns, made pattern by pattern.

Gilmore and Gomory 1961. The relaxation's value is a lower bound on the cost of any plan.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from ortools.linear_solver import pywraplp

from production.cutting.bars.pricing import best_patterns
from production.cutting.bars.whole import Column, Whole

REDUCED_COST = 1e-7
ROUNDS = 5000


@dataclass(frozen=True)
class Relaxed:
    """The relaxation at its optimum (or where it was stopped, then `exact` is False).

    `complete` tells that it leaves no piece uncut: only then is `value` a bound on the cost. `worth` is what one more
    piece of each kind would cost, `rents` what one more bar of a counted stock would save (0 or less).
    """

    value: float
    use: dict[Column, float]
    exact: bool
    complete: bool
    worth: tuple[float, ...]
    rents: Mapping[int, float]


class Master:
    """The relaxation over the columns known so far; demand and stock can be lowered between solves."""

    def __init__(self, whole: Whole) -> None:
        self.whole = whole
        self.columns: dict[Column, pywraplp.Variable] = {}
        self._solver = pywraplp.Solver.CreateSolver("GLOP")
        self._demand = [self._solver.Constraint(kind.demand, math.inf) for kind in whole.kinds]
        self._stock = {
            stock.index: self._solver.Constraint(-math.inf, stock.count)
            for stock in whole.stocks
            if stock.count is not None
        }
        self._objective = self._solver.Objective()
        self._objective.SetMinimization()
        self._add_missing()

    def _add_missing(self) -> None:
        """A way to leave a piece uncut, dearer than any bar: keeps the relaxation solvable when bars run out."""
        dear = missing_cost(self.whole)
        self._missing = []
        for kind, row in zip(self.whole.kinds, self._demand, strict=True):
            variable = self._solver.NumVar(0, math.inf, "")
            row.SetCoefficient(variable, 1)
            self._objective.SetCoefficient(variable, dear * kind.size)
            self._missing.append(variable)

    def add(self, columns: Iterable[Column]) -> None:
        for column in columns:
            if column in self.columns:
                continue
            variable = self._solver.NumVar(0, math.inf, "")
            self.columns[column] = variable
            self._objective.SetCoefficient(variable, self.whole.stocks[column.stock].cost)
            for row, number in zip(self._demand, column.numbers, strict=True):
                if number:
                    row.SetCoefficient(variable, number)
            if column.stock in self._stock:
                self._stock[column.stock].SetCoefficient(variable, 1)

    def set_rest(self, demands: Sequence[int], counts: Sequence[int | None]) -> None:
        """Only this much is still to be cut, from so many bars; columns that make too much are shut."""
        for row, demand in zip(self._demand, demands, strict=True):
            row.SetLb(demand)
        for index, row in self._stock.items():
            row.SetUb(counts[index] or 0)
        for column, variable in self.columns.items():
            fits = all(number <= demand for number, demand in zip(column.numbers, demands, strict=True))
            variable.SetUb(math.inf if fits else 0.0)

    def solve(self, demands: Sequence[int], go_on: Callable[[], bool]) -> Relaxed:
        """Add columns until none can lower the cost."""
        for _ in range(ROUNDS):
            self._solver.Solve()
            if not go_on():
                return self._relaxed(exact=False)
            if not self._price(demands):
                return self._relaxed(exact=True)
        return self._relaxed(exact=False)

    def _price(self, demands: Sequence[int]) -> bool:
        worth = np.array(self._worth())
        fresh = []
        for value, column in best_patterns(self.whole, worth, demands):
            row = self._stock.get(column.stock)
            rent = row.dual_value() if row is not None else 0.0
            cost = self.whole.stocks[column.stock].cost - rent
            if value > cost + REDUCED_COST * max(1.0, cost) and column not in self.columns:
                fresh.append(column)
        self.add(fresh)
        return bool(fresh)

    def _relaxed(self, exact: bool) -> Relaxed:
        use = {
            column: variable.solution_value()
            for column, variable in self.columns.items()
            if variable.solution_value() > 1e-9
        }
        complete = all(variable.solution_value() < 1e-7 for variable in self._missing)
        rents = {index: row.dual_value() for index, row in self._stock.items()}
        return Relaxed(self._objective.Value(), use, exact, complete, self._worth(), rents)

    def _worth(self) -> tuple[float, ...]:
        return tuple(max(row.dual_value(), 0.0) for row in self._demand)


def missing_cost(whole: Whole) -> int:
    """Cost of leaving one unit of length uncut: more than any bar costs."""
    return 2 * max(stock.cost for stock in whole.stocks) + 1


def rounded_up(value: float, step: int) -> int:
    """The bound as the next multiple of the cost step, less a hair for floating point."""
    return math.ceil((value * (1.0 - 1e-9) - 1e-6) / step) * step
