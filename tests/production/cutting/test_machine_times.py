"""The machine's own record of cut times: looked at first, mistakes named, laid beside what was reckoned."""

import random
from datetime import datetime, timedelta

import pytest
from django.contrib.auth.models import Permission
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from bom.items.sheets import bring_in_file, look_at_file
from production.cutting.machine_times import MACHINE_TIMES, CutTimesSheet, machine_minutes, machine_pace
from production.cutting.models import CutSheet
from production.cutting.speed_models import MachineTime, SheetReckoning
from tests import broken_files
from tests.production.floor import cut_batch, floor_shop, released

pytestmark = pytest.mark.django_db

HEAD = "batch,sheet,started,ended\n"
IN = "laser:times_in"


@pytest.fixture
def shop():
    return floor_shop()


@pytest.fixture
def sheet(shop):
    return cut_batch(shop, [released(shop)]).sheets.get()


def bring_in(*rows, **more):
    content = (HEAD + "\n".join(rows)).encode()
    return bring_in_file(MACHINE_TIMES, content=content, file="laser.csv", removing=False, **more)


def problems(*rows):
    content = (HEAD + "\n".join(rows)).encode()
    return [
        str(one)
        for one in look_at_file(MACHINE_TIMES, content=content, file="laser.csv", removing=False).problems
    ]


def test_times_of_a_sheet_are_added_up_and_a_second_reading_changes_nothing(sheet):
    rows = ("CB-1,1,2026-05-11 07:00:00,2026-05-11 07:06:30", "CB-1,1,2026-05-11T07:10,2026-05-11T07:12")

    bring_in(*rows)
    again = bring_in(*rows)

    assert machine_minutes([sheet.pk]) == {sheet.pk: 8.5}
    assert (list(again.changes), again.same) == ([], 2)


@pytest.mark.parametrize(
    ("row", "place", "words"),
    [
        pytest.param("CB-9,1,2026-05-11 07:00,2026-05-11 07:06", "column A (batch)", "no batch", id="batch"),
        pytest.param(
            "CB-1,7,2026-05-11 07:00,2026-05-11 07:06", "column B (sheet)", "no sheet 7", id="sheet"
        ),
        pytest.param("CB-1,1,seven,2026-05-11 07:06", "column C (started)", "is no time", id="no time"),
        pytest.param(
            "CB-1,1,2026-05-11 07:00,2026-05-11 06:00", "column D (ended)", "before it", id="before"
        ),
        pytest.param("CB-1,1,2026-05-11 07:00,2026-05-13 07:00", "column D (ended)", "over a day", id="days"),
    ],
)
def test_mistakes_are_named_with_their_place_and_nothing_is_written(sheet, row, place, words):
    [said] = problems("CB-1,1,2026-05-11 06:00,2026-05-11 06:10", row)

    assert f"row 3, {place}" in said
    assert words in said
    assert not MachineTime.objects.exists()


def test_a_time_in_the_future_is_a_wrong_clock(sheet):
    begins = timezone.localtime() + timedelta(hours=1)

    [said] = problems(f"CB-1,1,{begins.isoformat()},{(begins + timedelta(minutes=5)).isoformat()}")

    assert "in the future" in said


def test_the_table_goes_round_without_a_difference(sheet):
    bring_in("CB-1,1,2026-05-11 07:00:00,2026-05-11 07:06:30")
    rows = [",".join(map(str, cells)) for cells in CutTimesSheet().rows_out()]

    assert bring_in(*rows).same == 1


def test_broken_records_end_in_words_and_leave_nothing_behind(sheet):
    bring_in("CB-1,1,2026-05-11 07:00:00,2026-05-11 07:06:30")

    tally = broken_files.try_tables(random.Random(7), 40, MACHINE_TIMES)

    assert tally.faults == []
    assert tally.told > 15


def test_cutting_is_compared_without_loading(sheet):
    SheetReckoning.objects.create(
        sheet=sheet,
        cut_length_mm=5400,
        pierces=4,
        travel_mm=0,
        feed_mm_per_min=1000,
        pierce_seconds=9,
        travel_mm_per_min=60_000,
        sheet_minutes=4,
        source="trial cut",
    )
    bring_in("CB-1,1,2026-05-11 07:00:00,2026-05-11 07:09:00")

    pace = machine_pace()

    assert pace is not None
    assert (pace.sheets, pace.took, pace.reckoned, pace.ratio) == (1, 9.0, 6.0, 1.5)


def test_the_page_looks_first_then_brings_in_and_the_sheet_shows_it(sheet, shop, client):
    client.force_login(shop.user)
    assert client.get(reverse(IN)).status_code == 403
    shop.user.user_permissions.add(Permission.objects.get(codename="set_speeds"))
    content = (HEAD + "CB-1,1,2026-05-11 07:00:00,2026-05-11 07:09:00").encode()

    looked = client.post(reverse(IN), {"file": SimpleUploadedFile("laser.csv", content)})
    assert not MachineTime.objects.exists()
    client.post(reverse(IN), {"digest": looked.context["digest"], "file_name": "laser.csv"})

    assert MachineTime.objects.get().began_at == timezone.make_aware(datetime(2026, 5, 11, 7))
    page = client.get(reverse("laser:sheet", args=["CB-1", 1])).content.decode()
    assert "<b>9 min</b> cutting, by the machine’s own record" in page
    assert CutSheet.objects.get().state == "waiting"
