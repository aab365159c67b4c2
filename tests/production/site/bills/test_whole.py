"""Whole bills out and in again: equal on the way round, looked at first, drafts only, every problem with its place."""

import csv
import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from bom.items.models import Item
from bom.kernel.exporting import workbook
from bom.structure.models import BillLine, Revision
from production.site.bills.whole import HEADINGS, bring_in_bills, look_at_bills
from production.site.roles import MANAGER
from tests.production.site.conftest import signed_in
from tests.production.small_workshop import SmallWorkshop

WHOLE, BRING_IN = "/bills/whole/", "/bills/bring-in/"


@pytest.fixture
def manager(shop: SmallWorkshop) -> Client:
    return signed_in(MANAGER)


def out(client: Client, layout: str, kind: str) -> tuple[bytes, str]:
    answer = client.get(WHOLE, {"layout": layout, "as": kind})
    return answer.content, f"bills.{kind}"


def lines() -> list[tuple]:
    names = ("revision__item__code", "position", "component__code", "family__code", "quantity", "condition")
    return sorted(BillLine.objects.values_list(*names, "colour_of", "hand_of", "note"), key=repr)


@pytest.mark.parametrize("layout", ["parents", "levels"])
@pytest.mark.parametrize("kind", ["xlsx", "csv"])
def test_what_goes_out_comes_in_without_a_difference(shop, manager, layout, kind):
    content, file = out(manager, layout, kind)

    looked = look_at_bills(content=content, file=file)

    assert looked.problems == []
    assert {one.item.code for one in looked.changes} == set(
        BillLine.objects.values_list("revision__item__code", flat=True)
    )
    assert looked.differing == []


@pytest.mark.parametrize("layout", ["parents", "levels"])
def test_the_same_lines_stand_again_where_all_bills_were_lost(shop, manager, layout):
    content, file = out(manager, layout, "xlsx")
    before = lines()
    BillLine.objects.all().delete()
    Revision.objects.all().delete()

    bring_in_bills(content=content, file=file, by=shop.user)

    assert lines() == before
    assert not Revision.objects.exclude(state="draft").exists()


def test_every_bill_of_the_demonstration_goes_round(workshop):
    client = signed_in(MANAGER)
    for layout in ("parents", "levels"):
        content, file = out(client, layout, "csv")
        looked = look_at_bills(content=content, file=file)
        assert looked.problems == []
        assert looked.differing == []
        assert len(looked.changes) > 200


def edited(content: bytes, change) -> bytes:
    """The workbook with its rows changed, as somebody does in a spreadsheet."""
    rows = [list(row) for row in load_workbook(io.BytesIO(content)).active.iter_rows(values_only=True)]
    head, body = rows[0], rows[1:]
    return workbook("bills", head, change(body))


def upload(client: Client, content: bytes, name: str = "bills.xlsx"):
    return client.post(BRING_IN, {"file": SimpleUploadedFile(name, content)})


def test_a_change_is_shown_first_and_then_written_as_a_draft_beside_the_released_one(shop, manager):
    def change(rows):
        of = [row for row in rows if row[0] == "CH"]
        of[0][HEADINGS["parents"].index("quantity")] = 3
        extra = ["CH", 90, "BOX", "1", "option.winch == 'electric'", *[None] * 7]
        return [*(row for row in rows if row is not of[1]), extra]

    content = edited(out(manager, "parents", "xlsx")[0], change)
    before = lines()

    shown = upload(manager, content)
    text = shown.content.decode()
    assert "1 of" in text
    assert ">CH</a>" in text
    assert lines() == before, "looking writes nothing"

    manager.post(BRING_IN, {"digest": shown.context["digest"], "file_name": "bills.xlsx"})
    draft = Revision.objects.get(item__code="CH", state="draft")
    assert list(draft.lines.values_list("component__code", "quantity", "condition")) == [
        ("BM", "3", ""),
        ("BOX", "1", "option.winch == 'electric'"),
    ]
    assert draft.operations.count() == 2
    assert [line for line in before if line not in lines()] == []


@pytest.mark.parametrize(
    ("row", "where", "what"),
    [
        (["CH", 70, "NOTHING", "1"], "row 2, column C (part)", "no item and no family NOTHING"),
        (["BOX", 70, "PL", "1"], "row 2", "BOX is not made here"),
        (["NOBODY", 70, "PL", "1"], "row 2", "NOBODY is no made item"),
        (["CH", 70, "PL", "2 *"], "line 70, quantity", ""),
        (["CH", 70, "PL", "1", "option.sail == 'red'"], "line 70, condition", "sail"),
        (["CH", "first", "PL", "1"], "position", "is not a number"),
        (["CH", 70, "HT", "1"], "CH", "would contain itself"),
    ],
)
def test_a_wrong_line_is_told_with_its_place_and_nothing_is_written(shop, manager, row, where, what):
    content = workbook("bills", HEADINGS["parents"], [row])

    looked = look_at_bills(content=content, file="bills.xlsx")

    said = " ".join(f"{one.where}: {one.what}" for one in looked.problems)
    assert where in said
    assert what in said
    assert not Revision.objects.filter(state="draft").exists()


def test_levels_that_jump_are_told(shop, manager):
    content = workbook("bills", HEADINGS["levels"], [[0, None, "HT"], [2, 10, "PL", "1"]])

    (problem,) = look_at_bills(content=content, file="bills.xlsx").problems
    assert problem.where == "bills.xlsx, row 3, column A (level)"


def test_a_file_without_parents_or_levels_and_one_that_is_no_text_are_told(shop, manager):
    bare = look_at_bills(content=b"part,quantity\nPL,1\n", file="b.csv").problems[0]
    broken = look_at_bills(content=b"\xff\xfe\x00", file="b.csv").problems[0]

    assert "column of parents or a column of levels" in bare.what
    assert "not a CSV file" in broken.what


def test_semicolons_are_read_as_well(shop, manager):
    content, _ = out(manager, "parents", "csv")
    rows = list(csv.reader(io.StringIO(content.decode("utf-8-sig"))))
    text = io.StringIO()
    csv.writer(text, delimiter=";").writerows(rows)

    looked = look_at_bills(content=text.getvalue().encode(), file="bills.csv")
    assert looked.problems == []
    assert looked.differing == []


def test_only_who_may_open_a_revision_brings_bills_in(shop, viewer):
    assert viewer.get(WHOLE).status_code == 200
    assert viewer.get(reverse("bills:bring_in")).status_code == 403
    assert Item.objects.exists()
