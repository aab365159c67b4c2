"""The list of plan versions."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import moment, percent
from production.planning.models import Plan


class PlanTable(Table):
    """One row a version: where it stands, and its figures."""

    number = tables.Column(verbose_name="Plan")
    standing = tables.Column(verbose_name="Standing", accessor="state")
    asked_at = tables.Column(verbose_name="Made")
    asked_by = tables.Column(verbose_name="By", accessor="asked_by")
    orders_planned = number_column(verbose_name="Orders")
    orders_late = number_column(verbose_name="Late")
    late_hours = number_column(verbose_name="Hours late, weighted")
    sheets = number_column(verbose_name="Sheets")
    sheet_use = number_column(verbose_name="Sheet use")
    run_seconds = number_column(verbose_name="Took, s")
    compare = tables.Column(verbose_name="", empty_values=(), orderable=False)

    exclude_from_export = ("compare",)

    class Meta(Table.Meta):
        model = Plan
        fields = (
            "number",
            "standing",
            "asked_at",
            "asked_by",
            "orders_planned",
            "orders_late",
            "late_hours",
            "sheets",
            "sheet_use",
            "run_seconds",
        )
        order_by = "-number"
        empty_text = "No plan yet. Confirm orders, then make the first plan."

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._current = Plan.current()

    def render_number(self, value: int) -> str:
        return format_html('<a href="{}">{}</a>', reverse("week:plan", args=[value]), value)

    def render_standing(self, record: Plan) -> str:
        return standing(record)

    def value_standing(self, record: Plan) -> str:
        return standing(record)

    def render_asked_at(self, record: Plan) -> str:
        return moment(record.asked_at)

    def render_sheet_use(self, value: Any) -> str:
        return percent(value)

    def render_compare(self, record: Plan) -> str:
        if self._current is None or self._current.pk == record.pk or not record.has_succeeded:
            return ""
        there = reverse("week:compare", args=[self._current.number, record.number])
        return format_html('<a href="{}">Compare with the released one</a>', there)


def standing(plan: Plan) -> str:
    """Where a plan stands, in a word or two."""
    if plan.is_current:
        return "released"
    if plan.outcome == Plan.Outcome.SUCCEEDED:
        return "superseded" if plan.released_at else "draft"
    return plan.get_outcome_display() if plan.outcome else plan.get_state_display()
