"""The list of what stock is worth on a day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.db.models import Q
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.items.models import Item
from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import money, quantity_text
from inventory.stock.cost_models import CostMethod
from inventory.stock.costs import NOTHING
from inventory.stock.models import Location
from inventory.stock.valuing import Worth, stock_worth

SHELF, WORK, OUTSIDE = (
    str(kind) for kind in (Location.Kind.SHELF, Location.Kind.WORK, Location.Kind.OUTSIDE)
)


@dataclass(frozen=True)
class ValueRow:
    """One item of the list; money is rounded to the penny, and the three places add up to the value."""

    code: str
    name: str
    group: str
    unit: str
    quantity: Decimal
    unit_cost: Decimal
    shelf: Decimal
    work: Decimal
    outside: Decimal
    value: Decimal
    owed: Decimal
    method: str
    basis: str
    on: date | None


@dataclass(frozen=True)
class Totals:
    """Sums of the rows' money; each row was rounded once, so the sums are exact."""

    value: Decimal
    shelf: Decimal
    work: Decimal
    outside: Decimal
    items: int
    without_value: int
    owed: int


def value_rows(*, on: date | None, text: str = "", group: str = "", kind: str = "") -> list[ValueRow]:
    """What every item that is there on the day is worth, by code."""
    items = Item.objects.order_by("code")
    for word in text.split():
        items = items.filter(Q(code__icontains=word) | Q(name__icontains=word))
    if group:
        items = items.filter(group=group)
    worths = stock_worth(None, on)
    rows = (
        _row(item, worths[item.pk], on)
        for item in items.only("code", "name", "group", "unit")
        if item.pk in worths
    )
    return [row for row in rows if _is_there(row, kind)]


def totals(rows: Iterable[ValueRow]) -> Totals:
    listed = list(rows)
    return Totals(
        value=sum((row.value for row in listed), NOTHING),
        shelf=sum((row.shelf for row in listed), NOTHING),
        work=sum((row.work for row in listed), NOTHING),
        outside=sum((row.outside for row in listed), NOTHING),
        items=len(listed),
        without_value=sum(1 for row in listed if row.quantity and not row.value),
        owed=sum(1 for row in listed if row.owed),
    )


def _row(item: Item, worth: Worth, on: date | None) -> ValueRow:
    return ValueRow(
        code=item.code,
        name=item.name,
        group=item.group,
        unit=item.unit,
        quantity=worth.quantity,
        unit_cost=worth.unit_cost.cost,
        shelf=worth.values.get(SHELF, NOTHING),
        work=worth.values.get(WORK, NOTHING),
        outside=worth.values.get(OUTSIDE, NOTHING),
        value=worth.money,
        owed=worth.owed,
        method=CostMethod.Method(worth.method).label,
        basis=worth.unit_cost.basis,
        on=on,
    )


def _is_there(row: ValueRow, kind: str) -> bool:
    return bool(getattr(row, kind)) if kind else bool(row.quantity or row.owed)


class ValueTable(Table):
    code = tables.Column(verbose_name="Item")
    name = tables.Column(attrs={"td": {"class": "words"}})
    quantity = number_column(verbose_name="Quantity")
    unit = tables.Column(verbose_name="Unit")
    unit_cost = number_column(verbose_name="Worth of one")
    value = number_column(verbose_name="Value")
    shelf = number_column(verbose_name="On shelves")
    work = number_column(verbose_name="In work")
    outside = number_column(verbose_name="Away")
    group = tables.Column(verbose_name="Group", default="")
    method = tables.Column(verbose_name="Valued by")

    class Meta(Table.Meta):
        order_by = "code"
        empty_text = "Nothing was there on that day. Choose a later one, or show all."

    def render_code(self, value: str, record: ValueRow) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', _working(record), value)

    def render_quantity(self, value: Decimal, record: ValueRow) -> SafeString | str:
        if record.owed:
            return format_html(
                "{} <small>{} used before they came</small>", quantity_text(value), record.owed
            )
        return quantity_text(value)

    def render_unit_cost(self, value: Decimal) -> str:
        return money(value.quantize(Decimal("0.0001"))) if value < Decimal("0.1") else money(value)

    def render_value(self, value: Decimal, record: ValueRow) -> SafeString:
        return format_html('<a href="{}">{}</a>', _working(record), money(value))

    def render_shelf(self, value: Any) -> str:
        return money(value) if value else ""

    def render_work(self, value: Any) -> str:
        return money(value) if value else ""

    def render_outside(self, value: Any) -> str:
        return money(value) if value else ""


def _working(row: ValueRow) -> str:
    day = f"?on={row.on:%Y-%m-%d}" if row.on else ""
    return reverse("stores:item_value", args=[row.code]) + day
