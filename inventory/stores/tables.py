"""The stock list and the ledger as lists, with their filters."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any

import django_filters
import django_tables2 as tables
from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.items.models import Colour, Item
from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import moment, quantity_text, short_day
from inventory.stock.models import Location, Posting
from inventory.stock.queries import ON_HAND_KINDS, on_hand_balances
from inventory.stores import queries

ONLY = [
    (queries.SHORT, "short"),
    (queries.UNDER_LEVEL, "under level"),
    ("to buy", "short or under level"),
    (queries.COMING, "none here, coming"),
    (queries.ON_THE_SHELF, "on the shelf"),
]


WANTING = (queries.SHORT, queries.UNDER_LEVEL)


def condition_text(record: Any) -> str:
    """The state of an item's stock in words: "4 short", "under level", "coming Tue 12 May", "on the shelf"."""
    coming = _coming_text(record.next_due)
    if record.condition == queries.COMING:
        return coming
    text = str(record.condition)
    if record.condition == queries.SHORT:
        text = f"{quantity_text(-record.available)} short"
    return f"{text}, {coming}" if coming and record.condition in WANTING else text


def _coming_text(next_due: date | None) -> str:
    if next_due is None:
        return ""
    return f"{'overdue since' if next_due < timezone.localdate() else 'coming'} {short_day(next_due)}"


class StockTable(Table):
    code = tables.Column(verbose_name="Item")
    name = tables.Column()
    group = tables.Column(verbose_name="Group", default="")
    on_hand = number_column(verbose_name="On hand")
    reserved = number_column(verbose_name="Kept")
    available = number_column(verbose_name="Available")
    on_order = number_column(verbose_name="On order")
    reorder_level = number_column(verbose_name="Level")
    unit = tables.Column(verbose_name="Unit")
    condition = tables.Column(
        verbose_name="State",
        order_by=("condition", "code"),
    )

    class Meta(Table.Meta):
        order_by = "code"
        empty_text = "No item fits. Show all, or bring items in from a workbook under Items."

    def render_code(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("stores:item", args=[value]), value)

    def render_on_hand(self, value: Any) -> str:
        return quantity_text(value)

    def render_reserved(self, value: Any) -> str:
        return quantity_text(value) if value else ""

    def render_available(self, value: Any) -> str:
        return quantity_text(value)

    def render_on_order(self, value: Any) -> str:
        return quantity_text(value) if value else ""

    def render_reorder_level(self, value: Any) -> str:
        return quantity_text(round(value, 1)) if value else ""

    def render_unit(self, record: Item) -> str:
        return record.unit

    def render_condition(self, record: Any) -> SafeString | str:
        text = condition_text(record)
        return format_html('<div class="say-short">{}</div>', text) if record.condition in WANTING else text

    def value_condition(self, record: Any) -> str:
        return condition_text(record)

    def value_unit(self, record: Item) -> str:
        return record.unit


def _groups() -> list[tuple[str, str]]:
    groups = Item.objects.exclude(group="").order_by("group").values_list("group", flat=True).distinct()
    return [(group, group) for group in groups]


class StockFilter(django_filters.FilterSet):  # type: ignore[misc]
    text = django_filters.CharFilter(method="by_text", label="Code or name")
    group = django_filters.ChoiceFilter(choices=_groups, label="Group", empty_label="any")
    kind = django_filters.ChoiceFilter(choices=Item.Kind.choices, label="Kind", empty_label="any")
    colour = django_filters.ModelChoiceFilter(
        queryset=Colour.objects.all(), to_field_name="code", label="Colour", empty_label="any"
    )
    place = django_filters.ModelChoiceFilter(
        queryset=Location.objects.filter(kind__in=ON_HAND_KINDS),
        to_field_name="code",
        method="at_place",
        label="Lies at",
        empty_label="anywhere",
    )
    only = django_filters.ChoiceFilter(choices=ONLY, method="in_state", label="Only", empty_label="all")

    def by_text(self, rows: QuerySet[Item], name: str, value: str) -> QuerySet[Item]:
        for word in value.split():
            rows = rows.filter(Q(code__icontains=word) | Q(name__icontains=word))
        return rows

    def at_place(self, rows: QuerySet[Item], name: str, value: Location) -> QuerySet[Item]:
        lying = on_hand_balances().filter(location=value, quantity__gt=0)
        return rows.filter(pk__in=lying.values("item"))

    def in_state(self, rows: QuerySet[Item], name: str, value: str) -> QuerySet[Item]:
        wanted = list(WANTING) if value == "to buy" else [value]
        # The condition is worked out by the stock list's own query, not a column.
        return rows.filter(Q(("condition__in", wanted)))


