"""The coating pages: limits, money lost, signatures, counting back, the oven."""

from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from bom.kernel.pages import new_key
from production.coating.counting_back import Found, load_back
from production.coating.loads import send_load
from production.coating.models import GalvanisingLoad, LoadLine
from production.coating.paper_models import Certificate, LoadPaper
from production.coating.powder_models import Step, StepRule, ThicknessRule
from production.shop.models import LorryDay
from tests.production.floor import (
    finish,
    floor_shop,
    galvaniser,
    load,
    operation,
    powder_batch,
    released,
    signed,
    welded,
)
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db
DUPLEX = {"finish": "duplex", "colours": {"port": "red", "starboard": "green", "powder": "blue"}}


@pytest.fixture
def shop() -> SmallWorkshop:
    return floor_shop()


@pytest.fixture
def screen(client, shop):
    client.force_login(shop.user)
    return client


def text(response) -> str:
    return response.content.decode()


def send(screen, name: str, *args, **fields):
    """A form of a page, with the one-time key that it carries."""
    return screen.post(reverse(f"coating:{name}", args=args), {"key": new_key("load"), **fields})


def test_a_load_under_the_minimum_charge_says_what_is_lost(screen, shop):
    made = load(shop, [welded(shop)])
    LorryDay.objects.create(
        weekday=timezone.localtime(made.leaves_at).weekday(),
        leaves_at="06:00",
        max_kg=1000,
        bath_length_mm=7000,
        minimum_charge_kg=500,
        price_per_kg="0.50",
        back_after_days=4,
    )

    page = text(screen.get(reverse("coating:galvanising")))

    assert "£190.00 lost" in page
    assert "minimum charge 500 kg" in page


def test_signing_sending_and_counting_back_through_the_pages(screen, shop):
    order = welded(shop)
    line = load(shop, [order]).lines.get()
    assert send(screen, "send", "GL-1").status_code == 409
    send(screen, "sign", line.pk)
    miscounted = send(screen, "send", "GL-1", counted="yes", **{f"out-{line.pk}": "0"})
    assert "the load says 1" in text(miscounted)
    sent = send(screen, "send", "GL-1", counted="yes", weighed="121,5", **{f"out-{line.pk}": "1"})
    assert sent.status_code == 302

    answer = send(screen, "back", "GL-1", **{f"missing-{line.pk}": "one"})
    assert answer.status_code == 409
    assert "is not a number of missing parts" in text(answer)
    send(screen, "back", "GL-1", weighed="128", **{f"missing-{line.pk}": "1"})
    assert "It is back now" in text(screen.get(reverse("coating:galvanising")))
    send(screen, "late_part", line.pk)

    assert operation(order, "galvanise").state == "done"
    made = GalvanisingLoad.objects.get()
    assert (made.weighed_out_kg, made.weighed_back_kg) == (Decimal("121.5"), Decimal(128))


def test_a_signature_can_be_taken_back(screen, shop):
    line = load(shop, [welded(shop)]).lines.get()
    send(screen, "sign", line.pk)
    send(screen, "sign", line.pk, withdraw="yes")
    line.refresh_from_db()
    assert line.vents_checked_at is None


def test_the_lorries_are_drawn_with_what_they_lose_and_orders_change_between_them(screen, shop):
    order, other = welded(shop), released(shop)
    load(shop, [order], "GL-1")
    load(shop, [], "GL-2")

    page = text(screen.get(reverse("coating:lorries")))
    assert "On no lorry yet (1)" in page
    assert "bath 7000 mm" in page
    send(screen, "fill", order=other.number, to="GL-2")
    send(screen, "fill", order=order.number, **{"from": "GL-1", "to": "GL-2"})

    assert set(LoadLine.objects.values_list("load__number", "order__number")) == {
        ("GL-2", order.number),
        ("GL-2", other.number),
    }
    page = text(screen.get(reverse("coating:lorries")))
    assert "not welded yet: not in time" in page
    send(screen, "fill", order=other.number, **{"from": "GL-2", "to": ""})
    assert LoadLine.objects.get().order == order


