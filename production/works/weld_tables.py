"""Lists of jig sheets and of weld inspections."""

from datetime import datetime

import django_filters
import django_tables2 as tables
from django.db.models import QuerySet
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import moment
from production.works.card_tables import STACKED
from production.works.weld_models import JigSheet, WeldInspection

STATES = [("held", "hold something up"), ("cleared", "cleared"), ("good", "good")]


class JigSheetTable(Table):
    """The sheet in force of each item and station."""

    item = tables.Column(accessor="item__code", verbose_name="Item")
    name = tables.Column(accessor="item__name", verbose_name="Name")
    process = tables.Column(accessor="process__name", verbose_name="Station", order_by="process__sequence")
    number = number_column(verbose_name="Sheet")
    jig = tables.Column(verbose_name="Jig")
    is_inspected = tables.Column(verbose_name="Inspected")

    class Meta(Table.Meta):
        model = JigSheet
        attrs = STACKED
        fields = ("item", "name", "process", "number", "jig", "is_inspected")
        sequence = fields
        empty_text = "No sheet yet. One is written for an item at a station: its jig, the quality, notes."

    def render_item(self, value: str, record: JigSheet) -> SafeString:
        url = reverse("cards:jig_sheet", args=[record.process.code, value])
        return format_html('<a class="code" href="{}">{}</a>', url, value)

    def render_is_inspected(self, value: bool) -> str:
        return "the next step waits for it" if value else ""


class InspectionTable(Table):
    """What was found at welds."""

    at = tables.Column(verbose_name="When")
    card = tables.Column(accessor="card__number", verbose_name="Card")
    is_good = tables.Column(verbose_name="Found")
    by = tables.Column(accessor="by__username", verbose_name="By")
    cleared_at = tables.Column(verbose_name="Cleared", empty_values=())

    class Meta(Table.Meta):
        model = WeldInspection
        attrs = STACKED
        fields = ("at", "card", "is_good", "by", "cleared_at")
        sequence = fields
        empty_text = "No weld was inspected yet. It is written down on the job card of the weld."

    def render_at(self, value: datetime) -> str:
        return moment(value)

    def render_card(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("cards:card", args=[value]), value)

    def render_is_good(self, record: WeldInspection) -> str:
        return "good" if record.is_good else f"not good: {record.words}"

    def render_cleared_at(self, record: WeldInspection) -> str:
        if record.cleared_at is None:
            return "" if record.is_good else "holds the next step"
        return f"{record.clearance} ({record.cleared_by}, {moment(record.cleared_at)})"


class InspectionFilter(django_filters.FilterSet):  # type: ignore[misc]
    card = django_filters.CharFilter(field_name="card__number", lookup_expr="icontains", label="Card")
    state = django_filters.ChoiceFilter(
        choices=STATES, label="Those that", empty_label="any", method="in_state"
    )

    class Meta:
        model = WeldInspection
        fields = ("card", "state")

    def in_state(self, rows: QuerySet[WeldInspection], name: str, value: str) -> QuerySet[WeldInspection]:
        if value == "good":
            return rows.filter(is_good=True)
        return rows.filter(is_good=False, cleared_at__isnull=value == "held")
