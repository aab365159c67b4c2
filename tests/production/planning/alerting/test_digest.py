"""Letters of alerts: to who asks, once a day, only with news."""

from datetime import timedelta
from io import StringIO

import pytest
from django.contrib.auth.models import Group
from django.core import mail
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from bom.people.models import User
from production.planning import tasks
from production.planning.alert_models import Alert, Digest, DigestWish
from production.planning.alerting.digest import CLAIM_HOLDS, readers, send_digests
from production.planning.alerting.watching import silence


@pytest.fixture
def reader(trouble) -> User:
    DigestWish.objects.create(person=trouble.shop.user)
    return trouble.shop.user


def _on(days: int):
    return timezone.now() + timedelta(days=days)


def test_a_letter_says_the_same_in_text_and_html(trouble, reader):
    short = trouble.shortage(suggestion=trouble.suggestion())
    trouble.shelf("RO-RED")
    trouble.look()
    assert send_digests() == 1
    (letter,) = mail.outbox
    html, kind = letter.alternatives[0]

    assert letter.to == ["office@sample.example"]
    assert letter.subject.startswith("2 alerts, ")
    assert kind == "text/html"
    for text in (letter.body, html):
        assert "2 pc short" in text
        assert short.order.number in text
        assert "Buy 2: suggestion 1" in text
        assert "RO-RED" in text
        assert reverse("planning:alerts") in text


def test_what_a_person_typed_is_no_markup_in_a_letter(trouble, reader):
    trouble.shop.items["BOX"].name = "<b>box</b> & lid"
    trouble.shop.items["BOX"].save()
    trouble.shortage()
    trouble.look()
    send_digests()

    assert "<b>box</b> & lid" in mail.outbox[0].body
    assert "&lt;b&gt;box&lt;/b&gt; &amp; lid" in mail.outbox[0].alternatives[0][0]


def test_one_letter_a_day_however_often_it_is_tried(trouble, reader):
    trouble.shortage()
    trouble.look()
    assert [send_digests() for _ in range(3)] == [1, 0, 0]

    trouble.shortage()
    trouble.look()
    assert send_digests() == 0
    assert send_digests(now=_on(1)) == 1
    assert mail.outbox[1].subject.startswith("1 alert, ")


def test_without_news_there_is_no_letter(trouble, reader):
    trouble.shortage()
    trouble.look()
    send_digests()
    trouble.look(days=1)

    assert send_digests(now=_on(1)) == 0
    assert Digest.objects.count() == 1


def test_a_worse_date_is_told_in_the_next_letter(trouble, reader):
    short = trouble.shortage()
    trouble.look()
    send_digests()
    short.available_on = trouble.day(30)
    short.save()
    trouble.look(days=1)
    send_digests(now=_on(1))

    assert "worse date: there" in mail.outbox[1].body
    assert "new:" not in mail.outbox[1].body


def test_what_is_silenced_is_not_in_the_letter(trouble, reader):
    trouble.shortage()
    (alert,) = trouble.look()
    silence(alert=alert, by=reader, reason="known", until=trouble.day(3))
    assert send_digests() == 0

    trouble.look(days=4)
    assert send_digests(now=_on(4)) == 1
    assert "silence is over" in mail.outbox[0].body


def test_what_is_gone_is_not_in_the_letter(trouble, reader):
    short = trouble.shortage()
    trouble.look()
    short.delete()
    trouble.look()
    assert send_digests() == 0


def test_a_person_gets_the_kinds_he_asked_for(trouble, reader):
    DigestWish.objects.update(shortages=False)
    trouble.shortage()
    trouble.shelf("RO-RED")
    trouble.look()
    send_digests()

    assert "RO-RED" in mail.outbox[0].body
    assert "BOX" not in mail.outbox[0].body


def test_a_role_s_wish_reaches_its_people_and_an_own_wish_stands_before_it(trouble):
    group = Group.objects.create(name="yard")
    for name in ("ada", "ben", "cy", "dot"):
        person = User.objects.create_user(name, f"{name}@sample.example", "-")
        person.groups.add(group)
    DigestWish.objects.create(role=group, shelves=False)
    DigestWish.objects.create(person=User.objects.get(username="ben"), shortages=False, shelves=False)
    User.objects.filter(username="cy").update(is_active=False)
    User.objects.filter(username="dot").update(email="")

    assert [(one.person.username, set(one.kinds)) for one in readers()] == [("ada", {"shortage"})]


def test_a_letter_that_could_not_go_goes_at_the_next_try(trouble, reader, settings):
    trouble.shortage()
    trouble.look()
    works = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = "no.such.backend"
    assert send_digests() == 0
    settings.EMAIL_BACKEND = works

    assert send_digests() == 1


def test_a_letter_whose_sender_died_is_taken_over_later(trouble, reader):
    trouble.shortage()
    trouble.look()
    now = timezone.now()
    Digest.objects.create(person=reader, day=timezone.localdate(), up_to=0, alerts=1, claimed_at=now)
    assert send_digests(now=now) == 0

    Digest.objects.update(claimed_at=now - CLAIM_HOLDS - timedelta(seconds=1))
    assert send_digests(now=now) == 1
    assert send_digests(now=now) == 0


def test_the_command_looks_and_mails(trouble, reader):
    trouble.shortage()
    out = StringIO()
    call_command("alerts", "--mail", stdout=out)
    assert out.getvalue() == "1 open, 1 new, 1 with news, 0 gone.\n1 letters sent.\n"


def test_the_clock_s_task_looks(trouble):
    trouble.shortage()
    tasks.watch_alerts()
    assert Alert.objects.count() == 1
