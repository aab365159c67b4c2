"""Labels: where they lie, that they have the right size, that their text fits and their code is read back."""

import io
import re
from decimal import Decimal

import pytest
import zxingcpp
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.kernel.scans import Kind, Scan, read
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Supplier
from inventory.buying.receiving import receive_line
from inventory.stock.models import Lot
from inventory.stores.labels import contents, press, printing
from inventory.stores.labels.contents import Label
from inventory.stores.labels.layouts import Sheet
from inventory.stores.labels.models import LabelLayout

POINTS_A_MM = 72 / 25.4
A4 = Sheet(210, 297, 3, 8, 70, 37, 0, 0.5, 70, 37)
ROLL = Sheet(60, 30, 1, 1, 60, 30)


def _boxes(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height in mm of each page, from the file itself."""
    found = re.findall(rb"/MediaBox ?\[ ?0 0 ([\d.]+) ([\d.]+) ?\]", pdf)
    return [(float(width) / POINTS_A_MM, float(height) / POINTS_A_MM) for width, height in found]


def _read_back(labels, sheet, first=1) -> list[tuple[str, float, float]]:
    """What a reader finds on page one, with the middle of each symbol in mm, at 203 dots an inch (a label printer)."""
    image = Image.open(
        io.BytesIO(press.set_labels(printing.document(labels, sheet, first=first), form="png"))
    )
    mm = image.width / sheet.page_width_mm
    return [
        (
            code.text,
            (code.position.top_left.x + code.position.bottom_right.x) / 2 / mm,
            (code.position.top_left.y + code.position.bottom_right.y) / 2 / mm,
        )
        for code in zxingcpp.read_barcodes(image)
    ]


@given(st.integers(1, 6), st.integers(1, 12), st.integers(1, 40), st.integers(1, 72))
@settings(max_examples=50)
def test_no_two_labels_share_a_spot_and_all_lie_on_the_page(columns, rows, count, first):
    sheet = Sheet(210, 297, columns, rows, 30, 20, 5, 5, 33, 23)
    spots = list(sheet.spots(count, min(first, sheet.places)))

    assert len(set(spots)) == count
    assert all(x + 30 <= 210 and y + 20 <= 297 for _, x, y in spots)
    assert [page for page, _, _ in spots] == sorted(page for page, _, _ in spots)


@pytest.mark.parametrize(
    ("sheet", "said"),
    [
        pytest.param((210, 297, 3, 8, 70, 37, 5, 0, 70, 37), "5.0 mm beyond the right", id="too wide"),
        pytest.param((210, 297, 3, 8, 70, 37, 0, 2, 70, 37), "beyond the lower", id="too high"),
        pytest.param((210, 297, 3, 8, 70, 37, 0, 0, 60, 37), "overlap", id="overlapping"),
        pytest.param((210, 297, 1, 1, 10, 37), "no readable code", id="too small"),
        pytest.param((210, 297, 0, 1, 70, 37), "at least one column", id="no column"),
        pytest.param((210, 297, 1, 1, 70, 37, -1), "below zero", id="margin below zero"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused(sheet, said):
    with pytest.raises(ProblemError, match=said):
        Sheet(*sheet)


def test_a_place_that_the_sheet_has_not_is_refused():
    with pytest.raises(ProblemError, match="has no place 25"):
        list(A4.spots(1, 25))


LONG = Label(
    "ABCDEFGHIJ-KLMNOPQRST-UVWXYZ-0123456789",
    (
        "a name of so many words that it takes several lines of the label",
        "serial number ABCDEFGHIJKLMNOPQRST",
    ),
    "LOT:ABCDEFGHIJ-KLMNOPQRST-UVWXYZ-0123456789:ABCDEFGHIJKLMNOPQRST",
)


@pytest.mark.parametrize(
    "sheet", [A4, ROLL, Sheet(100, 50, 1, 1, 100, 50)], ids=["A4", "60 × 30", "100 × 50"]
)
def test_pages_have_the_size_of_the_layout(sheet):
    labels = [Label("A1", ("shelf A1",), "PLACE:A1", is_large=True)] * (sheet.places + 1)
    boxes = _boxes(press.set_labels(printing.document(labels, sheet)))

    assert len(boxes) == 2
    for box in boxes:
        assert box == pytest.approx((sheet.page_width_mm, sheet.page_height_mm), abs=0.01)


def test_codes_are_read_back_each_from_its_own_label():
    labels = [Label(f"A{n}", (f"shelf A{n}",), f"PLACE:A{n}", is_large=True) for n in range(1, 6)]
    found = _read_back(labels, A4, first=3)

    assert {code for code, _, _ in found} == {label.code for label in labels}
    for code, x, y in found:
        place = int(code.removeprefix("PLACE:A")) + 1
        left, top = (place % 3) * 70, 0.5 + (place // 3) * 37
        assert left < x < left + 35
        assert top + 10 < y < top + 27


@pytest.mark.parametrize("sheet", [A4, ROLL], ids=["A4", "60 × 30"])
def test_a_long_code_is_read_back_and_its_text_fits(sheet):
    assert [code for code, _, _ in _read_back([LONG], sheet)] == [LONG.code]


def test_a_text_that_cannot_fit_is_refused_by_its_name():
    tall = Label("AX-1", tuple(f"line {n}" for n in range(40)), "ITEM:AX-1")
    with pytest.raises(RuntimeError, match="The text of AX-1 does not fit"):
        press.set_labels(printing.document([tall], ROLL))


def test_a_sign_without_a_glyph_is_refused():
    with pytest.raises(RuntimeError, match="cannot be printed"):
        press.set_labels(printing.document([Label("A1", ("船",), "PLACE:A1")], ROLL))


def test_signs_of_markup_are_printed_as_they_are():
    label = Label("A#1*_$<b>", ("#panic() & [x]",), "PLACE:A#1*_$<b>")

    assert [code for code, _, _ in _read_back([label], ROLL)] == [label.code]


@pytest.fixture
def layout(db) -> LabelLayout:
    return printing.add_usual_layouts()[0]


def test_the_same_labels_are_the_same_file(layout):
    labels = [Label("A1", ("shelf A1",), "PLACE:A1", is_large=True)]
    first, second = (printing.print_labels(labels, layout) for _ in range(2))

    assert first.startswith(b"%PDF")
    assert first == second


def test_the_usual_layouts_are_added_once_and_kept_as_changed(layout):
    layout.top_mm = 1
    printing.save_layout(layout=layout)
    printing.add_usual_layouts()

    assert LabelLayout.objects.count() == len(printing.USUAL)
    assert LabelLayout.objects.get(pk=layout.pk).top_mm == 1


def test_labels_of_places_items_lots_and_deliveries_say_what_they_are(room):
    lot = Lot.objects.create(item=room.axle, code="S-1", kind="serial")
    room.bring(room.axle, 1, lot=lot)
    supplier = Supplier.objects.create(code="S1", name="Axles")
    order = PurchaseOrder.objects.create(number="PO-1", supplier=supplier, state="released")
    line = PurchaseOrderLine.objects.create(
        order=order, position=1, item=room.axle, quantity=2, price=1, due_on=timezone.localdate()
    )
    receive_line(
        line=line,
        quantity=Decimal(2),
        location=room.places["A1"],
        lot_code="S-8 S-9",
        by=None,
        key="goods-in:1",
    )

    assert [label.title for label in contents.labels("places", "")][:4] == ["A1", "A2", "CUT", "KIT"]
    assert contents.labels("items", "RLR-120-BLU")[0].code == "ITEM:RLR-120-BLU"
    assert {label.code for label in contents.labels("lots", "AXL-750")} == {
        f"LOT:AXL-750:S-{n}" for n in (1, 8, 9)
    }
    assert [read(label.code) for label in contents.labels("deliveries", "PO-1")] == [
        Scan(Kind.LOT, "AXL-750", lot="S-8"),
        Scan(Kind.LOT, "AXL-750", lot="S-9"),
    ]
    assert len(contents.labels("items", "RLR-120-BLU, AXL-750", copies=3)) == 6


@pytest.mark.parametrize(
    ("what", "codes", "said"),
    [
        ("items", "", "No code was given"),
        ("items", "Q-1", "no item Q-1"),
        ("places", "SCRAP", "no place SCRAP"),
        ("deliveries", "PO-9", "no delivery on purchase order PO-9"),
    ],
)
def test_labels_of_what_is_not_there_are_refused(room, what, codes, said):
    with pytest.raises(ProblemError, match=said):
        contents.labels(what, codes)


def _query(layout, **changes):
    return {"what": "places", "codes": "A1 A2", "layout": layout.pk, "first": 1, "copies": 1} | changes


def test_the_page_lays_out_and_the_pdf_opens(room, keeper, layout):
    shown = keeper.get("/stores/labels/", _query(layout)).content.decode()
    made = keeper.get("/stores/labels/labels.pdf", _query(layout))

    assert "2 labels" in shown
    assert made.headers["Content-Type"] == "application/pdf"
    assert _boxes(made.content) == [pytest.approx((210, 297), abs=0.01)]


def test_what_cannot_be_printed_is_said_on_the_page(room, keeper, layout):
    shown = keeper.get("/stores/labels/", _query(layout, codes="Z9")).content.decode()
    refused = keeper.get("/stores/labels/labels.pdf", _query(layout, first=99))

    assert "There is no place Z9" in shown
    assert refused.status_code == 409
    assert "has no place 99" in refused.content.decode()


def test_a_layout_is_changed_and_a_wrong_one_refused(keeper, visitor, layout):
    address = f"/stores/labels/layouts/{layout.pk}/"
    values = {field: str(getattr(layout, field)) for field in ("name", "columns", "rows")}
    values |= {
        f"{name}_mm": str(getattr(layout, f"{name}_mm"))
        for name in [
            "page_width",
            "page_height",
            "label_width",
            "label_height",
            "left",
            "top",
            "pitch_x",
            "pitch_y",
        ]
    }

    assert keeper.post(address, values | {"top_mm": "0.4"}).status_code == 302
    assert keeper.post(address, values | {"left_mm": "9"}).status_code == 409
    assert visitor.post(address, values).status_code == 403
    layout.refresh_from_db()
    assert (float(layout.top_mm), float(layout.left_mm)) == (0.4, 0.0)


@pytest.mark.django_db
def test_an_offcut_label_carries_its_outline_and_is_set():
    sheet = Item.objects.create(
        code="SH-6",
        name="Sheet 6 mm",
        kind=Item.Kind.SHEET,
        grade="S355",
        thickness_mm=6,
        length_mm=3000,
        width_mm=1500,
    )
    Lot.objects.create(
        item=sheet,
        code="CB-1-1",
        kind=Lot.Kind.OFFCUT,
        cast="48121",
        length_mm=1150,
        width_mm=1000,
        outline="0,0,0;1200,0,0;1200,1500,0;400,1500,0;400,1000,0;0,1000,0",
    )

    (label,) = contents.labels("lots", "CB-1-1")
    made = press.set_labels(printing.document([label], ROLL))

    assert "1\u202f150 × 1\u202f000 mm in one piece" in label.lines
    assert 'points="0,1500 1200,1500 1200,0 400,0 400,500 0,500"' in label.drawing
    assert made.startswith(b"%PDF")


@pytest.mark.django_db
def test_the_label_of_a_bars_offcut_says_its_length():
    section = Item.objects.create(code="RHS", name="Section", kind=Item.Kind.SECTION, unit="m")
    Lot.objects.create(item=section, code="BB-1-1", kind=Lot.Kind.OFFCUT, length_mm=2979)

    (label,) = contents.labels("lots", "BB-1-1")

    assert "2\u202f979 mm" in label.lines
    assert label.drawing == ""
