"""Papers are made in the background by the workshop's own templates, and taken as one zip."""

import io
import zipfile

import pytest
import zxingcpp
from django.contrib.auth.models import Permission
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from bom.kernel.errors import ProblemError
from bom.kernel.scans import Kind, Scan, read
from production.dispatch import plating
from production.dispatch.models import Paper, PaperRun
from production.dispatch.papers import press, running
from production.dispatch.papers.build_sheets import build_sheet_of
from production.dispatch.papers.contents import contents_of
from production.dispatch.papers.shipped import BUILD_SHEET, FIELDS, PACK, TEMPLATES
from tests.production.floor import kit_of, released

pytestmark = pytest.mark.django_db


def text(response) -> str:
    return response.content.decode()


def made(shop, orders) -> PaperRun:
    run = running.start_papers(
        orders=orders, title="Papers", key=f"k{PaperRun.objects.count()}", by=shop.user
    )
    running.carry_out(run.pk, press=press.Press)
    run.refresh_from_db()
    return run


def test_six_papers_a_trailer_in_one_zip(screen, shop):
    orders = [released(shop), released(shop)]
    plating.give_plate(order=orders[0], by=shop.user)

    run = made(shop, orders)

    assert (run.outcome, run.papers, run.failure) == ("succeeded", 12, "")
    answer = screen.get(reverse("dispatch:zip", args=[run.pk]))
    files = zipfile.ZipFile(io.BytesIO(answer.content))
    assert len(files.namelist()) == 12
    assert all(files.read(name).startswith(b"%PDF") for name in files.namelist())


def every_text(order):
    return contents_of([order])[order.pk] | build_sheet_of(order)


@pytest.mark.parametrize("kind", [*TEMPLATES, PACK])
def test_the_code_on_every_paper_reads_as_the_vin_or_opens_the_order(shop, kind):
    # zxing-cpp is an independent reader of ISO/IEC 18004 symbols
    order = released(shop)
    kit_of(order)
    vin = plating.give_plate(order=order, by=shop.user).vin
    wanted = f"ORDER:{order.number}" if kind == BUILD_SHEET else vin
    with press.Press(running.texts_of([kind])) as setter:
        image = Image.open(io.BytesIO(setter.set(kind, every_text(order), form="png", ppi=300)))
    assert [code.text for code in zxingcpp.read_barcodes(image)] == [wanted]


def test_before_there_is_a_plate_the_code_opens_the_order(shop):
    order = released(shop)
    with press.Press(running.texts_of(["delivery-note"])) as setter:
        image = Image.open(io.BytesIO(setter.set("delivery-note", every_text(order), form="png", ppi=300)))
    [code] = zxingcpp.read_barcodes(image)
    assert read(code.text) == Scan(Kind.ORDER, order.number)


def test_a_build_sheet_and_a_pack_are_made_alone_by_their_buttons(screen, shop):
    order = released(shop)
    kit_of(order)
    for number, page in enumerate(("build_sheet_paper", "pack")):
        screen.post(reverse(f"dispatch:{page}", args=[order.number]), {"key": f"k{number}"})
    for run in PaperRun.objects.all():
        running.carry_out(run.pk, press=press.Press)
    made_papers = Paper.objects.values_list("kind", flat=True)
    assert sorted(made_papers) == ["build-sheet", "hand-over-pack"]


def test_a_certificate_says_whose_responsibility_it_is_whatever_its_template_says(shop):
    running.store_template(kind="data-sheet", text="Our own: #d.order", by=shop.user)
    assert "maker's own and his responsibility" in running.texts_of(["data-sheet"])["data-sheet"]
    assert "maker's own and his responsibility" in running.texts_of([PACK])[PACK]


def test_a_template_is_taken_from_a_file_and_given_back_for_the_shipped_one(screen, shop):
    shop.user.user_permissions.add(Permission.objects.get(codename="set_checks"))
    address = reverse("dispatch:templates")
    own = SimpleUploadedFile("own.typ", "\ufeffOur own: #d.vin".encode())
    assert screen.post(address, {"kind": "label", "file": own}).status_code == 302
    assert running.templates()["label"] == "Our own: #d.vin"
    broken = SimpleUploadedFile("own.typ", b"\xff\xfe\x00")
    assert screen.post(address, {"kind": "label", "file": broken}).status_code == 409
    screen.post(address, {"kind": "label", "what": "shipped"})
    assert running.templates()["label"] == TEMPLATES["label"]


def test_a_template_names_only_what_the_page_of_templates_lists(shop):
    texts = contents_of([released(shop)])
    assert {name for name, _ in FIELDS} == set(next(iter(texts.values())))


def test_texts_from_outside_are_never_read_as_markup(shop):
    order = released(shop)
    order.customer.name = '#panic("x") *bold* $'
    with press.Press(running.texts_of(["hand-over"])) as setter:
        assert setter.set("hand-over", contents_of([order])[order.pk]).startswith(b"%PDF")


def test_a_template_of_ones_own_is_stored_and_used_and_a_wrong_one_fails_the_run_with_its_reason(
    screen, shop
):
    shop.user.user_permissions.add(Permission.objects.get(codename="set_checks"))
    address = reverse("dispatch:templates")
    assert screen.post(address, {"kind": "label", "text": '#import "@preview/x:1.0.0"'}).status_code == 409
    assert screen.post(address, {"kind": "ticket", "text": "x"}).status_code == 409
    screen.post(address, {"kind": "label", "text": "#nothing-known"})

    run = made(shop, [released(shop)])

    assert run.outcome == "failed"
    assert "label" in run.failure
    assert "unknown variable" in run.failure
    screen.post(address, {"kind": "label", "text": "Our own: #d.order"})
    assert made(shop, [released(shop)]).outcome == "succeeded"


def test_a_template_reads_no_file_of_the_machine(shop):
    running.store_template(kind="label", text='#read("/etc/hostname")', by=shop.user)
    assert made(shop, [released(shop)]).outcome == "failed"


def test_nothing_is_made_for_an_empty_week_and_a_second_click_starts_nothing(screen, shop):
    with pytest.raises(ProblemError, match="0 trailers"):
        running.start_papers(orders=[], title="week", key="k", by=shop.user)
    assert screen.post(reverse("dispatch:papers"), {"week": "2001-01-01", "key": "a"}).status_code == 409
    order = released(shop)
    for _ in range(2):
        screen.post(reverse("dispatch:trailer_papers", args=[order.number]), {"key": "b"})
    assert PaperRun.objects.count() == 1
    page = text(screen.get(reverse("dispatch:paper_run", args=[PaperRun.objects.get().pk])))
    assert "waiting for the worker" in page


def test_a_stopped_run_keeps_nothing(shop):
    run = running.start_papers(orders=[released(shop)], title="Papers", key="k", by=shop.user)
    running.RUNNER.ask_to_stop(run)
    running.carry_out(run.pk, press=press.Press)
    run.refresh_from_db()
    assert (run.outcome, run.made.count()) == ("cancelled", 0)
