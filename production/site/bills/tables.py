"""Every made item with the revision of its bill that is in force."""

from typing import Any

import django_filters as filters
import django_tables2 as tables
from django.db.models import Count, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Length
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.items.models import Item
from bom.kernel.tables import Table, number_column
from bom.structure.models import Revision
from bom.templatetags.workshop import day_text
from production.site.bills.standing import begun_now


def made_items() -> QuerySet[Item]:
    """Made items with `letter`, `since` and `first` trailer of the revision in force for the next trailer to be
    ordered, its `lines`, and `draft`, the letter of a draft."""
    released = Revision.objects.filter(begun_now(), item=OuterRef("pk")).order_by(
        "-effective_from", Length("letter").desc(), "-letter"
    )
    drafts = Revision.objects.filter(item=OuterRef("pk"), state=Revision.State.DRAFT)
    return (
        Item.objects.filter(kind=Item.Kind.MADE)
        .annotate(
            letter=Subquery(released.values("letter")[:1]),
            since=Subquery(released.values("effective_from")[:1]),
            first=Subquery(released.values("from_number")[:1]),
            lines=Subquery(released.annotate(n=Count("lines")).values("n")[:1]),
            draft=Subquery(drafts.values("letter")[:1]),
        )
        .order_by("code")
    )


class BillTable(Table):
    code = tables.Column(verbose_name="Item")
    name = tables.Column(verbose_name="Name")
    group = tables.Column(verbose_name="Group")
    letter = tables.Column(verbose_name="In force", default="none")
    since = tables.Column(verbose_name="Since")
    lines = number_column(verbose_name="Lines")
    draft = tables.Column(verbose_name="Draft", default="")

    class Meta(Table.Meta):
        empty_text = "No made item here. Bring items in from a workbook, or show all."

    def render_code(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("bills:bill", args=[value]), value)

    def render_since(self, value: object, record: Any) -> str:
        return f"trailer {record.first}" if record.first else day_text(value)  # type: ignore[arg-type]

    def render_draft(self, value: str, record: Item) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("bills:draft", args=[record.code]), value)


class BillFilter(filters.FilterSet):  # type: ignore[misc]
    q = filters.CharFilter(method="by_text", label="Code or name")
    group = filters.CharFilter(lookup_expr="icontains", label="Group")

    class Meta:
        model = Item
        fields: list[str] = []

    def by_text(self, queryset: QuerySet[Item], name: str, value: str) -> QuerySet[Item]:
        words = value.strip()
        return queryset.filter(Q(code__icontains=words) | Q(name__icontains=words))
