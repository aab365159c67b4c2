"""Options and prices out and in again: equal on the way round, looked at first, every problem with its place."""

import io
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from openpyxl import load_workbook

from bom.catalogue.files import RANGE
from bom.catalogue.models import (
    ModelFinish,
    ModelOption,
    OptionChoice,
    OptionGroup,
    OptionRule,
    TrailerModel,
    Variant,
)
from bom.items.sheets import Done, bring_in_file, look_at_file
from bom.kernel.exporting import workbook_of_sheets
from production.site.roles import MANAGER, sync_roles
from tests.production.site.conftest import signed_in
from tests.production.small_workshop import SmallWorkshop, build

OUT, IN = "/range/out/", "/range/bring-in/"
TABLES = ("models", "groups", "choices", "offers", "finishes", "rules")


@pytest.fixture
def shop(db) -> SmallWorkshop:
    shop = build()
    sync_roles()
    return shop


@pytest.fixture
def manager(shop: SmallWorkshop) -> Client:
    return signed_in(MANAGER)


def everything() -> dict[str, list]:
    """Every row of the range, without its id."""
    return {one.table.name: list(one.rows_out()) for one in RANGE.sheets()}


def as_file(**tables: list) -> bytes:
    """A workbook of these tables, each under its headings."""
    headings = {one.table.name: one.table.headings for one in RANGE.sheets()}
    return workbook_of_sheets((name, headings[name], rows) for name, rows in tables.items())


def looked(content: bytes, file: str = "range.xlsx", *, removing: bool = False) -> Done:
    return look_at_file(RANGE, content=content, file=file, removing=removing)


def said(done: Done) -> str:
    return "\n".join(str(problem) for problem in done.problems)


def test_a_workbook_goes_round_without_a_difference(shop, manager):
    done = looked(manager.get(OUT).content, removing=True)

    assert done.problems == ()
    assert done.changes == []
    assert done.same == sum(len(rows) for rows in everything().values())


@pytest.mark.parametrize("table", TABLES)
def test_each_table_goes_round_as_csv(shop, manager, table):
    content = manager.get(OUT, {"as": "csv", "table": table}).content

    done = looked(content, f"{table}.csv", removing=True)

    assert done.problems == ()
    assert done.changes == []
    assert done.same == len(everything()[table])


def test_the_same_range_stands_again_where_all_options_were_lost(shop, manager):
    OptionRule.objects.create(
        model=shop.model, when="!model.braked", then="true", sentence="=SUM(1) is no rule, 'tis a text"
    )
    ModelOption.objects.filter(choice__code="board").update(price="-12.50")
    content, before = manager.get(OUT).content, everything()
    Variant.objects.all().delete()
    for model in (OptionRule, ModelOption, ModelFinish, OptionChoice, OptionGroup):
        model.objects.all().delete()

    bring_in_file(RANGE, content=content, file="range.xlsx", removing=False)

    assert everything() == before


def test_the_range_of_the_demonstration_goes_round(workshop):
    client = signed_in(MANAGER)

    assert looked(client.get(OUT).content, removing=True).changes == []
    for table in TABLES:
        content = client.get(OUT, {"as": "csv", "table": table}).content
        done = looked(content, "t.csv", removing=True)
        assert (done.problems, done.changes) == ((), [])


def test_what_is_added_changed_and_removed_is_shown_first_and_then_written(shop, manager):
    tables = everything()
    tables["choices"].append(("winch", "petrol", "petrol winch", 9))
    tables["offers"] = [row for row in tables["offers"] if row[2] != "board"]
    tables["offers"].append(("H1", "winch", "petrol", Decimal(700), "no"))
    tables["models"] = [("H1", Decimal("1100.00"), "Heavy one", "yes")]
    content, before = as_file(**tables), everything()

    shown = manager.post(IN, {"file": SimpleUploadedFile("range.xlsx", content), "rest": "off"})
    text = shown.content.decode()

    assert everything() == before, "looking writes nothing"
    assert "2 added, 1 changed, 1 removed" in text
    assert "<s>1000</s> 1100" in text
    assert "H1: lights board" in text
    manager.post(IN, {"digest": shown.context["digest"], "file_name": "range.xlsx", "rest": "off"})
    assert TrailerModel.objects.get(code="H1").base_price == 1100
    assert ModelOption.objects.get(choice__code="petrol").price == 700
    assert not ModelOption.objects.filter(choice__code="board").exists()


def test_rows_that_are_not_in_the_file_stay_unless_asked(shop):
    done = looked(as_file(offers=[("H1", "winch", "manual", 55, "yes")]))

    assert [one.what for one in done.changes] == ["changed"]
    assert done.left == 2


