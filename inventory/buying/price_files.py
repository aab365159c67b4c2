"""Suppliers' prices as tables: what each sells at which price, and his price breaks. Out and in again without loss
(see `bom.items.sheets`)."""

from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.db.models import Count

from bom.items.models import Item
from bom.items.sheets import Desk, Key, Sheet, amount, named, small, written
from bom.items.uploads import day, number, text, yes_no
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.workbooks import Row, Table
from inventory.buying.models import Supplier, SupplierItem, SupplierPrice


class SoldSheet(Sheet[SupplierItem]):
    """Supplier and item with the price of one stock unit, pack and lead time in working days."""

    table = Table("prices", ("supplier", "item", "price"), ("pack", "lead_days", "preferred", "their_code"))

    @cached_property
    def suppliers(self) -> dict[str, Supplier]:
        return {one.code: one for one in Supplier.objects.all()}

    @cached_property
    def items(self) -> dict[str, Item]:
        return {one.code: one for one in Item.objects.only("code", "kind")}

    def standing(self) -> dict[Key, SupplierItem]:
        rows = SupplierItem.objects.select_related("supplier", "item").order_by(
            "supplier__code", "item__code"
        )
        return {(one.supplier.code, one.item.code): one for one in rows}

    def read(self, row: Row) -> tuple[Key, dict[str, Any]]:
        supplier = named(row, "supplier", text(row, "supplier"), self.suppliers)
        item = named(row, "item", text(row, "item"), self.items)
        values: dict[str, Any] = {"price": amount(row, "price")}
        if "pack" in row.letters:
            values["pack"] = _above_nothing(row, "pack") if row.values.get("pack") is not None else Decimal(1)
        if "lead_days" in row.letters and row.values.get("lead_days") is not None:
            values["lead_days"] = small(row, "lead_days")
        if "preferred" in row.letters:
            values["is_preferred"] = yes_no(row, "preferred")
        if "their_code" in row.letters:
            values["their_code"] = text(row, "their_code")
        return (supplier.code, item.code), values

    def new(self, key: Key) -> SupplierItem:
        """One without a lead time of its own has its supplier's."""
        supplier = self.suppliers[key[0]]
        return SupplierItem(supplier=supplier, item=self.items[key[1]], lead_days=supplier.lead_days)

    def words(self, key: Key) -> str:
        return f"{key[1]} from {key[0]}"

    def cells(self, one: SupplierItem) -> tuple[Any, ...]:
        preferred = written(one.is_preferred)
        return (
            one.supplier.code,
            one.item.code,
            one.price,
            one.pack,
            one.lead_days,
            preferred,
            one.their_code,
        )

    def needed_by(self, gone: Sequence[SupplierItem]) -> Iterator[tuple[SupplierItem, str]]:
        held: Counter[int] = Counter(
            dict(
                SupplierPrice.objects.filter(sold__in=gone)
                .order_by()
                .values_list("sold")
                .annotate(all=Count("pk"))
            )
        )
        return ((one, f"{held[one.pk]} price breaks rest on it") for one in gone if held[one.pk])


class BreakSheet(Sheet[SupplierPrice]):
    """Price breaks: from which quantity on, from which day to which."""

    table = Table("breaks", ("supplier", "item", "from_quantity", "price", "valid_from"), ("valid_until",))

    @cached_property
    def sold(self) -> dict[tuple[str, str], SupplierItem]:
        rows = SupplierItem.objects.select_related("supplier", "item")
        return {(one.supplier.code, one.item.code): one for one in rows}

    def standing(self) -> dict[Key, SupplierPrice]:
        rows = SupplierPrice.objects.select_related("sold__supplier", "sold__item").order_by(
            "sold__supplier__code", "sold__item__code", "from_quantity", "valid_from"
        )
        return {
            (one.sold.supplier.code, one.sold.item.code, one.from_quantity, one.valid_from): one
            for one in rows
        }

    def read(self, row: Row) -> tuple[Key, dict[str, Any]]:
        pair = (text(row, "supplier"), text(row, "item"))
        if pair not in self.sold:
            raise ProblemError(
                Problem(
                    f"{pair[0] or 'Nobody'} does not sell {pair[1] or 'it'}",
                    row.where("item"),
                    "Write its price into the table of prices first.",
                )
            )
        begins = day(row, "valid_from")
        if begins is None:
            raise ProblemError(
                Problem("No first day is written", row.where("valid_from"), "Write it as 2026-05-28.")
            )
        values: dict[str, Any] = {"price": amount(row, "price")}
        if "valid_until" in row.letters:
            values["valid_until"] = ends = day(row, "valid_until")
            if ends is not None and ends < begins:
                raise ProblemError(
                    Problem(
                        "The last day lies before the first", row.where("valid_until"), "Correct one of them."
                    )
                )
        return (*pair, _above_nothing(row, "from_quantity"), begins), values

    def new(self, key: Key) -> SupplierPrice:
        return SupplierPrice(sold=self.sold[key[0], key[1]], from_quantity=key[2], valid_from=key[3])

    def words(self, key: Key) -> str:
        return f"{key[1]} from {key[0]}, {written(key[2])} or more from {key[3]}"

    def cells(self, one: SupplierPrice) -> tuple[Any, ...]:
        sold = one.sold
        return (
            sold.supplier.code,
            sold.item.code,
            one.from_quantity,
            one.price,
            one.valid_from,
            one.valid_until,
        )


def _above_nothing(row: Row, column: str) -> Decimal:
    found = number(row, column)
    if found is None or found <= 0:
        raise ProblemError(Problem("It must be above zero", row.where(column), "Write a number such as 10."))
    return found


PRICES = Desk(name="supplier-prices", sheets=lambda: (SoldSheet(), BreakSheet()))