def test_a_certificate_is_filed_shown_and_withdrawn(screen, shop, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    back(shop)
    paper = SimpleUploadedFile("c.pdf", b"%PDF-1.7\n...\n%%EOF\n", content_type="text/html")
    send(screen, "file_certificate", "GL-1", certificate="Z 118", mean_um="84", file=paper)

    filed = Certificate.objects.get()
    shown = screen.get(reverse("coating:certificate", args=[filed.pk]))
    assert (shown["Content-Type"], shown["X-Content-Type-Options"]) == ("application/pdf", "nosniff")
    assert "sandbox" in shown["Content-Security-Policy"]
    assert b"".join(shown).startswith(b"%PDF-1.7")
    assert "Z 118" in text(screen.get(reverse("coating:load", args=["GL-1"])))
    send(screen, "withdraw_certificate", filed.pk, why="of another load")
    filed.refresh_from_db()
    assert filed.withdrawn_why == "of another load"


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        pytest.param(b"<script>alert(1)</script>", "no certificate that is kept", id="a page"),
        pytest.param(b"%PDF-1.7 cut off", "no certificate that is kept", id="half a PDF"),
        pytest.param(b"%PDF-1.7" + b"0" * (8 * 1024 * 1024) + b"%%EOF", "8.0 MB", id="too large"),
        pytest.param(b"RIFF0000WEBPVP8 ", "no certificate that is kept", id="not a kind of paper"),
    ],
)
def test_a_file_that_is_no_certificate_is_refused(screen, shop, settings, tmp_path, content, sentence):
    settings.MEDIA_ROOT = tmp_path
    back(shop)
    sent = SimpleUploadedFile("c.pdf", content, content_type="application/pdf")

    answer = send(screen, "file_certificate", "GL-1", certificate="Z 118", file=sent)

    assert answer.status_code == 409
    assert sentence in text(answer)
    assert not Certificate.objects.exists()
    assert list(tmp_path.iterdir()) == []


def test_papers_of_a_load_are_drawn_and_opened(screen, shop, django_capture_on_commit_callbacks):
    galvaniser()
    order = welded(shop)
    made = signed(shop, load(shop, [order]))
    with django_capture_on_commit_callbacks(execute=True):
        sent = send(screen, "print", "GL-1", kind="note")
    assert "Open the PDF" in text(screen.get(sent.url))
    assert send(screen, "print", "GL-1", kind="claim").status_code == 409
    send_load(load=made, by=shop.user)
    broken = Found(damaged=Decimal(1), damage="bare spots")
    load_back(load=made, by=shop.user, faults={made.lines.get().pk: broken})
    with django_capture_on_commit_callbacks(execute=True):
        send(screen, "print", "GL-1", kind="claim")

    papers = LoadPaper.objects.order_by("pk")
    assert [one.outcome for one in papers] == ["succeeded", "succeeded"]
    for one in papers:
        pdf = screen.get(reverse("coating:paper_pdf", args=[one.pk]))
        assert pdf.content.startswith(b"%PDF")


def back(shop: SmallWorkshop) -> GalvanisingLoad:
    made = signed(shop, load(shop, [welded(shop)]))
    send_load(load=made, by=shop.user)
    return load_back(load=made, by=shop.user)


