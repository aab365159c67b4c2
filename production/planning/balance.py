"""The projected balance of an item: what will lie on the shelf day by day, and how it is drawn. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

WIDTH, HEIGHT = 900, 220
LEFT, RIGHT, TOP, BOTTOM = 54, 12, 14, 30


@dataclass(frozen=True)
class Event:
    """Something that changes the balance on a day: a need (minus), a receipt or a suggestion (plus)."""

    day: date
    change: Decimal
    what: str
    url: str = ""


@dataclass(frozen=True)
class Step:
    """An event with the balance after it; `url` is where what it names can be read, if anywhere."""

    day: date
    change: Decimal
    what: str
    balance: Decimal
    url: str = ""


@dataclass(frozen=True)
class Mark:
    """A day on the chart with everything that comes and goes on it; `balance` is what is left at its end."""

    x: float
    y: float
    day: date
    steps: tuple[Step, ...]
    balance: Decimal
    below: bool
    comes: bool


@dataclass(frozen=True)
class Chart:
    """A step line in drawing units, with the zero line, the level and the labels of both axes."""

    line: str
    zero_y: float
    level_y: float | None
    marks: tuple[Mark, ...]
    days: tuple[tuple[float, date], ...]
    top: Decimal
    top_y: float
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT


def running(start: Decimal, events: Sequence[Event]) -> list[Step]:
    """The balance after each event, in order of days; on one day what comes is counted before what goes."""
    balance = start
    steps = []
    for event in sorted(events, key=lambda event: (event.day, -event.change, event.what)):
        balance += event.change
        steps.append(Step(event.day, event.change, event.what, balance, event.url))
    return steps


def draw(start: Decimal, steps: Sequence[Step], *, today: date, level: Decimal | None = None) -> Chart:
    """The chart of a running balance from `today` to a few days past the last event."""
    last = max([today + timedelta(days=14), *(step.day for step in steps)]) + timedelta(days=3)
    span = (last - today).days
    heights = [start, Decimal(0), *(step.balance for step in steps), *([level] if level else [])]
    low, high = min(heights), max(max(heights), Decimal(1))

    def x(day: date) -> float:
        return round(LEFT + (WIDTH - LEFT - RIGHT) * max(0, (day - today).days) / span, 1)

    def y(value: Decimal) -> float:
        return round(TOP + (HEIGHT - TOP - BOTTOM) * float((high - value) / (high - low)), 1)

    path = [f"M{LEFT} {y(start)}"]
    for step in steps:
        path.append(f"H{x(step.day)}V{y(step.balance)}")
    path.append(f"H{WIDTH - RIGHT}")
    mondays = [
        today + timedelta(days=offset)
        for offset in range(span)
        if (today + timedelta(days=offset)).weekday() == 0
    ]
    every = max(1, len(mondays) // 8)
    return Chart(
        line="".join(path),
        zero_y=y(Decimal(0)),
        level_y=y(level) if level else None,
        marks=tuple(
            Mark(
                x(day),
                y(group[-1].balance),
                day,
                tuple(group),
                group[-1].balance,
                group[-1].balance < 0,
                any(step.change > 0 for step in group),
            )
            for day, group in _by_day(steps).items()
        ),
        days=tuple((x(day), day) for day in mondays[::every]),
        top=high,
        top_y=y(high),
    )


def _by_day(steps: Sequence[Step]) -> dict[date, list[Step]]:
    groups: dict[date, list[Step]] = {}
    for step in steps:
        groups.setdefault(step.day, []).append(step)
    return groups
