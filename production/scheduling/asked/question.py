"""What is put to the scheduler and what its names mean. Light: the web process reads it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from production.scheduling.solver import job as solver

LORRY = "lorry"
# A begun operation whose time is up is not done yet: so much is taken to be left of it.
LEAST_LEFT = 0.1


@dataclass(frozen=True)
class Question:
    """The work to schedule and how to read the answer.

    `own` leads from an operation's name to its order and process, `batches` to the place of a cut batch in the
    plan, `begun` to the key of a batch begun earlier. `waits` gives for an order's process the supply it waits for.
    """

    work: solver.Work
    own: Mapping[str, tuple[int, str]]
    batches: Mapping[str, int]
    begun: Mapping[str, int]
    parts_day: Mapping[int, int]


def operation_name(order_number: str, process: str) -> str:
    """What an order's own operation is called in the question."""
    return f"{order_number} {process}"


def batch_name(plan_number: int, index: int) -> str:
    """The number of a plan's cut batch; `index` counts from 0."""
    return f"CB-{plan_number}-{index + 1:02d}"