def test_the_powder_page_draws_the_oven_and_runs_a_batch(screen, shop):
    ThicknessRule.objects.create(least_um=60, most_um=120, readings=2)
    order = welded(shop, **DUPLEX)
    finish(shop, order, "galvanise")
    batch = powder_batch(shop, [order])
    page = text(screen.get(reverse("coating:powder")))
    assert "Oven: 1 of 4 places filled" in page
    assert page.count(">empty</text>") == 3

    assert send(screen, "end_step", "PB-1", step="sweep").status_code == 409
    send(screen, "begin_powder", "PB-1")
    for step in Step:
        assert send(screen, "end_step", "PB-1", step=step).status_code == 302
    line = batch.lines.get()
    send(screen, "read", line.pk, **{"zinc": "80", "total-0": "160,5", "total-1": "90"})
    page = text(screen.get(reverse("coating:powder")))
    assert "10 µm front right" in page
    assert send(screen, "finish_powder", "PB-1").status_code == 409
    send(screen, "judge", line.pk, outcome="again", reason="thin at the rear")
    send(screen, "finish_powder", "PB-1")

    assert "thin at the rear" in text(screen.get(reverse("coating:powder")))
    powder_batch(shop, [], "PB-2")
    send(screen, "coat_again", line.pk, batch="PB-2")
    send(screen, "begin_powder", "PB-2")
    page = text(screen.get(reverse("coating:powder")))
    assert "coated before in PB-1: thin at the rear" in page


def test_only_who_may_set_the_figures_accepts_a_frame_as_it_is(screen, shop):
    order = welded(shop, **DUPLEX)
    finish(shop, order, "galvanise")
    batch = powder_batch(shop, [order])
    send(screen, "begin_powder", "PB-1")
    for step in Step:
        send(screen, "end_step", "PB-1", step=step)
    line = batch.lines.get()

    assert send(screen, "judge", line.pk, outcome="accepted", reason="inside").status_code == 403
    shop.user.user_permissions.add(Permission.objects.get(codename="set_coating"))
    send(screen, "judge", line.pk, outcome="accepted", reason="inside")

    line.refresh_from_db()
    assert line.outcome == "accepted"


def test_the_figures_of_steps_and_thickness_are_kept_by_who_may(screen, shop):
    form = {f"{step}-least_minutes": "20" for step in Step} | {"cure-temperature_c": "180"}
    form |= {"thickness-least_um": "60", "thickness-most_um": "120", "thickness-readings": "5"}
    assert screen.post(reverse("coating:rules"), form).status_code == 403
    shop.user.user_permissions.add(Permission.objects.get(codename="set_coating"))

    for _ in range(2):
        screen.post(reverse("coating:rules"), form)

    assert dict(StepRule.objects.values_list("step", "least_minutes")) == dict.fromkeys(Step, 20)
    assert StepRule.objects.get(step="cure").temperature_c == 180
    assert ThicknessRule.objects.count() == 1
    wrong = screen.post(reverse("coating:rules"), form | {"thickness-most_um": "10"})
    assert "The least thickness cannot be above the greatest." in text(wrong)


def test_empty_pages_say_where_work_comes_from(screen):
    for name in ("coating:galvanising", "coating:powder"):
        assert "when the manager releases a plan" in text(screen.get(reverse(name)))


@pytest.mark.parametrize("name", ["galvanising", "lorries", "loads", "load", "powder"])
def test_pages_ask_no_more_questions_for_many_than_for_few(screen, shop, name, django_assert_max_num_queries):
    orders = [welded(shop, **DUPLEX) for _ in range(6)]
    for index in range(30):
        state = GalvanisingLoad.State.AWAY if index % 3 == 2 else GalvanisingLoad.State.RELEASED
        load(shop, orders, f"GL-{index}", state=state)
        powder_batch(shop, orders, f"PB-{index}")
    args = ["GL-0"] if name == "load" else []
    with django_assert_max_num_queries(20):
        assert screen.get(reverse(f"coating:{name}", args=args)).status_code == 200


def test_a_load_that_is_back_with_claims_and_papers_asks_few_questions(
    screen, shop, django_assert_max_num_queries
):
    galvaniser()
    made = signed(shop, load(shop, [welded(shop), welded(shop)]))
    send_load(load=made, by=shop.user)
    faults = {line.pk: Found(damaged=Decimal(1), damage="bare") for line in made.lines.all()}
    load_back(load=made, by=shop.user, faults=faults)

    with django_assert_max_num_queries(20):
        page = text(screen.get(reverse("coating:load", args=["GL-1"])))
    assert page.count("damaged. bare") == 2