@pytest.mark.parametrize(
    ("tables", "where", "what"),
    [
        (
            {"offers": [("H9", "winch", "manual", 1, "")]},
            "sheet offers, row 2, column A (model)",
            "no model H9",
        ),
        ({"offers": [("H1", "winch", "steam", 1, "")]}, "column C (choice)", "no choice winch steam"),
        ({"offers": [("H1", "winch", "manual", "dear", "")]}, "column D (price)", "“dear” is not a number"),
        ({"offers": [("H1", "winch", "manual", None, "")]}, "column D (price)", "No price is written"),
        ({"offers": [("H1", "winch", "manual", 1, "perhaps")]}, "column E (standard)", "neither yes nor no"),
        ({"offers": [("H1", "winch", "manual", "1.234", "")]}, "column D (price)", "decimal places"),
        (
            {"offers": [("H1", "winch", "manual", 1, ""), ("H1", "winch", "manual", 2, "")]},
            "row 3",
            "stands in row 2 already",
        ),
        (
            {"offers": [("H1", "winch", "manual", 1, "yes"), ("H1", "winch", "electric", 2, "yes")]},
            "row 3, column E (standard)",
            "2 standard choices in winch",
        ),
        ({"models": [("H9", 1, "x", "yes")]}, "column A (model)", "There is no model H9"),
        ({"models": [("H1", -1, "x", "yes")]}, "column B (base_price)", "below zero"),
        ({"groups": [("a b", "x", 1, "yes")]}, "column A (group)", "slug"),
        ({"groups": [("a", "x", 99999, "yes")]}, "column C (sequence)", "Write 0 to 32767"),
        ({"choices": [("sail", "red", "red", 1)]}, "column A (group)", "no group sail"),
        ({"finishes": [("H1", "gilded", 1)]}, "column B (finish)", "no finish gilded"),
        ({"rules": [("option.winch = 'x'", "true", "s", "")]}, "column A (when), line 1, column 14", ""),
        ({"rules": [("option.wynch == 'x'", "true", "s", "")]}, "column A (when), line 1", "no option.wynch"),
        ({"rules": [("true", "", "s", "")]}, "column B (then)", "No condition"),
        ({"rules": [("true", "false", "", "")]}, "column C (sentence)", "blank"),
    ],
)
def test_a_wrong_row_is_told_with_its_place_and_nothing_is_written(shop, tables, where, what):
    before = everything()

    done = looked(as_file(**tables))

    assert where in said(done)
    assert what in said(done)
    assert everything() == before


@pytest.mark.parametrize(
    ("tables", "says"),
    [
        pytest.param(
            {"choices": [("winch", "manual", "hand winch", 0)]}, "models offer it", id="still offered"
        ),
        pytest.param({"groups": []}, "3 choices stand in it", id="headings alone say that all has gone"),
        pytest.param({"groups": [("lights", "Lights", 2, "no")]}, "3 choices stand in it", id="choices left"),
    ],
)
def test_what_is_still_needed_is_not_taken_off(shop, tables, says):
    assert says in said(looked(as_file(**tables), removing=True))


def test_a_choice_of_an_order_or_a_bill_is_not_taken_off(shop):
    shop.draft()
    Variant.objects.all().delete()
    tables = everything()
    tables["choices"] = [row for row in tables["choices"] if row[1] == "air"]
    tables["offers"], tables["rules"] = [], []
    ordered = looked(
        as_file(choices=tables["choices"], offers=[("H1", "winch", "air", 1, "")]), removing=True
    )
    assert "winch manual is not in the file, but 1 order choices need it" in said(ordered)

    choices = [row for row in everything()["choices"] if row[1] != "electric"]
    offers = [row for row in everything()["offers"] if row[2] != "electric"]
    named = looked(as_file(choices=choices, offers=offers), removing=True)
    assert "bill of HT, line 20" in said(named)
    assert "option rule" in said(named)


def test_a_rule_is_known_by_its_sentence_where_its_conditions_change(shop):
    (rule,) = everything()["rules"]
    changed = ("option.winch == 'air'", rule[1], rule[2], rule[3])

    done = looked(as_file(rules=[changed]), removing=True)

    assert [(one.what, [field.name for field in one.fields]) for one in done.changes] == [
        ("changed", ["when"])
    ]


def test_a_sheet_nobody_knows_and_a_formula_are_told(shop):
    content = workbook_of_sheets(
        [
            ("offers", ("model", "group", "choice", "price"), [("H1", "winch", "manual", 1)]),
            ("boats", ("a",), [(1,)]),
        ]
    )
    book = load_workbook(io.BytesIO(as_file(offers=[("H1", "winch", "manual", 1, "")])))
    book["offers"]["D2"] = "=1+1"
    stream = io.BytesIO()
    book.save(stream)

    assert "sheet boats: This is none of the tables" in said(looked(content))
    assert "sheet offers, row 2, column D: A formula" in said(looked(stream.getvalue()))


def test_a_sign_that_is_no_text_is_told_with_its_place(shop):
    done = looked(b"group,name\nnew,a\x00b\n", "groups.csv")

    assert "groups.csv, row 2, column B (name): A sign stands here that is no text" in said(done)


def test_the_page_shows_offers_and_rules_and_only_some_bring_files_in(shop, manager):
    viewer = signed_in("viewer")

    text = viewer.get("/range/").content.decode()

    assert "hand winch" in text
    assert "takes its current from fixed lights" in text
    assert "From a file" not in text
    assert viewer.get(IN).status_code == 403
    assert manager.get(OUT, {"as": "csv", "table": "boats"}).status_code == 404
    assert manager.post(IN).status_code == 409
