"""The order book as a list."""

from typing import Any

import django_tables2 as tables
from django.db.models import QuerySet
from django.db.models.functions import Length
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from bom.kernel.tables import Table
from bom.templatetags.workshop import day_text
from production.orders.models import Order
from production.site.orders.queries import days_behind, late_words, thread


class OrderTable(Table):
    """Who asked for what, by when, where it stands, and how late it is, in words."""

    number = tables.Column(verbose_name="Order")
    customer = tables.Column(accessor="customer__name", verbose_name="Customer")
    model = tables.Column(accessor="model__code", verbose_name="Model")
    hull = tables.Column(accessor="hull__name", verbose_name="Hull")
    finish = tables.Column(accessor="get_finish_display", verbose_name="Finish", order_by="finish")
    state = tables.Column(accessor="get_state_display", verbose_name="State", order_by="state")
    asked_for = tables.Column(verbose_name="Asked for")
    promised_on = tables.Column(verbose_name="Promised")
    forecast_at = tables.Column(verbose_name="Forecast")
    thread = tables.Column(verbose_name="Way", empty_values=(), orderable=False, exclude_from_export=True)
    days_late = tables.Column(verbose_name="Late", empty_values=())

    class Meta(Table.Meta):
        empty_text = "No order here. Write the first one with “New order”, or show all."

    def order_number(self, queryset: QuerySet[Order], is_descending: bool) -> tuple[QuerySet[Order], bool]:
        """2 comes before 10."""
        sign = "-" if is_descending else ""
        ordered = queryset.annotate(number_length=Length("number"))
        return ordered.order_by(f"{sign}number_length", f"{sign}number"), True

    def render_number(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("orders:order", args=[value]), value)

    def render_model(self, value: str, record: Order) -> SafeString:
        return format_html('<span class="code">{}</span> <small>{}</small>', value, record.model.name)

    def render_asked_for(self, value: Any) -> str:
        return day_text(value)

    def render_promised_on(self, value: Any) -> str:
        return day_text(value)

    def render_forecast_at(self, value: Any) -> str:
        return day_text(value)

    def render_thread(self, record: Order) -> SafeString | str:
        works = getattr(record, "works_order", None)
        if works is None:
            return ""
        stops = thread(record, works.operations.all())
        words = (
            "; ".join(f"{stop.label} {stop.word}" for stop in stops if stop.stage != "ahead") or "not begun"
        )
        dots = format_html_join(
            "", '<li class="{}" title="{}: {}"></li>', ((stop.stage, stop.label, stop.word) for stop in stops)
        )
        return format_html(
            '<span class="skip-label">{}</span><ol class="thread small" aria-hidden="true">{}</ol>',
            words,
            dots,
        )

    def render_days_late(self, record: Order) -> SafeString | str:
        words = late_words(record, timezone.localdate())
        return format_html('<span class="say-late">{}</span>', words) if words else ""

    def value_days_late(self, record: Order) -> int:
        return days_behind(record, timezone.localdate())
