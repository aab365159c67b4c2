"""The sheet of a part and the rules it is drawn by, as people use them."""

from decimal import Decimal

import pytest
from django.contrib.auth.models import Group
from django.test import Client

from bom.geometry.models import BendValue, FlatPart, HouseRule, SectionProfile
from bom.geometry.part_sheet import part_sheet
from bom.items.models import Item
from bom.people.models import User
from production.site.roles import MANAGER, STORES

pytestmark = pytest.mark.django_db
LAMP = "FP-LAMPBR-L"


def _client(role):
    user = User.objects.create_user("somebody", password="-")
    user.groups.add(Group.objects.get(name=role))
    client = Client()
    client.force_login(user)
    return client


def _bends(*rows):
    data = {"bends-TOTAL_FORMS": len(rows), "bends-INITIAL_FORMS": 0}
    names = ("x1_mm", "y1_mm", "x2_mm", "y2_mm", "angle_deg", "inside_radius_mm", "direction")
    for at, row in enumerate(rows):
        data |= {f"bends-{at}-{name}": value for name, value in zip(names, row, strict=True)}
    return data


def test_every_folded_part_of_the_workshop_has_its_bends_worked_out(workshop):
    folded = Item.objects.filter(flat_part__bends__gt=0)

    assert folded.count() > 15
    for item in folded:
        folding = part_sheet(item).folding
        assert len(folding.rows) == item.flat_part.bends
        assert folding.sketch is not None
        assert folding.outside_mm > folding.flat_mm


def test_the_right_hand_is_bent_as_the_mirror_image(workshop):
    left, right = (part_sheet(Item.objects.get(code=f"FP-MUDBR-S-{hand}")).folding for hand in "LR")

    assert [leg.flat_mm for leg in left.legs] == pytest.approx(
        [leg.flat_mm for leg in reversed(right.legs)], abs=0.1
    )


def test_the_page_shows_area_bends_and_working(workshop):
    text = _client(STORES).get(f"/items/{LAMP}/sheet/").content.decode()

    assert "Cut length" in text
    assert "BA = π/180 × 90" in text
    assert "Change the bends" not in text


def test_a_bend_list_replaces_the_old_one_and_a_second_post_changes_nothing(workshop):
    client = _client(MANAGER)
    data = _bends(
        (0, 40, 190, 40, 90, 4, "up"), (0, 80, 190, 80, 45, 4, "down"), ("", "", "", "", 90, "", "up")
    )
    for _ in range(2):
        assert client.post(f"/items/{LAMP}/sheet/bends/", data).status_code == 302

    part = FlatPart.objects.get(item__code=LAMP)
    assert part.bends == part.fold_lines.count() == 2
    assert "45°" in client.get(f"/items/{LAMP}/sheet/").content.decode()


@pytest.mark.parametrize(
    ("row", "status", "words"),
    [
        pytest.param((0, 500, 190, 500, 90, 4, "up"), 409, "does not cross the part", id="beside"),
        pytest.param((5, 5, 5, 5, 90, 4, "up"), 409, "no length", id="a point"),
        pytest.param((0, 40, 190, 40, 180, 4, "up"), 409, "cannot turn by 180°", id="flat on itself"),
        pytest.param((0, 40, 190, "x", 90, 4, "up"), 422, "Enter a number", id="no number"),
    ],
)
def test_a_bend_that_cannot_be_made_is_refused_with_its_place(workshop, row, status, words):
    answer = _client(MANAGER).post(f"/items/{LAMP}/sheet/bends/", _bends(row))

    assert answer.status_code == status
    assert words in answer.content.decode()
    assert FlatPart.objects.get(item__code=LAMP).bends == 1


def test_a_short_flange_is_told_on_the_page(workshop):
    client = _client(MANAGER)
    client.post(f"/items/{LAMP}/sheet/bends/", _bends((0, 8, 190, 8, 90, 4, "up")))

    assert "less than the 16.8 mm that die" in client.get(f"/items/{LAMP}/sheet/").content.decode()


def test_the_workshop_may_work_to_din_6935(workshop):
    before = part_sheet(Item.objects.get(code=LAMP)).folding
    _client(MANAGER).post("/items/drawing-rules/", {"bend_rule": "din_6935", "vent_rule": "table_of_holes"})
    after = part_sheet(Item.objects.get(code=LAMP)).folding

    assert "DIN 6935" in after.source
    assert after.outside_mm != before.outside_mm
    assert HouseRule.in_force().vent_rule == "table_of_holes"


def test_a_row_of_the_press_brake_is_changed_and_taken_out(workshop):
    client, row = _client(MANAGER), BendValue.objects.get(thickness_mm=3)
    data = {
        "thickness_mm": 3, "inside_radius_mm": 3, "k_factor": "0.4", "die_opening_mm": 20,
        "least_flange_mm": 14, "source": "our own test strip",
    }  # fmt: skip
    client.post(f"/items/drawing-rules/press-brake/{row.pk}/", data)

    assert "our own test strip" in client.get(f"/items/{LAMP}/sheet/").content.decode()

    client.post(f"/items/drawing-rules/press-brake/{row.pk}/", {"take_out": "yes"})
    assert "has no row for 3 mm" in client.get(f"/items/{LAMP}/sheet/").content.decode()

    client.post("/items/drawing-rules/usual/")
    assert BendValue.objects.filter(thickness_mm=3).count() == 1


def test_dimensions_of_a_section_give_its_mass_and_surface(workshop):
    item = Item.objects.get(code="RHS-60x40x3")
    SectionProfile.objects.filter(item=item).delete()
    Item.objects.filter(pk=item.pk).update(mass_kg=0, surface_m2=0)
    data = {"standard": "en_10219", "height_mm": 60, "breadth_mm": 40, "wall_mm": 3, "root_radius_mm": 0}

    answer = _client(MANAGER).post(f"/items/{item.code}/sheet/section/", data)

    item.refresh_from_db()
    assert answer.status_code == 302
    assert item.mass_kg == Decimal("4.25")
    assert item.surface_m2 == pytest.approx(Decimal("0.18970"))


def test_walls_that_meet_are_refused(workshop):
    data = {"standard": "en_10219", "height_mm": 60, "breadth_mm": 40, "wall_mm": 20, "root_radius_mm": 0}
    answer = _client(MANAGER).post("/items/RHS-60x40x3/sheet/section/", data)

    assert answer.status_code == 409
    assert "meet in the middle" in answer.content.decode()


def test_holes_are_recorded_on_the_page(workshop):
    data = {
        "holes-TOTAL_FORMS": 2, "holes-INITIAL_FORMS": 0,
        "holes-0-end": 1, "holes-0-purpose": "vent", "holes-0-diameter_mm": 15, "holes-0-count": 1,
        "holes-1-end": 2, "holes-1-purpose": "drain", "holes-1-diameter_mm": 15, "holes-1-count": 1,
    }  # fmt: skip
    client = _client(MANAGER)
    assert "not met" in client.get("/items/SW-GUIDE/sheet/").content.decode()

    client.post("/items/SW-GUIDE/sheet/vents/", data)

    assert "end 1: 1 × 15 mm vent" in client.get("/items/SW-GUIDE/sheet/").content.decode()


def test_stores_may_look_but_not_draw(workshop):
    client = _client(STORES)
    for address in ("bends", "vents", "judge", "section"):
        assert client.post(f"/items/{LAMP}/sheet/{address}/").status_code == 403
    assert client.post("/items/drawing-rules/", {}).status_code == 403
