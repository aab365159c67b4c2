"""Orders come in from a workbook as drafts, whole or not at all."""

import io
from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from openpyxl import Workbook, load_workbook

from bom.kernel.errors import ProblemError
from production.orders.models import Order
from production.orders.queries import answers_of
from production.site.orders.importing import COLUMNS, OPTIONAL, bring_in_orders, check_orders

HEADER = (*COLUMNS, "finish", "options", "colour_port", "note")
GOOD = (
    "C1",
    "H1",
    "Skiff",
    280,
    4700,
    1800,
    4400,
    date(2027, 5, 28),
    "galvanised",
    "winch=electric",
    "red",
    "first",
)


def workbook(*rows: tuple[object, ...], header: tuple[str, ...] = HEADER) -> bytes:
    book = Workbook()
    book.active.append(header)
    for row in rows:
        book.active.append(row)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def row(**changes: object) -> tuple[object, ...]:
    return tuple({**dict(zip(HEADER, GOOD, strict=True)), "note": "second", **changes}.values())


def test_every_row_becomes_a_draft_with_its_choices(shop):
    orders = bring_in_orders(content=workbook(GOOD, row(options=None)), file="orders.xlsx", by=shop.user)

    first, second = (answers_of(orders)[order.pk] for order in orders)
    assert first.choices == {"winch": "electric"}
    assert first.colours == {"port": "red"}
    assert second.choices == {"winch": "manual"}
    assert [order.state for order in orders] == ["draft", "draft"]
    assert orders[0].asked_for == date(2027, 5, 28)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        pytest.param(
            {"customer": "C9"}, "column A (customer): There is no customer C9. There are: C1.", id="customer"
        ),
        pytest.param(
            {"customer": None}, "column A (customer): The customer is not filled in", id="no customer"
        ),
        pytest.param({"model": "H9"}, "column B (model): There is no model H9", id="model"),
        pytest.param(
            {"hull_mass_kg": "heavy"}, "column D (hull_mass_kg): “heavy” is not a number", id="text"
        ),
        pytest.param({"hull_mass_kg": -5}, "column D (hull_mass_kg)", id="negative"),
        pytest.param({"asked_for": "soon"}, "column H (asked_for): “soon” is not a date", id="not a date"),
        pytest.param({"asked_for": None}, "column H (asked_for): No date is asked for", id="no date"),
        pytest.param({"finish": "gold"}, "column I (finish): “gold” is not a finish", id="unknown finish"),
        pytest.param(
            {"finish": "painted"}, "column I (finish): Model H1 is not made in the finish", id="finish"
        ),
        pytest.param({"options": "winch"}, "column J (options): “winch” is not a choice", id="half a choice"),
        pytest.param(
            {"options": "winch=air"}, "column J (options): Model H1 does not offer Winch", id="not offered"
        ),
        pytest.param(
            {"options": "winch=electric; lights=board"},
            "takes its current from fixed lights",
            id="impossible together",
        ),
        pytest.param({"colour_port": "pink"}, "column K (colour_port): There is no colour pink", id="colour"),
        pytest.param(
            {"hull_length_mm": 9000}, "column E (hull_length_mm): The hull is 9000 mm long", id="too long"
        ),
        pytest.param({"note": "first"}, "Row 3 is the same as row 2", id="the same row twice"),
    ],
)
def test_a_wrong_row_is_told_with_its_place_and_nothing_is_written(shop, changes, sentence):
    content = workbook(GOOD, row(**changes))

    problems = [str(problem) for problem in check_orders(content, file="orders.xlsx").problems]

    assert any(sentence in one and "row 3" in one for one in problems), problems
    with pytest.raises(ProblemError):
        bring_in_orders(content=content, file="orders.xlsx", by=shop.user)
    assert not Order.objects.exists()


def test_a_missing_heading_and_a_broken_file_are_refused_in_words(shop):
    missing = check_orders(workbook(GOOD[1:], header=HEADER[1:]), file="orders.xlsx").problems
    broken = check_orders(b"PK broken", file="orders.xlsx").problems

    assert "'customer' is missing" in missing[0].what
    assert "not a workbook" in broken[0].what


def test_the_office_looks_first_and_brings_in_second(shop, office):
    file = SimpleUploadedFile("orders.xlsx", workbook(GOOD))
    looked = office.post(reverse("orders:import"), {"file": file})
    assert not Order.objects.exists()

    office.post(reverse("orders:import"), {"digest": looked.context["digest"], "file_name": "orders.xlsx"})
    again = office.post(reverse("orders:import"), {"digest": looked.context["digest"]})

    assert Order.objects.count() == 1
    assert again.status_code == 409


def test_a_viewer_may_not_bring_orders_in(shop, viewer):
    assert viewer.get(reverse("orders:import")).status_code == 403


def test_the_empty_form_has_every_heading(shop, office):
    content = office.get(reverse("orders:import_form")).content

    header = [cell.value for cell in load_workbook(io.BytesIO(content)).active[1]]
    assert header == [*COLUMNS, *OPTIONAL]
