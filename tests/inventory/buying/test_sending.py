"""What goes to the supplier: drawn, kept with its hash, mailed, and never twice by one press."""

import io
import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core import mail
from python_calamine import CalamineWorkbook

from bom.kernel.errors import ProblemError
from inventory.buying import ordering, sending, tasks
from inventory.buying.confirming import Promise, confirm_line
from inventory.buying.models import PurchaseOrderLine
from inventory.buying.paper_models import Letterhead, OrderPaper
from inventory.buying.papers.contents import paper_of
from inventory.buying.papers.drawing import draw_pdf

A4_POINTS = (595.2756, 841.8898)  # 210 mm × 297 mm, ISO 216, at 72 points an inch


@pytest.fixture
def letterhead(db) -> Letterhead:
    return Letterhead.objects.create(
        name="Sample Trailers",
        address="1 Slipway Lane\nMuddlehaven",
        email="buying@sample.example",
        terms="Deliveries from 7 to 15 h.",
    )


@pytest.fixture
def line(buying, rubber, letterhead) -> PurchaseOrderLine:
    rubber.address, rubber.email = "Unit 4\nRollertown", "orders@rubber.example"
    rubber.save()
    return buying.released(20)


@pytest.fixture
def send(room, line, django_capture_on_commit_callbacks):
    def now(key="send:1") -> OrderPaper:
        with django_capture_on_commit_callbacks(execute=True):
            paper = sending.send_order(order=line.order, by=room.keeper, key=key)
        paper.refresh_from_db()
        return paper

    return now


def test_the_paper_says_who_what_when_and_how_much(room, line):
    paper = paper_of(line.order, copy=1)
    (row,) = paper.lines

    assert (paper.from_name, paper.from_address) == ("Sample Trailers", ("1 Slipway Lane", "Muddlehaven"))
    assert (paper.to_name, paper.to_address) == ("Rubber and Roll", ("Unit 4", "Rollertown"))
    assert (row.their_code, row.quantity_text, row.price_text) == ("RR-120", "20", "£3.20")
    assert (row.value, paper.total, paper.total_text) == (64, 64, "£64.00")
    assert row.wanted_text.endswith(f"W{row.wanted_on.isocalendar().week:02d}")
    assert str(row.wanted_on.year) in row.wanted_text


def test_a_part_of_a_penny_is_written_out(line):
    PurchaseOrderLine.objects.update(price=Decimal("0.0375"))
    assert paper_of(line.order, copy=1).lines[0].price_text == "£0.0375"


def test_a_promise_changes_what_we_expect_and_not_what_we_ordered(room, line):
    asked = paper_of(line.order, copy=1).lines
    day = date.today() + timedelta(days=40)
    promise = Promise(day, Decimal(12), day + timedelta(days=7))
    confirm_line(line=line, promise=promise, by=room.keeper, key="confirm:1")

    assert paper_of(line.order, copy=1).lines == asked


def test_the_pdf_is_a_pdf_of_a4_sheets(line):
    pdf = draw_pdf(paper_of(line.order, copy=1))
    boxes = [
        tuple(float(number) for number in box.split()[2:])
        for box in re.findall(r"/MediaBox\s*\[([\d. ]+)\]", pdf.decode("latin-1"))
    ]

    assert pdf.startswith(b"%PDF-1.")
    assert pdf.rstrip().endswith(b"%%EOF")
    assert boxes == [pytest.approx(A4_POINTS, abs=0.01)]


def test_forty_lines_take_more_than_one_sheet(room, buying, rubber, line):
    order = buying.draft(10)
    for days in range(1, 40):
        ordering.add_line(
            order=order,
            item=room.roller,
            quantity=Decimal(10),
            due_on=buying.today + timedelta(days=days),
            by=room.keeper,
        )
    pdf = draw_pdf(paper_of(order, copy=1))

    assert len(re.findall(rb"/MediaBox", pdf)) >= 2


@pytest.mark.parametrize("name", ["#panic()", '"] \\ #x[', "$ 2 $", "@ref <label> *b* _i_ // c"])
def test_what_looks_like_typesetting_is_only_text(room, line, name):
    room.roller.name = name
    room.roller.save()

    assert draw_pdf(paper_of(line.order, copy=1)).startswith(b"%PDF-")


def test_another_reader_opens_the_workbook_and_finds_the_same_figures(send):
    paper = send()
    book = CalamineWorkbook.from_filelike(io.BytesIO(sending.open_file(paper, "xlsx")))
    header, row = book.get_sheet_by_index(0).to_python()

    assert dict(zip(header, row, strict=True)) == {
        "order": paper.order.number,
        "line": 1.0,
        "our code": "RLR-120-BLU",
        "name": "Keel roller 120 blue",
        "your code": "RR-120",
        "quantity": 20.0,
        "unit": "pc",
        "price": 3.2,
        "value": 64.0,
        "wanted there": PurchaseOrderLine.objects.get().wanted_on,
    }


def test_what_is_mailed_is_what_is_kept(send):
    paper = send()
    (letter,) = mail.outbox
    attached = {name: content for name, content, _ in letter.attachments}

    assert (letter.to, paper.mailed_to) == (["orders@rubber.example"], "orders@rubber.example")
    assert attached == {
        f"{paper.order.number}.pdf": sending.open_file(paper, "pdf"),
        f"{paper.order.number}.xlsx": sending.open_file(paper, "xlsx"),
    }


def test_one_press_sends_once(room, line, send):
    first, again = send(), send()
    tasks.draw_paper(first.pk)

    assert first == again
    assert (OrderPaper.objects.count(), len(mail.outbox)) == (1, 1)


def test_two_presses_while_it_is_drawn_send_once(room, line):
    first = sending.send_order(order=line.order, by=room.keeper, key="send:1")
    other = sending.send_order(order=line.order, by=room.keeper, key="send:2")

    assert first == other


def test_a_second_sending_is_a_second_copy(send):
    assert [send("send:1").copy, send("send:2").copy] == [1, 2]
    assert "it replaces the one before" in mail.outbox[1].subject


def test_a_worker_that_fell_silent_does_not_stop_the_next_copy(room, line, send):
    stuck = sending.send_order(order=line.order, by=room.keeper, key="send:1")
    OrderPaper.objects.update(asked_at=stuck.asked_at - timedelta(minutes=5))

    assert send("send:2").has_succeeded
    stuck.refresh_from_db()
    assert (stuck.outcome, stuck.failure) == ("failed", "The worker fell silent; send it again.")


def test_where_the_mail_fails_nothing_counts_as_sent(send, settings):
    settings.EMAIL_BACKEND = "no.such.backend"
    paper = send()

    assert (paper.outcome, paper.pdf, paper.pdf_sha256) == ("failed", None, "")
    with pytest.raises(ProblemError, match="has not been drawn"):
        sending.open_file(paper, "pdf")


def test_a_file_that_was_tampered_with_is_not_handed_out(send):
    paper = send()
    OrderPaper.objects.update(pdf=b"%PDF-1.7 something else")
    paper.refresh_from_db()

    with pytest.raises(ProblemError, match="not the one that was sent"):
        sending.open_file(paper, "pdf")


def test_a_draft_is_not_sent(room, buying):
    with pytest.raises(ProblemError, match="It is draft and cannot be sent"):
        sending.send_order(order=buying.draft(), by=room.keeper, key="send:1")


def test_without_an_address_nothing_is_mailed(rubber, send):
    rubber.email = ""
    rubber.save()

    assert send().has_succeeded
    assert mail.outbox == []
