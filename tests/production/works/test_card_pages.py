"""The pages of job cards: scanned, started, counted, printed; problems with photos."""

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from bom.kernel.pages import new_key
from bom.people.models import User
from production.works.card_making import make_cards
from production.works.card_models import CardPaper, JobCard, WorkProblem, WorkTime
from production.works.papers.contents import card_texts
from production.works.papers.making import draw_cards, make_paper
from production.works.printing import print_cards
from production.works.problems import settle
from tests.production.floor import floor_shop, load, operation, released

pytestmark = pytest.mark.django_db
JPEG = b"\xff\xd8\xff\xe0" + b"\0" * 64


@pytest.fixture
def shop():
    return floor_shop()


@pytest.fixture
def screen(client, shop):
    client.force_login(shop.user)
    return client


@pytest.fixture
def order(shop):
    made = released(shop)
    shop.stock("SEC", "12")
    make_cards(works_orders=[made.works_order.pk])
    return made


def card_of(process: str) -> JobCard:
    return JobCard.objects.get(process__code=process)


def text(response) -> str:
    return response.content.decode()


def scan(screen, process: str, code: str):
    return screen.post(
        reverse("cards:scan", args=[process]), {"code": code, "key": new_key("card")}, follow=True
    )


def test_a_scan_at_the_right_station_starts_the_card_and_a_second_scan_changes_nothing(screen, order):
    card = card_of("saw")

    assert "works on" in text(scan(screen, "saw", f"CARD:{card.number}"))
    assert "nothing was changed" in text(scan(screen, "saw", card.number.lower()))

    assert WorkTime.objects.count() == 1


def test_a_scan_at_the_wrong_station_says_where_the_card_belongs_and_starts_nothing(screen, order):
    card = card_of("weld")

    answer = scan(screen, "saw", f"CARD:{card.number}")

    assert answer.status_code == 409
    assert f"Card {card.number} belongs to Weld" in text(answer)
    assert card_of("saw").number in text(answer)
    assert not WorkTime.objects.exists()


def test_a_second_person_at_the_same_card_hears_who_is_there(screen, client, order, shop):
    card = card_of("saw")
    scan(screen, "saw", card.number)
    other = User.objects.create_user("assembly")
    other.user_permissions.set(shop.user.user_permissions.all())
    client.force_login(other)

    assert "At it too: office since" in text(scan(client, "saw", card.number))
    assert WorkTime.objects.count() == 2


def test_a_load_is_opened_by_the_code_on_its_note(screen, shop):
    load(shop, [])

    assert screen.get(reverse("site:scan"), {"code": "LOAD:GL-1"}).url == reverse(
        "coating:load", args=["GL-1"]
    )


def test_something_else_scanned_is_no_job_card(screen, order):
    assert "is no job card" in text(scan(screen, "saw", "PLACE:A1"))
    assert scan(screen, "saw", "C99999").status_code == 409


def test_the_scan_of_the_whole_workshop_opens_a_card(screen, order):
    card = card_of("saw")
    answer = screen.get(reverse("site:scan"), {"code": f"CARD:{card.number}"})
    assert answer.url == reverse("cards:card", args=[card.number])


def test_a_card_is_started_counted_and_done_from_its_page(screen, order):
    card = card_of("saw")
    page = text(screen.get(reverse("cards:card", args=[card.number])))
    assert "Count and finish" in page
    line = card.lines.get()
    form = {f"mend-{line.pk}": "1", "reason": "burr", "key": new_key("card")}

    screen.post(reverse("cards:start", args=[card.number]), {"key": new_key("card")})
    for _ in range(2):
        answer = screen.post(reverse("cards:finish", args=[card.number]), form, follow=True)

    assert "is done" in text(answer)
    assert JobCard.objects.filter(kind="rework").count() == 1
    assert "waiting" in text(screen.get(reverse("cards:cards"), {"order": order.number}))


def test_a_split_sent_twice_splits_once(screen, order):
    card = card_of("saw")
    form = {f"take-{card.lines.get().pk}": "1", "key": new_key("card")}
    for _ in range(2):
        assert screen.post(reverse("cards:split", args=[card.number]), form).status_code == 302
    assert JobCard.objects.filter(process__code="saw").count() == 2


