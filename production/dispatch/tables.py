"""Lists of trailers that have gone, that carry something, that are called back."""

from __future__ import annotations

from typing import Any

import django_filters
import django_tables2 as tables
from django.db.models import OuterRef, Subquery
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.kernel.tables import PartColumn, Table, number_column
from bom.templatetags.workshop import day_text, money
from production.dispatch.models import Claim, Recall, RecallTrailer
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
        return _link("dispatch:record", value, value)

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
    act = PartColumn(
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


class ClaimTable(Table):
    """Warranty claims, the newest first."""

    number = tables.Column(verbose_name="Claim")
    reported_on = tables.Column(verbose_name="Reported")
    order = tables.Column(accessor="order__number", verbose_name="Trailer")
    item = tables.Column(accessor="item__name", verbose_name="Part")
    source = tables.Column(accessor="source__code", verbose_name="Batch", empty_values=())
    supplier = tables.Column(accessor="source__supplier__name", verbose_name="From", default="")
    cause = tables.Column(verbose_name="Cause")
    words = tables.Column(verbose_name="What failed", orderable=False, attrs={"td": {"class": "words"}})
    cost = number_column(verbose_name="Cost")

    class Meta(Table.Meta):
        model = Claim
        fields = ("number", "reported_on", "order", "item", "source", "supplier", "cause", "words", "cost")
        sequence: tuple[str, ...] = fields
        empty_text = "No claim yet. One is written on the record of its trailer."

    def render_number(self, value: str) -> SafeString:
        return format_html('<span class="code">{}</span>', value)

    def render_reported_on(self, value: Any) -> str:
        return day_text(value)

    def render_order(self, value: str) -> SafeString:
        return _link("dispatch:record", value, value)

    def render_source(self, record: Claim) -> SafeString:
        if record.source is None:
            return format_html('<span class="soft">not known</span>')
        return _link("dispatch:source", record.source_id, record.source.code)

    def value_source(self, record: Claim) -> str:
        return record.source.code if record.source else ""

    def render_cost(self, value: Any) -> str:
        return money(value)


class ClaimFilter(django_filters.FilterSet):  # type: ignore[misc]
    part = django_filters.CharFilter(field_name="item__code", lookup_expr="iexact", label="Part's code")
    supplier = django_filters.CharFilter(
        field_name="source__supplier__code", lookup_expr="iexact", label="Supplier's code"
    )
    cause = django_filters.ChoiceFilter(choices=Claim.Cause.choices, label="Cause", empty_label="any")

    class Meta:
        model = Claim
        fields: tuple[str, ...] = ()


def _link(view: str, key: object, words: str) -> SafeString:
    return format_html('<a class="code" href="{}">{}</a>', reverse(view, args=[key]), words)
