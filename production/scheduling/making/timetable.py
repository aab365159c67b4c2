"""A schedule as the plan keeps it: plain data, minutes since the start of the horizon."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Planned:
    """One operation of an order, or one cut batch, at a work centre.

    `batch` counts the plan's own batches from 0; `batch_id` names a batch begun under an earlier plan.
    """

    centre_id: int
    start: int
    end: int
    minutes: float
    order_id: int | None = None
    operation_id: int | None = None
    batch: int | None = None
    batch_id: int | None = None
    is_fixed: bool = False


@dataclass(frozen=True)
class Load:
    """What one run of the lorry takes: `run` counts the shop's departures, `order_ids` what is on it."""

    run: int
    order_ids: tuple[int, ...]


@dataclass(frozen=True)
class Coat:
    """Frames of one colour that go through the oven together; the change of colour comes before the start."""

    colour_id: int
    start: int
    end: int
    change_minutes: int
    order_ids: tuple[int, ...]


@dataclass(frozen=True)
class Cause:
    """One link of the chain of reasons for an order's date, in words."""

    kind: str
    sentence: str
    other_order_id: int | None = None


@dataclass(frozen=True)
class Forecast:
    """When an order is finished and why not sooner; `parts_day` (an ordinal) is when its last bought part is there."""

    order_id: int
    finish: int
    parts_day: int
    causes: tuple[Cause, ...] = ()


@dataclass(frozen=True)
class Timetable:
    """A whole schedule with its figures; hours late are weighted. `bound` is what no schedule can go below."""

    planned: tuple[Planned, ...]
    loads: tuple[Load, ...]
    coats: tuple[Coat, ...]
    forecasts: tuple[Forecast, ...]
    late_hours: float
    rule_late_hours: float
    bound_late_hours: float | None = None