class LedgerTable(Table):
    happened_at = tables.Column(verbose_name="Happened")
    kind = tables.Column(verbose_name="What")
    reason = tables.Column(verbose_name="Remark", default="")
    purpose = tables.Column(verbose_name="For order", default="", order_by="purpose__code")
    by = tables.Column(verbose_name="By", default="", order_by="by__username")
    standing = tables.Column(verbose_name="State", orderable=False, empty_values=())

    class Meta(Table.Meta):
        order_by = "-happened_at"
        empty_text = "Nothing has been posted. Book goods in, or count what lies on the shelves."

    def render_happened_at(self, record: Posting) -> SafeString:
        address = reverse("stores:posting", args=[record.pk])
        return format_html('<a href="{}">{}</a>', address, moment(record.happened_at))

    def order_happened_at(
        self, rows: QuerySet[Posting], is_descending: bool
    ) -> tuple[QuerySet[Posting], bool]:
        """By the movement's own moment where the list was found through movements: both stand in one index."""
        is_by_movement = "moved_at" in rows.query.annotations
        by = (F("moved_at"), F("moved")) if is_by_movement else (F("happened_at"), F("pk"))
        return rows.order_by(*(one.desc() if is_descending else one.asc() for one in by)), True

    def render_standing(self, record: Posting) -> str:
        return "reversed" if hasattr(record, "reversed_by") else ""

    def value_standing(self, record: Posting) -> str:
        return self.render_standing(record)


class LedgerFilter(django_filters.FilterSet):  # type: ignore[misc]
    kind = django_filters.ChoiceFilter(choices=Posting.Kind.choices, label="What", empty_label="anything")
    item = django_filters.CharFilter(method="of_item", label="Item code")
    place = django_filters.CharFilter(method="at_place", label="Place")
    order = django_filters.CharFilter(field_name="purpose__code", lookup_expr="iexact", label="For order")
    since = django_filters.DateFilter(
        method="from_day",
        label="Since",
        widget=django_filters.widgets.forms.DateInput(attrs={"type": "date"}),
    )

    def of_item(self, rows: QuerySet[Posting], name: str, value: str) -> QuerySet[Posting]:
        items = Item.objects.filter(code__iexact=value.strip())
        return _moved(rows, Q(movements__item__in=_numbers(items)))

    def at_place(self, rows: QuerySet[Posting], name: str, value: str) -> QuerySet[Posting]:
        places = Location.objects.filter(code__iexact=value.strip())
        return _moved(rows, Q(movements__location__in=_numbers(places)))

    def from_day(self, rows: QuerySet[Posting], name: str, value: date) -> QuerySet[Posting]:
        return rows.filter(happened_at__gte=timezone.make_aware(datetime.combine(value, time())))


def _numbers(rows: QuerySet[Item] | QuerySet[Location]) -> list[int]:
    """Read beforehand: a database that knows which item is meant reads its movements in their order."""
    return list(rows.order_by().values_list("pk", flat=True))


def _moved(rows: QuerySet[Posting], condition: Q) -> QuerySet[Posting]:
    """Postings with such a movement. The first condition leads, so that a page is read in the movements' order."""
    if "moved_at" in rows.query.annotations:
        return rows.filter(Exists(Posting.objects.filter(condition, pk=OuterRef("pk"))))
    moved = {"moved_at": F("movements__happened_at"), "moved": F("movements__posting_id")}
    return rows.filter(condition).annotate(**moved).distinct()
