"""Lists of flat parts and of drawing files."""

from typing import Any

import django_filters as filters
import django_tables2 as tables
from django.db.models import Q, QuerySet
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.geometry.drawing_models import DrawingRead
from bom.geometry.models import FlatPart
from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import moment, quantity_text


class FlatPartTable(Table):
    """Flat parts with the figures that cutting and folding ask for."""

    code = tables.Column(accessor="item__code", verbose_name="code")
    name = tables.Column(accessor="item__name", verbose_name="name")
    grade = tables.Column(verbose_name="grade")
    thickness_mm = number_column(verbose_name="thickness mm")
    length_mm = number_column(verbose_name="length mm")
    width_mm = number_column(verbose_name="width mm")
    cut_length_mm = number_column(verbose_name="cut length mm")
    pierces = number_column(verbose_name="pierces")
    bends = number_column(verbose_name="bends")
    mass_kg = number_column(accessor="item__mass_kg", verbose_name="mass kg")

    class Meta(Table.Meta):
        empty_text = "No flat part here. Open a made item and bring in its drawing."

    def render_code(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("geometry:part", args=[value]), value)

    def render_thickness_mm(self, value: Any) -> str:
        return quantity_text(value)

    def render_mass_kg(self, value: Any) -> str:
        return quantity_text(value)


class FlatPartFilter(filters.FilterSet):  # type: ignore[misc]
    q = filters.CharFilter(method="by_text", label="Code or name")
    grade = filters.CharFilter(lookup_expr="iexact", label="Grade")
    thickness_mm = filters.NumberFilter(label="Thickness mm")
    is_folded = filters.BooleanFilter(field_name="bends", lookup_expr="gt", method="by_fold", label="Folded")

    class Meta:
        model = FlatPart
        fields: list[str] = []

    def by_text(self, queryset: QuerySet[FlatPart], name: str, value: str) -> QuerySet[FlatPart]:
        words = value.strip()
        return queryset.filter(Q(item__code__icontains=words) | Q(item__name__icontains=words))

    def by_fold(self, queryset: QuerySet[FlatPart], name: str, value: bool) -> QuerySet[FlatPart]:
        return queryset.filter(bends__gt=0) if value else queryset.filter(bends=0)


class ReadTable(Table):
    """Drawing files that were looked at."""

    file_name = tables.Column(verbose_name="file")
    item = tables.Column(accessor="item__code", verbose_name="item")
    asked_at = tables.Column(verbose_name="brought in")
    asked_by = tables.Column(verbose_name="by")
    standing = tables.Column(empty_values=(), orderable=False, verbose_name="how it stands")

    class Meta(Table.Meta):
        empty_text = "No drawing file was brought in yet. Open a made item and bring one in."

    def render_file_name(self, value: str, record: DrawingRead) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("geometry:reading", args=[record.pk]), value)

    def render_asked_at(self, value: Any) -> str:
        return moment(value)

    def render_standing(self, record: DrawingRead) -> str:
        return standing(record)

    def value_standing(self, record: DrawingRead) -> str:
        return standing(record)


def standing(read: DrawingRead) -> str:
    """How a reading stands, in words."""
    if read.accepted_at:
        return "accepted"
    if read.is_open:
        return read.get_state_display()
    if not read.has_succeeded:
        return read.get_outcome_display()
    return "can be accepted" if read.is_whole else f"{read.flaw_count} things wrong"
