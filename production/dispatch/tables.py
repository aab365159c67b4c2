"""Lists of trailers that have gone, that carry something, that are called back."""

from __future__ import annotations

from typing import Any

import django_tables2 as tables
from django.db.models import OuterRef, Subquery
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.kernel.tables import Table
from bom.templatetags.workshop import day_text
from production.dispatch.models import Recall, RecallTrailer
from production.orders.models import Order


class CarrierTable(Table):
    """Trailers with who has them."""

    number = tables.Column(verbose_name="Order")
    vin = tables.Column(verbose_name="VIN", empty_values=())
    model = tables.Column(accessor="model__name", verbose_name="Trailer")
    owner_name = tables.Column(verbose_name="Owner", empty_values=())
    where = tables.Column(verbose_name="Where", empty_values=(), orderable=False)
    gone = tables.Column(accessor="seal__at", verbose_name="Gone")

    class Meta(Table.Meta):
        model = Order
        fields = ("number", "vin", "model", "owner_name", "where", "gone")
        sequence: tuple[str, ...] = fields
        empty_text = "No trailer that has gone carries it."

    def render_number(self, value: str) -> SafeString:
        return format_html(
            '<a class="code" href="{}">{}</a>', reverse("dispatch:record", args=[value]), value
        )

    def render_vin(self, value: str | None) -> SafeString:
        return format_html('<span class="code">{}</span>', value or "none")

    def render_owner_name(self, record: Any) -> str:
        return self.value_owner_name(record)

    def value_owner_name(self, record: Any) -> str:
        return str(record.owner_name or record.customer.name)

    def render_where(self, record: Any) -> str:
        return self.value_where(record)

    def value_where(self, record: Any) -> str:
        return str((record.owner_contact or "") if record.owner_name else record.customer.place)

    def render_gone(self, value: Any) -> str:
        return day_text(value)

    def value_gone(self, record: Any) -> Any:
        seal = getattr(record, "seal", None)
        return seal.at.date() if seal else None


class RecordTable(CarrierTable):
    class Meta(CarrierTable.Meta):
        empty_text = "No trailer has gone yet. Its record is sealed when it leaves the gate."


class RecallTable(CarrierTable):
    """Trailers of a recall, with when the owner was told and when it was put right."""

    told_on = tables.Column(verbose_name="Told", empty_values=())
    done_on = tables.Column(verbose_name="Put right", empty_values=())
    act = tables.TemplateColumn(
        template_name="dispatch/_mark.html", verbose_name="", orderable=False, exclude_from_export=True
    )

    class Meta(CarrierTable.Meta):
        sequence = ("...", "told_on", "done_on", "act")

    @staticmethod
    def marks(recall: Recall) -> dict[str, Subquery]:
        """What the list adds to its orders."""
        rows = RecallTrailer.objects.filter(recall=recall, order=OuterRef("pk"))
        return {name: Subquery(rows.values(name)[:1]) for name in ("told_on", "done_on")}

    def render_told_on(self, value: Any) -> str:
        return day_text(value) if value else "not yet"

    def render_done_on(self, value: Any) -> str:
        return day_text(value) if value else "not yet"
