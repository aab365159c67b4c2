"""Calendars at addresses without a sign-in, and the week on paper."""

from datetime import timedelta

import pytest
from django.contrib.auth.models import Permission
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from production.planning.models import Plan
from production.scheduling.models import OrderForecast
from production.scheduling.notices import calendars, printing
from production.scheduling.notices.feed_models import CalendarAddress, WeekPaper
from production.scheduling.tasks import draw_week
from production.shop.models import WorkCentre
from tests.production.scheduling.test_week_pages import plan_with
from tests.production.small_workshop import SmallWorkshop


@pytest.fixture
def plan(shop: SmallWorkshop) -> Plan:
    shop.user.user_permissions.add(Permission.objects.get(codename="give_calendar"))
    return plan_with(shop, 3, is_current=True, released_at=timezone.now())


def given(shop: SmallWorkshop, code: str = "") -> str:
    centre = WorkCentre.objects.get(code=code) if code else None
    return reverse("week:calendar", args=[calendars.give_address(work_centre=centre, by=shop.user)[1]])


def read(address: str) -> Calendar:
    answer = Client().get(address)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    return Calendar.from_ical(answer.content)


def test_a_station_s_calendar_holds_its_operations_without_a_sign_in(shop: SmallWorkshop, plan: Plan) -> None:
    events = read(given(shop, "weld")).walk("VEVENT")
    planned = {(row.starts_at, row.ends_at) for row in plan.operations.all()}
    assert len(events) == 3
    assert {(event["dtstart"].dt, event["dtend"].dt) for event in events} == {
        (start.replace(microsecond=0), end.replace(microsecond=0)) for start, end in planned
    }
    assert len({event["uid"] for event in events}) == 3


def test_dispatch_gets_the_day_each_trailer_is_finished(shop: SmallWorkshop, plan: Plan) -> None:
    events = read(given(shop)).walk("VEVENT")
    forecast = OrderForecast.objects.filter(plan=plan).first()
    assert forecast is not None
    day = timezone.localtime(forecast.finishes_at).date()
    # A whole day ends before its DTEND (RFC 5545, 3.6.1).
    assert {(event["dtstart"].dt, event["dtend"].dt) for event in events} == {(day, day + timedelta(days=1))}


def test_lines_end_with_a_carriage_return_and_are_folded(shop: SmallWorkshop, plan: Plan) -> None:
    """RFC 5545, 3.1: CRLF, and no line longer than 75 octets."""
    text = Client().get(given(shop)).content
    lines = text.split(b"\r\n")
    assert b"\n" not in b"".join(lines)
    assert max(map(len, lines)) <= 75


def test_an_address_taken_back_serves_nothing(shop: SmallWorkshop, plan: Plan) -> None:
    address = given(shop, "weld")
    calendars.take_back(address=CalendarAddress.objects.get())
    assert Client().get(address).status_code == 404


def test_the_token_is_shown_once_and_not_kept(shop: SmallWorkshop, plan: Plan, client: Client) -> None:
    client.force_login(shop.user)
    text = client.post("/week/calendars/give/", {"work_centre": "weld"}).content.decode()
    row = CalendarAddress.objects.get()
    assert f"/week/calendar/{row.begins}" in text
    token = text.split("/week/calendar/")[1].split(".ics")[0]
    assert token not in {str(value) for value in CalendarAddress.objects.values_list("digest", "begins")[0]}
    assert token not in client.get("/week/calendars/").content.decode()


def test_only_who_may_gives_addresses(shop: SmallWorkshop, plan: Plan, client: Client) -> None:
    shop.user.user_permissions.clear()
    client.force_login(shop.user)
    assert client.get("/week/calendars/").status_code == 403
    assert client.post("/week/calendars/give/").status_code == 403


def test_the_week_is_drawn_for_the_wall_once_for_a_form(
    shop: SmallWorkshop, plan: Plan, client: Client
) -> None:
    client.force_login(shop.user)
    form = {"key": f"week:{'a' * 32}", "monday": f"{timezone.localdate():%Y-%m-%d}"}
    for _ in range(2):
        client.post("/week/plans/1/print/", form)
    paper = WeekPaper.objects.get()
    assert paper.monday.weekday() == 0
    draw_week(paper.pk)  # what is done already is left as it is
    answer = client.get(f"/week/papers/{paper.pk}/week.pdf")
    assert answer.content.startswith(b"%PDF")
    assert printing.print_week(plan=plan, monday=paper.monday, by=shop.user, key=paper.key).pk == paper.pk


def test_both_plans_stand_side_by_side(
    shop: SmallWorkshop, plan: Plan, client: Client, django_assert_max_num_queries
) -> None:
    second = plan_with(shop, 1, number=2)
    client.force_login(shop.user)
    cache.clear()
    with django_assert_max_num_queries(20):
        text = client.get("/week/plans/1/compare/2/").content.decode()
    order = second.forecasts.get().order
    assert "only in 2:" in text
    assert order.number in text
