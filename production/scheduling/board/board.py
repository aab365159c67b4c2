"""The board: a week of a plan with its changes, drawn to a scale of time: stations, their units, every operation."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from production.scheduling.board.drafts import Draft
from production.scheduling.board.wording import Namer
from production.scheduling.solver.job import ScheduledOperation
from production.shop.models import WorkCentre

MOST_BARS = 700
DAY_MINUTES = 1440
LEAST_SPAN = (7 * 60, 16 * 60)
LEAST_WIDTH = 0.35


@dataclass(frozen=True)
class Bar:
    """One piece of an operation on one day. `left` and `width` are per cent of the week's width, `lane` the unit."""

    operation: str
    order: str
    words: str
    left: float
    width: float
    lane: int
    starts_at: datetime
    ends_at: datetime
    is_first: bool
    is_fixed: bool
    is_moved: bool
    is_held: bool
    is_stopped: bool
    can_move: bool
    days_late: int


@dataclass(frozen=True)
class DayUse:
    """How full a station is on one day, in minutes over all units; `extra` is open besides its usual hours."""

    date: date
    open_minutes: int
    planned_minutes: int
    extra_minutes: int
    is_past: bool

    @property
    def percent(self) -> int:
        return round(100 * self.planned_minutes / self.open_minutes) if self.open_minutes else 0


@dataclass(frozen=True)
class Row:
    """A station over the week."""

    centre: WorkCentre
    lanes: int
    uses: tuple[DayUse, ...]
    bars: tuple[Bar, ...]


@dataclass(frozen=True)
class Run:
    """One run of the lorry: what it takes and how much it may."""

    date: date
    left: float
    leaves_at: datetime
    back_at: datetime
    kg: float
    max_kg: float
    operations: tuple[tuple[str, str, int], ...]

    @property
    def percent(self) -> int:
        return round(100 * self.kg / self.max_kg) if self.max_kg else 0