def test_a_count_that_is_no_number_is_refused(screen, order):
    card = card_of("saw")
    form = {f"spoilt-{card.lines.get().pk}": "one", "key": new_key("card")}
    answer = screen.post(reverse("cards:finish", args=[card.number]), form)
    assert answer.status_code == 409
    assert "whole number" in text(answer)


def test_the_station_start_button_keeps_time_on_the_card(screen, order):
    screen.post(reverse("works:begin", args=["saw", order.number]))
    assert WorkTime.objects.get().card == card_of("saw")
    screen.post(reverse("works:finish", args=["saw", order.number]))
    assert WorkTime.objects.get().ended == "done"
    assert card_of("saw").state == "done"


def problem_form(**changes):
    return {"kind": "machine", "words": "blade is worn", "key": new_key("problem"), **changes}


def test_a_problem_with_its_photo_is_kept_once_shown_and_settled(screen, shop, order, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    card = card_of("saw")
    screen.post(reverse("cards:start", args=[card.number]), {"key": new_key("card")})
    form = problem_form(stops_work="yes")
    for _ in range(2):
        photo = SimpleUploadedFile("x.exe", JPEG, content_type="application/x-thing")
        screen.post(reverse("cards:report", args=[card.number]), {**form, "photo": photo})

    found = WorkProblem.objects.get()
    shown = screen.get(reverse("cards:photo", args=[found.pk]))
    assert (shown["Content-Type"], b"".join(shown.streaming_content)) == ("image/jpeg", JPEG)
    assert len(list(tmp_path.rglob("*.jpg"))) == 1
    assert operation(order, "saw").problem == "blade is worn"
    assert WorkTime.objects.get().ended == "problem"
    settle(problem=found, answer="new blade", by=shop.user)
    assert operation(order, "saw").problem == ""
    assert "new blade" in text(screen.get(reverse("cards:problems")))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        pytest.param(b"<svg onload=alert(1)>", "no photo", id="not a picture"),
        pytest.param(b"", "no photo", id="empty"),
        pytest.param(b"\xff\xd8\xff" + b"\0" * (8 * 1024 * 1024), "at most 8 MB", id="too large"),
    ],
)
def test_a_file_that_is_no_photo_is_refused_and_nothing_is_kept(
    screen, order, content, words, settings, tmp_path
):
    settings.MEDIA_ROOT = tmp_path
    photo = SimpleUploadedFile("x.jpg", content, content_type="image/jpeg")
    answer = screen.post(reverse("cards:report", args=[card_of("saw").number]), problem_form(photo=photo))
    assert answer.status_code == 409 or not content
    assert words.lower() in text(answer).lower() or not content
    assert not list(tmp_path.rglob("*.*"))


def test_cards_are_drawn_as_a_pdf_once_a_key(screen, shop, order):
    numbers = list(JobCard.objects.values_list("number", flat=True))
    key = new_key("card")
    paper = print_cards(numbers=numbers, size="a5", by=shop.user, key=key)
    assert print_cards(numbers=numbers, size="a5", by=shop.user, key=key) == paper

    make_paper(paper.pk)

    paper = CardPaper.objects.get()
    assert paper.has_succeeded, paper.failure
    pdf = screen.get(reverse("cards:paper_pdf", args=[paper.pk])).content
    assert pdf.startswith(b"%PDF")
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) >= len(numbers)


def test_a_card_on_paper_says_what_to_saw_and_is_read_back_by_its_code(shop, order):
    texts = card_texts(card_of("saw"))
    [line] = texts["lines"]
    assert (line["pieces"], line["code"], line["figures"]) == ("2", "BM", "SEC, 1500 mm")
    assert "<svg" in texts["qr"]
    assert draw_cards([texts], size="a4").startswith(b"%PDF")


def test_pages_of_cards_ask_a_constant_number_of_queries(screen, shop, order, django_assert_max_num_queries):
    for _ in range(4):
        make_cards(works_orders=[released(shop).works_order.pk])
    for name in ("cards:standing", "cards:cards", "cards:problems", "cards:hours"):
        with django_assert_max_num_queries(20):
            assert screen.get(reverse(name)).status_code == 200
