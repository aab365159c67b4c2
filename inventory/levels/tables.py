"""Classes, idle stock and proposals as lists, with their filters."""

from __future__ import annotations

from typing import Any

import django_filters
import django_tables2 as tables
from django import forms
from django.db.models import Q, QuerySet
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.items.models import Item
from bom.kernel.tables import Table
from bom.templatetags.workshop import day_text, money, percent, quantity_text
from inventory.levels.models import WEEKS_A_YEAR, ItemClass


def item_link(code: str) -> SafeString:
    return format_html('<a class="code" href="{}">{}</a>', reverse("levels:item", args=[code]), code)


_PHONE = {"class": "list stack"}
"""On a phone each row stands by itself; see the style of `table.stack`."""


def _figure(name: str, *, at_the_desk: bool = False, **kwargs: Any) -> tables.Column:
    """A column of figures, named on a phone, or with `at_the_desk` not shown there."""
    named = {"class": "n desk" if at_the_desk else "n", "data-l": name}
    return tables.Column(verbose_name=name, attrs={"td": named, "th": {"class": "n"}}, **kwargs)


def _words(name: str, *, at_the_desk: bool = False, **kwargs: Any) -> tables.Column:
    """A column of words, likewise."""
    named = {"data-l": name, "class": "desk"} if at_the_desk else {"data-l": name}
    return tables.Column(verbose_name=name, attrs={"td": named}, **kwargs)


class ClassTable(Table):
    rank = _figure("Rank", at_the_desk=True)
    item = tables.Column(verbose_name="Item", order_by="item__code")
    name = tables.Column(accessor="item__name", attrs={"td": {"class": "name"}})
    value_class = _words("Class")
    yearly_value = _figure("Value a year")
    share = _figure("Share so far", at_the_desk=True)
    regularity = _words("Use")
    interval_weeks = _figure("Weeks between", at_the_desk=True)
    spread = _figure("Spread", at_the_desk=True)
    weekly = _figure("A week", accessor="item__level__yearly_use")
    forecast = _words("By", at_the_desk=True, accessor="item__level__method", default="history")
    level = _figure("Level", accessor="item__level__reorder_point")
    # One day for all rows, said at the head of the page; in the workbook it stands beside each.
    computed_on = tables.Column(verbose_name="Computed", visible=False)

    class Meta(Table.Meta):
        attrs = _PHONE
        order_by = "rank"
        empty_text = "No classes yet. Work the levels out: they come from a year of use."

    def render_item(self, record: ItemClass) -> SafeString:
        return item_link(record.item.code)

    def value_item(self, record: ItemClass) -> str:
        return record.item.code

    def render_yearly_value(self, value: Any) -> str:
        return money(value)

    def render_share(self, value: Any) -> str:
        return percent(value, 1)

    def render_interval_weeks(self, value: Any) -> str:
        return f"{value:.2f}" if value else ""

    def render_spread(self, record: ItemClass) -> str:
        return f"{record.spread:.2f}" if record.interval_weeks else ""

    def render_weekly(self, value: Any, record: ItemClass) -> str:
        return f"{quantity_text(round(value / WEEKS_A_YEAR, 2))} {record.item.unit}"

    def value_weekly(self, record: ItemClass) -> Any:
        return record.item.level.weekly_use

    def render_forecast(self, value: str) -> str:
        return value or "history"

    def render_level(self, value: Any) -> str:
        return quantity_text(round(value, 1))


def _groups() -> list[tuple[str, str]]:
    groups = Item.objects.exclude(group="").order_by("group").values_list("group", flat=True).distinct()
    return [(group, group) for group in groups]


class ClassFilter(django_filters.FilterSet):  # type: ignore[misc]
    text = django_filters.CharFilter(method="by_text", label="Code or name")
    group = django_filters.ChoiceFilter(
        field_name="item__group", choices=_groups, label="Group", empty_label="any"
    )
    value_class = django_filters.ChoiceFilter(
        choices=ItemClass.Value.choices, label="Class", empty_label="any"
    )
    regularity = django_filters.ChoiceFilter(
        choices=ItemClass.Regularity.choices, label="Use", empty_label="any"
    )

    def by_text(self, rows: QuerySet[ItemClass], name: str, value: str) -> QuerySet[ItemClass]:
        for word in value.split():
            rows = rows.filter(Q(item__code__icontains=word) | Q(item__name__icontains=word))
        return rows


class IdleTable(Table):
    code = tables.Column(verbose_name="Item")
    name = tables.Column(attrs={"td": {"class": "name"}})
    group = _words("Group", at_the_desk=True, default="")
    on_hand = _figure("On hand")
    unit = _words("Unit", at_the_desk=True)
    unit_cost = _figure("Cost of one", at_the_desk=True)
    value = _figure("Value")
    last_used = _words("Last used", default="never")
    last_moved = _words("Last moved", at_the_desk=True)
    days = _figure("Days idle")
    state = tables.Column(verbose_name="State")

    class Meta(Table.Meta):
        attrs = _PHONE
        empty_text = "Everything on the shelves is used."

    def render_code(self, value: str) -> SafeString:
        return item_link(value)

    def value_code(self, record: Any) -> str:
        return str(record.code)

    def render_on_hand(self, value: Any) -> str:
        return quantity_text(value)

    def render_unit_cost(self, value: Any) -> str:
        return money(value)

    def render_value(self, value: Any) -> str:
        return money(value)

    def render_last_used(self, value: Any) -> str:
        return day_text(value)

    def render_last_moved(self, value: Any) -> str:
        return day_text(value)


class IdleForm(forms.Form):
    """What of the idle stock to show."""

    text = forms.CharField(label="Code or name", required=False)
    state = forms.ChoiceField(
        label="State", required=False, choices=[("", "slow or dead"), ("slow", "slow"), ("dead", "dead")]
    )
