"""Suppliers' prices out and in again."""

from datetime import date
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from bom.items.models import Item
from bom.items.sheets import bring_in_file, look_at_file
from bom.kernel.exporting import workbook_of_sheets
from inventory.buying.models import Supplier, SupplierItem, SupplierPrice
from inventory.buying.price_files import PRICES
from production.site.roles import MANAGER, sync_roles
from tests.production.site.conftest import signed_in

OUT, IN = "/buying/prices/out/", "/buying/prices/bring-in/"
pytestmark = pytest.mark.django_db


@pytest.fixture
def sold() -> SupplierItem:
    supplier = Supplier.objects.create(code="ROLL", name="Rollers and Co", lead_days=7)
    item = Item.objects.create(code="RO-1", name="Roller", kind="bought")
    Item.objects.create(code="007", name="A code of digits", kind="bought")
    found = SupplierItem.objects.create(
        supplier=supplier, item=item, price=Decimal("4.1250"), pack=10, lead_days=5, their_code="=R1"
    )
    SupplierPrice.objects.create(
        sold=found, from_quantity=100, price=Decimal("3.9"), valid_from=date(2026, 1, 1)
    )
    return found


def everything() -> dict[str, list]:
    return {one.table.name: list(one.rows_out()) for one in PRICES.sheets()}


def as_file(**tables: list) -> bytes:
    headings = {one.table.name: one.table.headings for one in PRICES.sheets()}
    return workbook_of_sheets((name, headings[name], rows) for name, rows in tables.items())


def looked(content: bytes, file: str = "p.xlsx", *, removing: bool = False):
    return look_at_file(PRICES, content=content, file=file, removing=removing)


def test_prices_and_breaks_go_round_without_a_difference(sold):
    sync_roles()
    client = signed_in(MANAGER)

    files = [(client.get(OUT).content, "p.xlsx")]
    files += [(client.get(OUT, {"as": "csv", "table": name}).content, "p.csv") for name in everything()]

    for content, file in files:
        done = looked(content, file, removing=True)
        assert (done.problems, done.changes) == ((), [])


def test_the_same_prices_stand_again_where_all_were_lost(sold):
    before, content = everything(), as_file(**everything())
    SupplierItem.objects.all().delete()

    bring_in_file(PRICES, content=content, file="p.xlsx", removing=False)

    assert everything() == before


def test_a_new_price_is_shown_and_written_with_the_suppliers_lead_time(sold):
    sync_roles()
    client = signed_in(MANAGER)
    content = as_file(
        prices=[("ROLL", "007", "9.5", None, None, "yes", ""), ("ROLL", "RO-1", 5, 10, 5, "yes", "=R1")]
    )

    shown = client.post(IN, {"file": SimpleUploadedFile("p.xlsx", content)})
    assert "1 added, 1 changed, 0 removed" in shown.content.decode()
    assert SupplierItem.objects.count() == 1
    client.post(IN, {"digest": shown.context["digest"], "file_name": "p.xlsx"})

    new = SupplierItem.objects.get(item__code="007")
    assert (new.price, new.pack, new.lead_days) == (Decimal("9.5"), 1, 7)
    assert SupplierItem.objects.get(item__code="RO-1").price == 5


@pytest.mark.parametrize(
    ("tables", "where", "what"),
    [
        ({"prices": [("NOBODY", "RO-1", 1)]}, "column A (supplier)", "There is no supplier NOBODY"),
        ({"prices": [("ROLL", "RO-9", 1)]}, "column B (item)", "There is no item RO-9"),
        ({"prices": [("ROLL", "RO-1", -1)]}, "column C (price)", "below zero"),
        ({"prices": [("ROLL", "RO-1", 1, 0)]}, "column D (pack)", "above zero"),
        ({"prices": [("ROLL", "RO-1", 1, 1, 1e300)]}, "column E (lead_days)", "Write 0 to"),
        ({"breaks": [("ROLL", "007", 1, 1, date(2026, 1, 1))]}, "column B (item)", "does not sell 007"),
        ({"breaks": [("ROLL", "RO-1", 1, 1, None)]}, "column E (valid_from)", "No first day"),
        ({"breaks": [("ROLL", "RO-1", 1, 1, "soon")]}, "column E (valid_from)", "is not a date"),
        (
            {"breaks": [("ROLL", "RO-1", 1, 1, date(2026, 2, 1), date(2026, 1, 1))]},
            "column F (valid_until)",
            "before the first",
        ),
    ],
)
def test_a_wrong_row_is_told_with_its_place(sold, tables, where, what):
    before = everything()

    done = looked(as_file(**tables))

    text = "\n".join(str(problem) for problem in done.problems)
    assert where in text
    assert what in text
    assert everything() == before


def test_a_price_with_breaks_is_not_taken_off_alone(sold):
    Item.objects.create(code="RO-2", name="Roller", kind="bought")
    done = looked(as_file(prices=[("ROLL", "RO-2", 1)]), removing=True)

    assert "RO-1 from ROLL is not in the file, but 1 price breaks rest on it" in str(done.problems[0])
