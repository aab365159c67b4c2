"""Items come in from a workbook whole or not at all, and every problem has its row and column."""

import io
from datetime import date
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from openpyxl import Workbook, load_workbook

from bom.items.importing import COLUMNS, OPTIONAL, bring_in_items, check_items
from bom.items.models import Colour, Family, Item
from bom.kernel.errors import ProblemError
from bom.people.models import User

pytestmark = pytest.mark.django_db


def workbook(
    *rows: tuple[object, ...], header: tuple[str, ...] = (*COLUMNS, "mass_kg", "lead_days")
) -> bytes:
    book = Workbook()
    sheet = book.active
    sheet.append(header)
    for row in rows:
        sheet.append(row)
    return saved(book)


def saved(book: Workbook) -> bytes:
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


GOOD = ("RO-1", "Roller", "bought", "pc", 0.85, 10)


def said(content: bytes) -> list[str]:
    return [str(problem) for problem in check_items(content, file="items.xlsx").problems]


def test_new_items_are_added_and_known_ones_changed():
    Item.objects.create(code="RO-2", name="Old name", kind="bought", grade="kept")
    content = workbook(
        GOOD, ("RO-2", "New name", "bought", "piece", 1, None), ("RO-3", "Bolt", "bought", "pc", 0, 0)
    )

    checked = bring_in_items(content=content, file="items.xlsx", by=None)

    assert ([item.code for item in checked.new], checked.changed[0][1]) == (
        ["RO-1", "RO-3"],
        ("name", "mass_kg"),
    )
    assert Item.objects.get(code="RO-1").mass_kg == Decimal("0.85")
    changed = Item.objects.get(code="RO-2")
    assert (changed.name, changed.mass_kg, changed.grade) == ("New name", 1, "kept")


def test_bringing_the_same_file_in_again_changes_nothing():
    bring_in_items(content=workbook(GOOD), file="items.xlsx", by=None)

    checked = bring_in_items(content=workbook(GOOD), file="items.xlsx", by=None)

    assert (len(checked.new), len(checked.changed), checked.same) == (0, 0, 1)


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        pytest.param(
            ("A", "A", "bought", "pc", "heavy", 1),
            "items.xlsx, row 3, column E (mass_kg): “heavy” is not a number here. Write a number such as 12.5.",
            id="text for a number",
        ),
        pytest.param(
            ("A", "A", "bought", "pc", True, 1), "column E (mass_kg): “True” is not a number", id="yes or no"
        ),
        pytest.param(
            ("A", "A", "bought", "pc", date(2026, 1, 1), 1),
            "column E (mass_kg): “2026-01-01",
            id="date for a number",
        ),
        pytest.param(
            ("A", "A", "bought", "pc", 1, 2.5),
            "column F (lead_days): “2.5” is not a number here",
            id="half a day",
        ),
        pytest.param(
            ("A", "A", "gift", "pc", 1, 1), "column C (kind): “gift” is not a kind", id="unknown choice"
        ),
        pytest.param(
            ("A", "A", None, "pc", 1, 1), "column C (kind): The kind is not filled in", id="empty choice"
        ),
        pytest.param((None, "A", "bought", "pc", 1, 1), "column A (code)", id="no code"),
        pytest.param(("RO-1", "A", "bought", "pc", 1, 1), "RO-1 stands in row 2 already", id="code twice"),
        pytest.param(("A", "A", "bought", "pc", -4, 1), "cannot be negative", id="negative mass"),
        pytest.param(
            ("A", "A", "raw sheet", "pc", 4, 1), "A raw sheet needs a grade", id="sheet without size"
        ),
        pytest.param(("X" * 41, "A", "bought", "pc", 4, 1), "column A (code)", id="code too long"),
    ],
)
def test_a_wrong_row_is_told_with_its_place_and_keeps_the_good_ones_out_too(row, sentence):
    content = workbook(GOOD, row)

    assert any(sentence in one for one in said(content))
    assert all("row 3" in one or "row 2" in one for one in said(content))
    with pytest.raises(ProblemError):
        bring_in_items(content=content, file="items.xlsx", by=None)
    assert not Item.objects.exists()


def test_unknown_families_and_colours_are_named_with_those_there_are():
    Colour.objects.create(code="red", name="Red", swatch="#aa0000")
    content = workbook(
        ("RO-1", "Roller", "bought", "pc", "RO", "pink"), header=(*COLUMNS, "family", "colour")
    )

    problems = said(content)

    assert "There is no family RO. There are: none yet." in problems[0]
    assert "There is no colour pink. There are: red." in problems[1]


def test_two_items_of_one_file_cannot_take_the_same_place_in_a_family():
    Family.objects.create(code="RO", name="Roller")
    content = workbook(
        ("RO-1", "Roller", "bought", "pc", "RO"),
        ("RO-2", "Roller", "bought", "pc", "RO"),
        header=(*COLUMNS, "family"),
    )

    (problem,) = said(content)

    assert "row 3" in problem
    assert "RO-2 has the same family, colour and hand as RO-1" in problem