@dataclass(frozen=True)
class Board:
    """One week, drawn. `hours` are the whole hours to draw a line at, with their place within a day in per cent."""

    monday: date
    days: tuple[date, ...]
    first_minute: int
    last_minute: int
    rows: tuple[Row, ...]
    runs: tuple[Run, ...]
    more: int
    now: float | None

    @property
    def iso(self) -> str:
        year, week, _ = self.monday.isocalendar()
        return f"{year}-W{week:02d}"

    @property
    def saturday(self) -> date:
        return self.monday + timedelta(days=5)

    @property
    def before(self) -> str:
        return iso_week(self.monday - timedelta(weeks=1))

    @property
    def after(self) -> str:
        return iso_week(self.monday + timedelta(weeks=1))

    @property
    def hours(self) -> list[tuple[str, float]]:
        span = self.last_minute - self.first_minute
        first = -(-self.first_minute // 180) * 180
        return [
            (f"{minute // 60}", 100 * (minute - self.first_minute) / span)
            for minute in range(first, self.last_minute, 180)
            if minute > self.first_minute
        ]


def iso_week(day: date) -> str:
    """ "2026-W20"."""
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"


def board_of(draft: Draft, namer: Namer, monday: date) -> Board:
    """The week that begins on `monday`. No query."""
    return _Drawing(draft, namer, monday).board()


class _Drawing:
    def __init__(self, draft: Draft, namer: Namer, monday: date) -> None:
        self.draft, self.namer, self.monday = draft, namer, monday
        clock = draft.clock
        self.begins, self.ends = clock.start_of(monday), clock.start_of(monday + timedelta(weeks=1))
        self.rows = [
            row for row in draft.after.operations if row.start_min < self.ends and row.end_min > self.begins
        ]
        self.open: dict[str, list[tuple[int, int]]] = {
            centre.code: [span for span in centre.windows if span[0] < self.ends and span[1] > self.begins]
            for centre in draft.work.work_centres
        }
        for oven in draft.work.ovens:
            self.open[oven.code] = _merged(oven.slots, self.begins, self.ends)
        self.days = self._days()
        self.first, self.last = self._span()
        self.fixed = {one.id for one in draft.work.operations if one.fixed_start is not None}
        self.held = draft.held
        self.stopped = draft.breakdown.operations if draft.breakdown else frozenset[str]()
        self.shared = {oven.code for oven in draft.work.ovens}

    def board(self) -> Board:
        by_centre: dict[str, list[ScheduledOperation]] = defaultdict(list)
        for row in self.rows:
            by_centre[row.work_centre].append(row)
        drawn, more = self._drawn()
        centres = sorted(self.draft.desk.centres.values(), key=lambda one: (one.sequence, one.code))
        rows = tuple(self._row(centre, by_centre[centre.code], drawn) for centre in centres)
        now = self.draft.clock.moment(self.draft.standing.now)
        return Board(
            self.monday,
            self.days,
            self.first,
            self.last,
            rows,
            tuple(self._runs()),
            more,
            self._left(now) if now.date() in self.days else None,
        )

    def _days(self) -> tuple[date, ...]:
        """Monday to Friday, and a day of the weekend on which something is open or planned."""
        clock = self.draft.clock
        used = {clock.day_of(start) for spans in self.open.values() for start, _ in spans}
        days = (self.monday + timedelta(days=offset) for offset in range(7))
        return tuple(day for day in days if day.weekday() < 5 or day in used)

    def _span(self) -> tuple[int, int]:
        """The first and last minute of a day that is drawn: whole hours round everything that is open."""
        clock = self.draft.clock
        first, last = LEAST_SPAN
        for spans in self.open.values():
            for start, end in spans:
                opens, closes = clock.moment(start), clock.moment(end)
                first = min(first, opens.hour * 60)
                if closes.date() == opens.date():
                    last = max(last, -(-(closes.hour * 60 + closes.minute) // 60) * 60)
        return first, min(last, DAY_MINUTES)

    def _left(self, moment: datetime) -> float:
        """Where a moment lies, in per cent of the week's width."""
        minute = min(max(moment.hour * 60 + moment.minute, self.first), self.last)
        share = (minute - self.first) / (self.last - self.first)
        day = moment.date()
        if day not in self.days:
            return 100.0 * sum(one < day for one in self.days) / len(self.days)
        return 100 * (self.days.index(day) + share) / len(self.days)

    def _drawn(self) -> tuple[set[str], int]:
        """What is drawn where there is too much: what is moved, stopped or late before the rest."""
        here = [row for row in self.rows if row.work_centre in self.open]
        if len(here) <= MOST_BARS:
            return {row.id for row in here}, 0
        ranked = sorted(
            here,
            key=lambda row: (
                row.id not in self.draft.moved,
                row.id not in self.stopped,
                self.namer.days_late(self.namer.order_of(row.id)) <= 0,
                row.start_min,
            ),
        )
        return {row.id for row in ranked[:MOST_BARS]}, len(here) - MOST_BARS

    def _row(
        self,
        centre: WorkCentre,
        rows: Sequence[ScheduledOperation],
        drawn: set[str],
    ) -> Row:
        lanes = self._lanes(centre, rows)
        bars = [bar for row in rows if row.id in drawn for bar in self._bars(row, lanes[row.id])]
        height = max(
            [centre.units if centre.code not in self.shared else 1, *(lane + 1 for lane in lanes.values())]
        )
        return Row(
            centre,
            height,
            tuple(self._use(centre, rows, day) for day in self.days),
            tuple(sorted(bars, key=lambda bar: (bar.left, bar.lane))),
        )

    def _lanes(self, centre: WorkCentre, rows: Sequence[ScheduledOperation]) -> dict[str, int]:
        """A lane a unit; in the oven the frames of one batch one under the other."""
        if centre.code not in self.shared:
            return {row.id: row.unit for row in rows}
        found: dict[str, int] = {}
        count: dict[int, int] = defaultdict(int)
        for row in rows:
            found[row.id] = count[row.unit]
            count[row.unit] += 1
        return found

    def _bars(self, row: ScheduledOperation, lane: int) -> Iterable[Bar]:
        """A piece for each open stretch that the operation lies on; where it meets none, one where it is."""
        clock, namer = self.draft.clock, self.namer
        spans = [
            (max(start, row.start_min), min(end, row.end_min))
            for start, end in self.open[row.work_centre]
            if start < row.end_min and end > row.start_min
        ] or [(row.start_min, row.end_min)]
        order = namer.order_of(row.id)
        for index, (start, end) in enumerate(spans):
            left, right = self._left(clock.moment(start)), self._left(clock.moment(end))
            yield Bar(
                row.id,
                order,
                namer.short(row.id),
                round(left, 3),
                round(max(right - left, LEAST_WIDTH), 3),
                lane,
                clock.moment(row.start_min),
                clock.moment(row.end_min),
                index == 0,
                row.id in self.fixed,
                row.id in self.draft.moved,
                row.id in self.held,
                row.id in self.stopped,
                row.id not in self.fixed,
                namer.days_late(order),
            )

    def _use(self, centre: WorkCentre, rows: Sequence[ScheduledOperation], day: date) -> DayUse:
        clock = self.draft.clock
        begins, ends = clock.start_of(day), clock.end_of(day)
        windows = [
            (max(start, begins), min(end, ends))
            for start, end in self.open.get(centre.code, ())
            if start < ends and end > begins
        ]
        # The frames of one oven batch share its time.
        shared = centre.code in self.shared
        spans = {("" if shared else row.id, row.start_min, row.end_min) for row in rows}
        planned = sum(
            max(0, min(last, end) - max(first, start)) for _, first, last in spans for start, end in windows
        )
        extra = sum(end - start for start, end in self._extra_spans(centre, begins, ends))
        opened = sum(end - start for start, end in windows)
        return DayUse(
            day, opened * centre.units, planned, extra * centre.units, ends <= self.draft.standing.now
        )

    def _extra_spans(self, centre: WorkCentre, begins: int, ends: int) -> Iterable[tuple[int, int]]:
        clock = self.draft.clock
        for change in self.draft.changes:
            if change.work_centre_id == centre.pk and change.date and change.starts and change.ends:
                start, end = (
                    clock.minute(clock.local(change.date, at)) for at in (change.starts, change.ends)
                )
                if begins <= start < ends:
                    yield start, end

    def _runs(self) -> Iterable[Run]:
        clock = self.draft.clock
        asked = {one.id: one for one in self.draft.work.operations}
        for lorry in self.draft.work.lorries:
            on_run: dict[int, list[str]] = defaultdict(list)
            for row in self.draft.after.operations:
                if row.work_centre == lorry.code:
                    on_run[row.unit].append(row.id)
            for index, run in enumerate(lorry.departures):
                if not self.begins <= run.leaves_min < self.ends:
                    continue
                leaves = clock.moment(run.leaves_min)
                names = on_run[index]
                yield Run(
                    leaves.date(),
                    round(self._left(leaves), 3),
                    leaves,
                    clock.moment(run.returns_min),
                    sum(asked[name].mass_kg for name in names),
                    run.max_kg,
                    tuple(
                        (name, self.namer.order_of(name), self.namer.days_late(self.namer.order_of(name)))
                        for name in names
                    ),
                )


def _merged(slots: Iterable[tuple[int, int]], begins: int, ends: int) -> list[tuple[int, int]]:
    merged: list[tuple[int, int]] = []
    for start, end in sorted(slots):
        if start >= ends or end <= begins:
            continue
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((start, end))
    return merged
