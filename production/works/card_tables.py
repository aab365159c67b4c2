"""Lists of job cards, of what stands where, of problems, and of hours."""

from datetime import datetime
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import day_text, minutes, moment, quantity_text
from production.orders.models import Order
from production.works.card_models import JobCard, WorkProblem, WorkTime

DAY_MINUTES = 24 * 60
# On a phone each row stands by itself.
STACKED = {"class": "list stack"}


def how_long(since: datetime | None) -> str:
    """ "35 min", "4 h" or "3 days" since a time."""
    if since is None:
        return ""
    passed = int((timezone.now() - since).total_seconds() // 60)
    if passed >= 2 * DAY_MINUTES:
        return f"{passed // DAY_MINUTES} days"
    return f"{passed // 60} h" if passed >= 120 else f"{max(passed, 0)} min"


class CardTable(Table):
    """Job cards with what they hold and who is at them."""

    pick = tables.CheckBoxColumn(
        accessor="number",
        attrs={"input": {"name": "card", "form": "print-cards", "aria-label": "print this card"}},
        exclude_from_export=True,
        orderable=False,
    )
    number = tables.Column(verbose_name="Card")
    process = tables.Column(accessor="process__name", verbose_name="Station", order_by="process__sequence")
    order_number = tables.Column(verbose_name="Order")
    piece_count = number_column(verbose_name="Pieces")
    state = tables.Column(verbose_name="State")
    began_at = tables.Column(verbose_name="Begun")

    class Meta(Table.Meta):
        model = JobCard
        attrs = STACKED
        fields = ("pick", "number", "process", "order_number", "piece_count", "state", "began_at")
        sequence = fields
        empty_text = (
            "No job card. Cards are made when a plan is released, or on the page of an order's job cards."
        )

    def render_number(self, value: str, record: JobCard) -> SafeString:
        word = "" if record.kind == JobCard.Kind.USUAL else f" {record.get_kind_display()}"
        return format_html(
            '<a class="code" href="{}">{}</a>{}', reverse("cards:card", args=[value]), value, word
        )

    def render_order_number(self, value: str, record: JobCard) -> str:
        others = getattr(record, "order_count", 1) - 1
        return f"{value} and {others} more" if others > 0 else value

    def render_piece_count(self, value: Any) -> str:
        return quantity_text(value)

    def render_state(self, record: JobCard) -> str:
        return self.value_state(record)

    def value_state(self, record: JobCard) -> str:
        if getattr(record, "is_stopped", False) and record.is_open:
            return "stopped by a problem"
        at_work = getattr(record, "at_work", None)
        return f"{at_work} is at it" if at_work else record.get_state_display()

    def render_began_at(self, value: datetime) -> str:
        return moment(value)


class StandingTable(Table):
    """Every order on the floor, the one that has stood longest first."""

    number = tables.Column(verbose_name="Order")
    model = tables.Column(accessor="model__name", verbose_name="Trailer")
    stands = tables.Column(empty_values=(), verbose_name="Stands", orderable=False)
    since = tables.Column(empty_values=(), verbose_name="For")
    done_last = tables.Column(empty_values=(), verbose_name="Done last")
    planned_next = tables.Column(empty_values=(), verbose_name="Next planned")
    due = tables.Column(accessor="asked_for", verbose_name="Held to")

    class Meta(Table.Meta):
        model = Order
        attrs = STACKED
        fields = ("number", "model", "stands", "since", "done_last", "planned_next", "due")
        sequence = fields
        empty_text = "Nothing is on the floor. Orders appear here when the manager releases a plan."

    def render_number(self, value: str) -> SafeString:
        cards = f"{reverse('cards:cards')}?order={value}"
        return format_html(
            '<a class="code" href="{}">{}</a> <a href="{}">cards</a>',
            reverse("orders:order", args=[value]),
            value,
            cards,
        )

    def render_stands(self, record: Order) -> str:
        return self.value_stands(record)

    def value_stands(self, record: Order) -> str:
        row: Any = record
        if row.begun_at_station:
            by = f", {row.begun_by}" if row.begun_by else ""
            where = f"at {row.begun_at_station}{by}"
        else:
            where = f"waits for {row.comes_next.lower()}" if row.comes_next else "all work done"
        return f"{where}; stopped: {row.stopped_by}" if row.stopped_by else where

    def render_since(self, record: Order) -> str:
        return self.value_since(record)

    def value_since(self, record: Order) -> str:
        return how_long(getattr(record, "since", None)) or "not begun"

    def render_done_last(self, record: Order) -> str:
        return getattr(record, "done_last", "") or "nothing yet"

    def render_planned_next(self, record: Order) -> str:
        planned = getattr(record, "planned_next", None)
        return moment(planned) if planned else ""

    def render_due(self, record: Order) -> str:
        return day_text(record.due_on)


class ProblemTable(Table):
    """What the floor reported."""

    at = tables.Column(verbose_name="When")
    card = tables.Column(accessor="card__number", verbose_name="Card")
    process = tables.Column(accessor="card__process__name", verbose_name="Station")
    words = tables.Column(verbose_name="What")
    by = tables.Column(accessor="by__username", verbose_name="Seen by")
    answer = tables.Column(verbose_name="Settled", empty_values=())

    class Meta(Table.Meta):
        model = WorkProblem
        attrs = STACKED
        fields = ("at", "card", "process", "words", "by", "answer")
        sequence = fields
        empty_text = (
            "Nothing was reported. A problem is written down on a job card, with a photo if you like."
        )

    def render_at(self, value: datetime) -> str:
        return moment(value)

    def render_card(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("cards:card", args=[value]), value)

    def render_words(self, value: str, record: WorkProblem) -> SafeString:
        stops = " (stops the work)" if record.stops_work else ""
        return format_html('<a href="{}">{}</a>{}', reverse("cards:problem", args=[record.pk]), value, stops)

    def render_answer(self, record: WorkProblem) -> str:
        return self.value_answer(record)

    def value_answer(self, record: WorkProblem) -> str:
        return f"{record.answer} ({record.solved_by})" if record.solved_at else "open"


class HoursTable(Table):
    """Time kept, by day, person and station."""

    day = tables.Column(verbose_name="Day")
    person__username = tables.Column(verbose_name="Person")
    work_centre__name = tables.Column(verbose_name="Station", default="no station")
    total = number_column(verbose_name="Time")
    cards = number_column(verbose_name="Cards")

    class Meta(Table.Meta):
        model = WorkTime
        attrs = STACKED
        fields = ("day", "person__username", "work_centre__name", "total", "cards")
        sequence = fields
        empty_text = "No time is kept yet. It begins when somebody starts a job card."

    def render_day(self, value: Any) -> str:
        return day_text(value)

    def render_total(self, value: Any) -> str:
        return minutes(value)
