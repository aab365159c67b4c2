"""The drawing of an item's use by weeks: what was used, what was set aside, what is forecast. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

WIDTH, HEIGHT = 900, 240
LEFT, RIGHT, TOP, BOTTOM = 54, 12, 16, 34
LABELS, LABEL_WIDTH = 9, 50


@dataclass(frozen=True)
class Bar:
    """One week: where it stands, how high it is, whether it is set aside, and its words."""

    x: float
    y: float
    width: float
    height: float
    is_aside: bool
    words: str


@dataclass(frozen=True)
class Drawing:
    """Bars of the past, a stepped line of the weeks to come, the mean; in drawing units."""

    bars: tuple[Bar, ...]
    forecast: str
    mean_y: float | None
    now_x: float
    labels: tuple[tuple[float, date], ...]
    top: Decimal
    zero_y: float = HEIGHT - BOTTOM
    top_y: float = TOP
    left: int = LEFT
    right: int = WIDTH - RIGHT
    width: int = WIDTH
    height: int = HEIGHT


def draw(
    weeks: Mapping[date, Decimal],
    ahead: Sequence[tuple[date, Decimal]],
    *,
    aside: Mapping[date, Decimal] | None = None,
    mean: Decimal | None = None,
    unit: str = "",
) -> Drawing:
    """The weeks with their use, the oldest first, then the forecast ones.

    `aside` is what counts instead of a week that is set aside; the higher of both is drawn, cut off at twice the
    highest of the other weeks, so that these can still be read.
    """
    aside, words = aside or {}, weeks
    weeks = {week: max(used, aside.get(week, used)) for week, used in weeks.items()}
    usual = [used for week, used in weeks.items() if week not in aside]
    others = [*usual, *(used for _, used in ahead), mean or Decimal(0)]
    most = max(others, default=Decimal(0))
    high = max([most, *(min(used, most * 2) for week, used in weeks.items() if week in aside), Decimal(1)])
    slots = [*weeks, *(week for week, _ in ahead)]
    step = (WIDTH - LEFT - RIGHT) / max(1, len(slots))

    def y(used: Decimal) -> float:
        share = float(min(max(used, Decimal(0)), high) / high)
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 1)

    def x(place: int) -> float:
        return round(LEFT + place * step, 1)

    bars = tuple(
        Bar(
            x(place),
            y(used),
            round(step * 0.8, 1),
            round(HEIGHT - BOTTOM - y(used), 1),
            week in aside,
            f"week of {week:%d %b %Y}: {words[week].normalize():f} {unit}{', set aside' if week in aside else ''}",
        )
        for place, (week, used) in enumerate(weeks.items())
    )
    line = "".join(
        f"{'L' if number else 'M'}{x(len(weeks) + number)} {y(used)}H{x(len(weeks) + number + 1)}"
        for number, (_, used) in enumerate(ahead)
    )
    every = max(1, len(slots) // LABELS)
    return Drawing(
        bars,
        line,
        None if mean is None else y(mean),
        x(len(weeks)),
        tuple(
            (x(place), week)
            for place, week in enumerate(slots)
            if place % every == 0 and x(place) < WIDTH - LABEL_WIDTH
        ),
        high,
    )
