"""Lists of the stations: the whole queue, and trailers at the gate."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import day_text, minutes, moment
from production.works.card_tables import STACKED
from production.works.models import WorksOperation


class QueueTable(Table):
    """Open work of one station in the order it will be taken."""

    order = tables.Column(accessor="works_order__order__number", verbose_name="Order")
    model = tables.Column(accessor="works_order__order__model__name", verbose_name="Trailer")
    customer = tables.Column(accessor="works_order__order__customer__name", verbose_name="Customer")
    state = tables.Column(verbose_name="State")
    planned_at = tables.Column(verbose_name="Planned", empty_values=())
    minutes = number_column(verbose_name="Work")
    due = tables.Column(accessor="works_order__order__asked_for", verbose_name="Held to")

    class Meta(Table.Meta):
        model = WorksOperation
        attrs = STACKED
        fields = ("order", "model", "customer", "state", "planned_at", "minutes", "due")
        sequence = fields
        empty_text = "Nothing waits here. Work appears when the manager releases a plan."

    def render_order(self, value: str, record: WorksOperation) -> SafeString:
        url = reverse("works:job", args=[record.process.code, value])
        return format_html('<a class="code" href="{}">{}</a>', url, value)

    def render_state(self, record: WorksOperation) -> str:
        return self.value_state(record)

    def value_state(self, record: WorksOperation) -> str:
        """One plain phrase for where the job stands."""
        if record.problem:
            return f"stopped: {record.problem}"
        if record.state == WorksOperation.State.BEGUN:
            return f"begun by {record.by}" if record.by else "begun"
        waits_for = getattr(record, "waits_for", None)
        return f"waits for {waits_for.lower()}" if waits_for else "ready"

    def render_planned_at(self, record: WorksOperation) -> str:
        planned = getattr(record, "planned_at", None)
        return moment(planned) if planned else "not planned"

    def render_minutes(self, record: WorksOperation) -> str:
        return minutes(record.minutes)

    def render_due(self, record: WorksOperation) -> str:
        order = record.works_order.order
        return day_text(order.due_on) if order else ""

    def value_due(self, record: WorksOperation) -> object:
        order = record.works_order.order
        return order.due_on if order else None


def station_address(process: str) -> str:
    """The screen of a process's station."""
    return reverse("works:station", args=[process])
