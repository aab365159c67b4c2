"""The assembly pages: the list of kits, picking, bays, the build sheet."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from bom.kernel.pages import new_key
from bom.ratings.models import ItemDuty
from bom.structure.models import Process
from production.assembly.models import Fastener, Plug
from production.planning.models import Shortage
from production.scheduling.models import PlannedOperation
from production.shop.models import Calendar, WorkCentre
from tests.production.floor import finish, floor_shop, kit_of, operation, released, the_plan, welded
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    shop = floor_shop()
    calendar = Calendar.objects.create(code="day", name="Day")
    WorkCentre.objects.create(
        code="assembly",
        name="Assembly",
        process=Process.objects.get(code="assemble"),
        units=2,
        calendar=calendar,
    )
    return shop


@pytest.fixture
def screen(client, shop):
    client.force_login(shop.user)
    return client


def text(response) -> str:
    return response.content.decode()


def test_a_trailer_is_picked_taken_and_finished_through_the_pages(screen, shop):
    order = welded(shop)
    finish(shop, order, "galvanise")
    shop.stock("RO-RED", "2")
    shop.stock("RO-GREEN", "2")
    line = kit_of(order).lines.get(item__code="RO-RED")
    address = [order.number]

    screen.post(reverse("assembly:pick", args=[order.number, line.pk]))
    assert "1 of 2 lines to pick" in text(screen.get(reverse("assembly:kit", args=address)))
    screen.post(reverse("assembly:pick_all", args=address))
    assert "Take it into a bay" in text(screen.get(reverse("assembly:kit", args=address)))
    screen.post(reverse("assembly:begin", args=address), {"key": new_key("bay"), "bay": "1"})
    refused = screen.post(reverse("assembly:begin", args=address), {"key": new_key("bay"), "bay": "2"})
    screen.post(reverse("assembly:finish", args=address), {"key": new_key("bay")})

    assert refused.status_code == 409
    assert "already in bay 1" in text(refused)
    assert operation(order, "assemble").state == "done"


def test_htmx_gets_the_picking_list_alone_and_sees_a_refusal(screen, shop):
    order = released(shop)
    line = kit_of(order).lines.get(item__code="RO-RED")

    answer = screen.post(
        reverse("assembly:pick", args=[order.number, line.pk]), headers={"HX-Request": "true"}
    )

    assert answer.status_code == 200
    assert "Only 0 of RO-RED" in text(answer)
    assert "<html" not in text(answer)


def test_a_bay_that_does_not_exist_is_refused(screen, shop):
    order = released(shop)
    kit_of(order)
    assert (
        screen.post(
            reverse("assembly:begin", args=[order.number]), {"key": new_key("bay"), "bay": "7"}
        ).status_code
        == 409
    )


def test_the_build_sheet_names_hull_colours_by_side_and_the_torque_caution(screen, shop):
    order = released(shop)
    kit_of(order)

    page = text(screen.get(reverse("assembly:build_sheet", args=[order.number])))

    for words in ("Open boat", "rollers, port", "Red", "rollers, starboard", "Green", "hand winch", "50 km"):
        assert words in page


def test_the_build_sheet_shows_torques_by_joint_coloured_parts_and_the_plugs_contacts(screen, shop):
    order = released(shop)
    kit_of(order)
    Fastener.objects.create(item=shop.items["RO-GREEN"], diameter_mm=12)
    Plug.objects.create(item=shop.items["RO-RED"], poles=13)
    ItemDuty.objects.create(item=shop.items["RO-RED"], duty="rear_lamp")

    page = text(screen.get(reverse("assembly:build_sheet", args=[order.number])))

    # M12, class 8.8: 88.0 N·m by ISO 898-1 (see tests/outside/test_torques.py), ten per cent either side
    assert "79 to 97" in page
    assert "M12 · Roller green" in page
    assert "ISO 898-1" in page
    assert "left direction indicator" in page
    assert page.count("nothing on it") == 7
    assert "Coloured parts" in page


def test_the_list_of_kits_filters_by_how_far_they_are(screen, shop):
    full, short = released(shop), released(shop)
    for order in (full, short):
        kit_of(order)
    shop.stock("RO-RED", "2")
    shop.stock("RO-GREEN", "2")
    screen.post(reverse("assembly:pick_all", args=[full.number]))

    complete = text(screen.get(reverse("assembly:kits"), {"standing": "complete"}))
    waiting = text(screen.get(reverse("assembly:kits"), {"standing": "short"}))

    kit_link = reverse("assembly:kit", args=[full.number])
    assert kit_link in complete
    assert kit_link not in waiting
    assert reverse("assembly:kit", args=[short.number]) in waiting
    assert screen.get(reverse("assembly:kits"), {"as": "xlsx"}).status_code == 200


def test_a_kit_whose_part_comes_too_late_is_named_days_before_its_bay_wants_it(screen, shop):
    near, far = released(shop), released(shop)
    plan, now = the_plan(shop), timezone.now()
    for order, days in ((near, 4), (far, 40)):
        kit_of(order)
        due = timezone.localdate() + timedelta(days=days)
        Shortage.objects.create(
            plan=plan,
            order=order,
            item=shop.items["RO-RED"],
            quantity=2,
            needed_on=due,
            available_on=due + timedelta(days=5),
            days_short=5,
        )
        PlannedOperation.objects.create(
            plan=plan,
            work_centre=WorkCentre.objects.get(),
            operation=operation(order, "assemble"),
            order=order,
            starts_at=now + timedelta(days=days),
            ends_at=now + timedelta(days=days, hours=2),
            minutes=90,
        )

    lead = text(screen.get(reverse("assembly:kits"))).split("Short within 10 days:")[1].split("</header>")[0]
    lacking = text(screen.get(reverse("assembly:kits"), {"standing": "lacking"}))

    assert near.number in lead
    assert "RO-RED" in lead
    assert far.number not in lead
    assert reverse("assembly:kit", args=[far.number]) in lacking


@pytest.mark.parametrize("name", ["kits", "kit", "build_sheet", "bays", "numbers"])
def test_pages_ask_no_more_questions_for_thirty_kits_than_for_three(
    screen, shop, name, django_assert_max_num_queries
):
    orders = [released(shop) for _ in range(30)]
    for order in orders:
        kit_of(order)
    args = [] if name in ("kits", "bays") else [orders[0].number]
    with django_assert_max_num_queries(20):
        assert screen.get(reverse(f"assembly:{name}", args=args)).status_code == 200
