"""People, jigs, absences and what stands: entered on the pages, and what the scheduler is told of them."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.contrib.auth.models import Permission
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bom.people.models import User
from bom.structure.models import Process
from production.shop.calendars import load_shop
from production.shop.crew_models import Absence, Jig, JigRepair, Skill, Worker
from production.shop.extra_models import ExtraHours
from production.shop.hours import Clock
from production.shop.models import Calendar, CalendarShift, Downtime, WorkCentre

LONDON = ZoneInfo("Europe/London")
MONDAY = date(2026, 5, 11)
EIGHT_HOURS = 480


def at(day: int, hour: int) -> datetime:
    return datetime.combine(MONDAY + timedelta(days=day), time(hour), LONDON)


@pytest.fixture
def welder(db: None) -> Worker:
    process = Process.objects.create(code="weld", name="weld", sequence=40)
    calendar = Calendar.objects.create(code="day", name="day shift")
    CalendarShift.objects.bulk_create(
        CalendarShift(calendar=calendar, weekday=weekday, starts=time(8), ends=time(16))
        for weekday in range(5)
    )
    WorkCentre.objects.create(code="weld", name="weld bays", process=process, units=2, calendar=calendar)
    worker = Worker.objects.create(name="Ash", calendar=calendar)
    worker.skills.add(Skill.objects.create(code="welding", name="welding", process=process))
    return worker


@pytest.fixture
def client(welder: Worker) -> Client:
    user = User.objects.create_user("planner", password="-")
    user.user_permissions.add(Permission.objects.get(codename="change_shop"))
    client = Client()
    client.force_login(user)
    return client


def windows_of(name: str = "Ash") -> list[tuple[int, int]]:
    crew = load_shop(Clock(at(0, 0), LONDON), 3).crew
    return [(one.start, one.end) for hand in crew.hands if hand.code == name for one in hand.windows]


def test_somebody_is_there_in_his_hours_without_his_absences(welder: Worker) -> None:
    Absence.objects.create(worker=welder, starts_at=at(1, 12), ends_at=at(3, 0), reason="course")

    assert windows_of() == [(480, 960), (1920, 2160)]


def test_whoever_has_the_skill_stays_for_overtime(welder: Worker) -> None:
    centre = WorkCentre.objects.get()
    ExtraHours.objects.create(
        work_centre=centre, date=MONDAY, kind=ExtraHours.Kind.OVERTIME, starts=time(16), ends=time(18)
    )

    assert windows_of()[0] == (480, 1080)


def test_a_skill_that_nobody_here_has_is_not_asked_for(welder: Worker) -> None:
    crew = load_shop(Clock(at(0, 0), LONDON), 3).crew
    assert crew.skill_of == {"weld": "welding"}

    Worker.objects.update(is_active=False)

    assert load_shop(Clock(at(0, 0), LONDON), 3).crew.skill_of == {}


def test_a_jig_away_for_repair_is_told_in_minutes(welder: Worker) -> None:
    jig = Jig.objects.create(code="long", name="long jig", units=2)
    JigRepair.objects.create(jig=jig, starts_at=at(-1, 0), ends_at=at(0, 10), reason="clamp")
    JigRepair.objects.create(jig=jig, starts_at=at(1, 0), ends_at=at(1, 12), units=1, reason="clamp")

    [figures] = load_shop(Clock(at(0, 0), LONDON), 3).crew.jigs

    assert (figures.code, figures.units, figures.out) == ("long", 2, ((0, 600, 2), (1440, 2160, 1)))


def span(prefix: str, first: date, last: date, **more: object) -> dict[str, object]:
    fields = {"first_day": first, "last_day": last, "reason": "ill", **more}
    return {f"{prefix}-{name}": value for name, value in fields.items()}


def test_an_absence_is_entered_for_whole_days_and_ended_sooner(client: Client, welder: Worker) -> None:
    today = timezone.localdate()
    entered = span("absence", today, today + timedelta(days=2), worker=welder.pk)
    assert client.post(reverse("shop:note", args=["absence"]), entered).status_code == 302
    absence = Absence.objects.get()
    assert timezone.localtime(absence.ends_at) - timezone.localtime(absence.starts_at) >= timedelta(days=2)
    assert "Ash" in client.get(reverse("shop:away")).content.decode()

    client.post(reverse("shop:end", args=["absence", absence.pk]))

    absence.refresh_from_db()
    assert absence.ends_at <= timezone.now()


def test_nobody_is_away_twice_at_the_same_time(client: Client, welder: Worker) -> None:
    today = timezone.localdate()
    entered = span("absence", today, today, worker=welder.pk)
    client.post(reverse("shop:note", args=["absence"]), entered)

    answer = client.post(reverse("shop:note", args=["absence"]), entered)

    assert answer.status_code == 400
    assert "Ash is away then already (ill)" in answer.content.decode()
    assert Absence.objects.count() == 1


def test_what_has_not_begun_is_taken_back_whole(client: Client, welder: Worker) -> None:
    soon = timezone.localdate() + timedelta(days=3)
    centre = WorkCentre.objects.get()
    client.post(
        reverse("shop:note", args=["standing"]), span("standing", soon, soon, work_centre=centre.pk, units=1)
    )
    row = Downtime.objects.get()
    assert row.units == 1

    client.post(reverse("shop:end", args=["standing", row.pk]))

    assert not Downtime.objects.exists()


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        pytest.param({"units": 3}, "3 cannot stand where there are 2", id="more than there are"),
        pytest.param({"starts": "16:00", "ends": "09:00"}, "It must end after it starts", id="backwards"),
        pytest.param({"reason": ""}, "This field is required", id="no reason"),
    ],
)
def test_what_makes_no_sense_is_refused(
    client: Client, welder: Worker, changed: dict[str, object], words: str
) -> None:
    today = timezone.localdate()
    centre = WorkCentre.objects.get()
    entered = span("standing", today, today, work_centre=centre.pk, **changed)

    answer = client.post(reverse("shop:note", args=["standing"]), entered)

    assert words in answer.content.decode()
    assert not Downtime.objects.exists()


def test_people_and_skills_are_kept_on_their_page(client: Client, welder: Worker) -> None:
    saw = Process.objects.create(code="saw", name="saw", sequence=20)
    client.post(reverse("shop:skill"), {"process": saw.pk, "name": "sawing", "code": "sawing"})
    sawing = Skill.objects.get(code="sawing")
    data = {"name": "Ash Fenn", "calendar": welder.calendar_id, "skills": [sawing.pk], "is_active": "on"}

    client.post(reverse("shop:worker", args=[welder.pk]), data)

    welder.refresh_from_db()
    assert (welder.name, list(welder.skills.all())) == ("Ash Fenn", [sawing])
    assert "Ash Fenn" in client.get(reverse("shop:people")).content.decode()


def test_a_name_is_given_once(client: Client, welder: Worker) -> None:
    data = {"name": "Ash", "calendar": welder.calendar_id, "is_active": "on"}

    answer = client.post(reverse("shop:people"), data)

    assert "already exists" in answer.content.decode()
    assert Worker.objects.count() == 1


def test_a_jig_is_kept_on_its_page(client: Client) -> None:
    client.post(reverse("shop:jigs"), {"code": "long", "name": "long jig", "units": 2})

    client.post(reverse("shop:jig", args=["long"]), {"code": "long", "name": "long jig", "units": 3})

    assert [(jig.code, jig.units) for jig in Jig.objects.all()] == [("long", 3)]


def test_only_who_may_changes_the_shop(welder: Worker) -> None:
    client = Client()
    client.force_login(User.objects.create_user("looker", password="-"))

    assert client.get(reverse("shop:away")).status_code == 200
    assert client.post(reverse("shop:people"), {"name": "X"}).status_code == 403
    assert client.post(reverse("shop:note", args=["absence"]), {}).status_code == 403
