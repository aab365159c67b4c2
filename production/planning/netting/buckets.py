"""Netting all items at once, in buckets of time: gross needs, lots, releases and balances as tables, without pegging.

The method is the textbook's ("material requirements planning"), level by level: what is needed beyond stock, receipts
and the safety stock is planned in the bucket in which it is needed, in lots, and begun a lead time earlier. What
should have been begun before bucket 0 is begun in it. A changed row is netted again alone (`replan`), then the
components whose parents' releases changed, so that a change costs what it touches.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bom.kernel.errors import Problem, ProblemError
from production.planning.netting.structure import PER_UNIT, Array, Structure

EXACT = float(1 << 53)
ROWS_AT_ONCE = 768
"""So many rows of a year's weeks stay in a processor's own cache from one step to the next."""


@dataclass(frozen=True)
class Supply:
    """What there is and what comes: `on_hand` by row, `receipts` rows × buckets, in thousandths."""

    on_hand: Array
    receipts: Array


@dataclass
class BucketPlan:
    """Tables of rows × buckets in thousandths.

    `demand` is asked from outside, `gross` with what parents need; `planned` is the good quantity planned to come in,
    `released` what is begun; `balance` is what lies there at the end of the bucket, never below the safety stock.
    """

    structure: Structure
    supply: Supply
    demand: Array
    gross: Array
    planned: Array
    released: Array
    balance: Array


def net_buckets(structure: Structure, supply: Supply, demand: Array) -> BucketPlan:
    """Net everything. `demand` is rows × buckets in thousandths.

    Raises `ProblemError` where a gross need grows beyond what is counted exactly.
    """
    tables = [np.empty_like(demand) for _ in range(4)]
    plan = BucketPlan(structure, supply, demand, *tables)
    for level, (first, after) in enumerate(structure.blocks):
        gross = plan.gross[first:after]
        if level:
            _explode(plan, first, after, gross)
            gross += demand[first:after]
        else:
            gross[:] = demand[first:after]
        for start in range(first, after, ROWS_AT_ONCE):
            _net_rows(plan, slice(start, min(after, start + ROWS_AT_ONCE)))
    _refuse_inexact(plan.gross)
    return plan


def replan(plan: BucketPlan, rows: Array, demand: Array) -> Array:
    """Give some rows another demand (rows × buckets) and net again what that touches; answers the rows netted.

    The plan is changed in place and afterwards equals a full run.
    """
    structure = plan.structure
    plan.demand[rows] = demand
    dirty = np.zeros(structure.count, dtype=bool)
    dirty[rows] = True
    touched = []
    for first, after in structure.blocks:
        own = first + np.flatnonzero(dirty[first:after])
        if not len(own):
            continue
        touched.append(own)
        before = plan.released[own]
        plan.gross[own] = plan.demand[own] + _needed_by_parents(plan, own)
        _net_rows(plan, own)
        changed = own[(plan.released[own] != before).any(axis=1)]
        for span in structure.spans:
            _, components, _ = _entries(span.by_parent, changed)
            dirty[components] = True
    found = np.concatenate(touched) if touched else np.zeros(0, dtype=np.int64)
    _refuse_inexact(plan.gross[found])
    return found


def _explode(plan: BucketPlan, first: int, after: int, gross: Array) -> None:
    """What the parents of rows `first` to `after` need of them, rounded up to thousandths once."""
    gross[:] = 0.0
    for span in plan.structure.spans:
        below = span.by_component[first:after]
        if not below.nnz:
            continue
        until = min(span.until, gross.shape[1])
        if span.first == 0 and until == gross.shape[1]:
            gross += below[:, :first] @ plan.released[:first]
        elif span.first < until:
            part = np.ascontiguousarray(plan.released[:first, span.first : until])
            gross[:, span.first : until] += below[:, :first] @ part
    np.divide(gross, PER_UNIT, out=gross)
    np.ceil(gross, out=gross)


def _needed_by_parents(plan: BucketPlan, rows: Array) -> Array:
    """As `_explode`, for single rows."""
    gross = np.zeros((len(rows), plan.demand.shape[1]))
    for span in plan.structure.spans:
        at, parents, per = _entries(span.by_component, rows)
        if len(at):
            until = min(span.until, gross.shape[1])
            part = slice(span.first, until)
            np.add.at(gross[:, part], at, plan.released[parents, part] * per[:, None])
    return np.ceil(gross / PER_UNIT)


def _entries(matrix: Array, rows: Array) -> tuple[Array, Array, Array]:
    """The entries of some rows of a sparse matrix: which of the rows each belongs to, its column, its value."""
    starts = matrix.indptr[rows]
    counts = matrix.indptr[rows + 1] - starts
    at = np.repeat(np.arange(len(rows)), counts)
    inside = np.arange(len(at)) - np.repeat(np.cumsum(counts) - counts, counts)
    index = np.repeat(starts, counts) + inside
    return at, matrix.indices[index], matrix.data[index]


def _net_rows(plan: BucketPlan, rows: slice | Array) -> None:
    """Lots, releases and balances of some rows of one level, from their gross needs."""
    structure = plan.structure
    missing = plan.gross[rows] - plan.supply.receipts[rows]
    np.cumsum(missing, axis=1, out=missing)
    missing -= plan.supply.on_hand[rows][:, None]
    wanted = missing + structure.safety[rows][:, None]
    np.maximum.accumulate(wanted, axis=1, out=wanted)
    np.maximum(wanted, 0.0, out=wanted)
    stepped = structure.is_stepped[rows]
    begun = _in_lots(structure, rows, wanted)
    if stepped.any():
        own = np.flatnonzero(stepped)
        every = np.arange(structure.count)[rows][own]
        begun[own] = _in_steps(structure, every, wanted[own])
    good = structure.good[rows][:, None]
    came = begun if (good == PER_UNIT).all() else np.floor(begun * good / PER_UNIT)
    plan.balance[rows] = came - missing
    plan.planned[rows] = _steps_of(came)
    plan.released[rows] = _steps_of(_earlier(begun, structure.lead[rows]))


def _in_lots(structure: Structure, rows: slice | Array, wanted: Array) -> Array:
    """Cumulative quantities begun: each rounded up to whole lots, which is what lots one after the other come to."""
    good, size = structure.good[rows][:, None], structure.size[rows][:, None]
    begun = wanted if (good == PER_UNIT).all() else np.ceil(wanted * PER_UNIT / good)
    if (size == 1.0).all():
        return begun
    begun = begun / size
    np.ceil(begun, out=begun)
    begun *= size
    return begun


def _in_steps(structure: Structure, rows: Array, wanted: Array) -> Array:
    """Cumulative quantities begun where a lot depends on the one before: least quantities, and periods."""
    buckets = wanted.shape[1]
    good, step = structure.good[rows], structure.step[rows]
    periods = structure.periods[rows]
    least = np.where(periods > 1, 0.0, structure.size[rows])
    begun, came = np.zeros(len(rows)), np.zeros(len(rows))
    found = np.empty_like(wanted)
    every = np.arange(len(rows))
    for bucket in range(buckets):
        last = np.minimum(bucket + periods - 1, buckets - 1)
        short = wanted[:, bucket] > came
        lot = np.ceil(np.ceil((wanted[every, last] - came) * PER_UNIT / good) / step) * step
        begun += np.where(short, np.maximum(lot, least), 0.0)
        came = np.floor(begun * good / PER_UNIT)
        found[:, bucket] = begun
    return found


def _earlier(begun: Array, lead: Array) -> Array:
    """The cumulative table moved forward by each row's lead time; rows of one lead time stand together."""
    buckets = begun.shape[1]
    found = np.empty_like(begun)
    edges = np.flatnonzero(np.diff(lead)) + 1
    for first, after in zip([0, *edges], [*edges, len(lead)], strict=True):
        shift = min(int(lead[first]), buckets - 1)
        found[first:after, : buckets - shift] = begun[first:after, shift:]
        found[first:after, buckets - shift :] = begun[first:after, -1:]
    return found


def _steps_of(cumulative: Array) -> Array:
    """What each bucket adds."""
    found = cumulative.copy()
    found[:, 1:] -= cumulative[:, :-1]
    return found


def _refuse_inexact(gross: Array) -> None:
    if gross.size and float(gross.max()) * PER_UNIT >= EXACT:
        raise ProblemError(
            Problem(
                "A need is too large to be counted exactly",
                "parts plan",
                "Count the item in a larger unit.",
            )
        )
