"""A nest on paper and as a list: read again, they name every part where it lies."""

import io
import re
import xml.etree.ElementTree as ElementTree
import zlib

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from production.cutting.marking import Marking
from production.cutting.nest_paper import svg_of
from production.cutting.queries import drawing_of, part_rows, placements_of
from tests.production.floor import cut_batch, floor_shop, released

pytestmark = pytest.mark.django_db

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def batch(client):
    shop = floor_shop()
    client.force_login(shop.user)
    return cut_batch(shop, [released(shop)], sheets=2)


def pages(pdf):
    """How many pages a PDF has, its objects read through their packing."""
    assert pdf.startswith(b"%PDF")
    text = pdf
    for packed in re.findall(rb"stream\r?\n(.*?)endstream", pdf, re.DOTALL):
        try:
            text += zlib.decompress(packed)
        except zlib.error:
            continue
    return len(re.findall(rb"/Type\s*/Page[^s]", text))


def test_each_sheet_of_a_batch_has_a_page(client, batch):
    answer = client.get(reverse("laser:batch_pdf", args=[batch.number]))

    assert answer["Content-Type"] == "application/pdf"
    assert pages(answer.content) == 2


def test_one_sheet_can_be_had_alone(client, batch):
    answer = client.get(reverse("laser:pdf", args=[batch.number, 2]))

    assert pages(answer.content) == 1
    assert client.get(reverse("laser:pdf", args=[batch.number, 9])).status_code == 404


def test_the_picture_on_paper_holds_every_part_and_names_it(batch):
    sheet = batch.sheets.select_related("lot", "batch").first()
    rows = part_rows(placements_of(sheet), Marking({}))

    drawing = ElementTree.fromstring(svg_of(drawing_of(sheet, rows, Marking({}))))

    placed = [path.get("transform") for path in drawing.iter(f"{SVG}path") if path.get("transform")]
    assert sorted(placed) == sorted(
        f"translate({one.x_mm:.3f} {one.y_mm:.3f}) rotate({one.rotation_deg:.3f})"
        for one in sheet.placements.all()
    )
    words = " ".join(text.text for text in drawing.iter(f"{SVG}text"))
    assert "2000" in words
    assert "1000" in words


def test_the_workbook_has_a_row_for_every_part_where_it_lies(client, batch):
    answer = client.get(reverse("laser:batch_list", args=[batch.number]))

    header, *rows = load_workbook(io.BytesIO(answer.content)).active.values
    spots = {(row[0], float(row[7]), float(row[8])) for row in rows}
    assert header[:5] == ("Sheet", "Raw sheet", "Offcut", "Mark", "Part")
    assert spots == {
        (sheet.number, float(one.x_mm), float(one.y_mm))
        for sheet in batch.sheets.all()
        for one in sheet.placements.all()
    }