def test_a_missing_and_an_unknown_heading_are_both_told():
    problems = said(workbook(("RO-1", "Roller", "pc", 1), header=("code", "name", "unit", "wieght")))

    assert any("'kind' is missing" in one for one in problems)
    assert any("'wieght' is not known" in one for one in problems)


def test_formulas_and_merged_cells_are_refused_with_their_place():
    book = load_workbook(io.BytesIO(workbook(GOOD, ("RO-2", "Roller", "bought", "pc", "=1+1", 1))))
    book.active.merge_cells("A5:B5")

    problems = said(saved(book))

    assert any("items.xlsx, row 3, column E: A formula stands here" in one for one in problems)
    assert any("The cells A5:B5 are merged" in one for one in problems)


def test_empty_rows_between_are_skipped_and_numbers_stay_those_of_the_sheet():
    content = workbook(GOOD, (None,) * 6, ("RO-2", "Roller", "gift", "pc", 1, 1))

    (problem,) = said(content)

    assert "row 4" in problem


@pytest.mark.parametrize(
    "content", [b"", b"not a workbook", b"PK\x03\x04 broken"], ids=["empty", "text", "broken"]
)
def test_a_file_that_is_no_workbook_is_refused_in_words(content):
    (problem,) = said(content)

    assert "not a workbook that can be read" in problem


def test_a_workbook_without_rows_is_refused():
    (problem,) = said(workbook())

    assert "There is no item in it" in problem


@pytest.fixture
def stores() -> Client:
    user = User.objects.create_user("stores", password="stores")
    user.user_permissions.add(Permission.objects.get(codename="import_item"))
    client = Client()
    client.force_login(user)
    return client


def upload(client: Client, content: bytes):
    return client.post(reverse("items:import"), {"file": SimpleUploadedFile("items.xlsx", content)})


def test_a_workbook_is_looked_at_first_and_brought_in_second(stores):
    looked = upload(stores, workbook(GOOD))
    assert looked.status_code == 200
    assert not Item.objects.exists()

    stores.post(reverse("items:import"), {"digest": looked.context["digest"], "file_name": "items.xlsx"})

    assert Item.objects.get().code == "RO-1"


def test_what_is_wrong_is_shown_and_there_is_nothing_to_bring_in(stores):
    looked = upload(stores, workbook(("A", "A", "gift", "pc", 1, 1)))

    assert looked.status_code == 422
    assert "row 2, column C (kind)" in looked.content.decode()
    assert "Bring in</button>" not in looked.content.decode()


@pytest.mark.parametrize("digest", ["0" * 64, "../../secret", "zz"])
def test_a_file_that_is_not_kept_is_asked_for_again(stores, digest):
    answer = stores.post(reverse("items:import"), {"digest": digest})

    assert answer.status_code == 409
    assert "no longer kept" in answer.content.decode()


def test_the_empty_form_has_every_heading(stores):
    response = stores.get(reverse("items:import_form"))

    header = [cell.value for cell in load_workbook(io.BytesIO(response.content)).active[1]]
    assert header == [*COLUMNS, *OPTIONAL]


def test_an_export_can_be_brought_back_in_unchanged(stores):
    bring_in_items(content=workbook(GOOD), file="items.xlsx", by=None)
    exported = stores.get(reverse("items:items"), {"as": "xlsx"}).content

    checked = check_items(exported, file="items.xlsx")

    assert (checked.problems, checked.same) == ([], 1)


@pytest.mark.parametrize("count", [3, 30])
def test_the_list_asks_few_questions_however_many_items(stores, count):
    Item.objects.bulk_create(Item(code=f"I-{number}", name="Item", kind="bought") for number in range(count))

    with CaptureQueriesContext(connection) as queries:
        stores.get(reverse("items:items"))

    assert len(queries) <= 20


@pytest.mark.parametrize("kind", ["xlsx", "csv"])
def test_what_goes_out_comes_in_without_a_difference(kind):
    family, colour = (
        Family.objects.create(code="RO", name="Roller"),
        Colour.objects.create(code="red", name="Red"),
    )
    Item.objects.create(
        code="007",
        name="=a bolt",
        kind="bought",
        family=family,
        colour=colour,
        standard_cost="1.2345",
        is_active=False,
    )
    Item.objects.create(
        code="BM", name="Beam", kind="made", is_hollow=True, length_mm="1500.5", mass_kg="9.1"
    )
    client = Client()
    client.force_login(User.objects.create_superuser("boss", password="desk"))
    before = list(Item.objects.order_by("code").values())
    content = client.get(reverse("items:out"), {"as": kind}).content

    checked = check_items(content, file=f"items.{kind}")
    assert (checked.problems, checked.new, checked.changed, checked.same) == ([], [], [], 2)

    Item.objects.all().delete()
    bring_in_items(content=content, file=f"items.{kind}", by=None)
    after = list(Item.objects.order_by("code").values())
    assert [{**row, "id": 0} for row in after] == [{**row, "id": 0} for row in before]
