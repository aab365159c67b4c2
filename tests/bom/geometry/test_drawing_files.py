"""Drawing files through their pages: looked at first, accepted once, refused with places, exported and read again."""

import io
import zipfile
from decimal import Decimal

import pytest
from django.contrib.auth.models import Group
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client, TestCase
from openpyxl import load_workbook

from bom.geometry.drawing_models import DrawingRead, LayerRule
from bom.geometry.models import FlatPart
from bom.items.models import Item
from bom.kernel.pages import new_key
from bom.people.models import User
from production.site.roles import MANAGER, VIEWER
from tests.bom.geometry.dxf_drawings import contours, drawing, read_text

pytestmark = pytest.mark.django_db
PART = "FP-JACK"


class _Clerk(Client):
    """A client after whose posts the worker has done its work, as if each request were committed."""

    def post(self, *args, **kwargs):
        with TestCase.captureOnCommitCallbacks(execute=True):
            return super().post(*args, **kwargs)


@pytest.fixture
def manager(workshop):
    return _client(MANAGER)


def _client(role):
    user = User.objects.create_user(f"some-{role}", password="-")
    user.groups.add(Group.objects.get(name=role))
    client = _Clerk()
    client.force_login(user)
    return client


def _content(draw, unit=4):
    document, space = drawing(unit)
    draw(space)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def _good(space):
    space.add_lwpolyline([(50, 50), (170, 50), (170, 140), (50, 140)], close=True)
    space.add_circle((110, 95), 6.5)
    space.add_line((50, 70), (170, 70), dxfattribs={"layer": "BEND"})
    space.add_line((60, 130), (90, 130), dxfattribs={"layer": "MARK"})


def _open_contour(space):
    space.add_line((0, 0), (100, 0))
    space.add_line((100, 0), (100, 50))


def _post(client, content, *, key=None, unit="", code=PART, grade="S355", thickness=8):
    data = {
        "file": SimpleUploadedFile("jack plate.dxf", content), "grade": grade, "thickness_mm": thickness,
        "unit": unit, "key": key or new_key("drawing"),
    }  # fmt: skip
    return client.post(f"/items/{code}/sheet/file/", data)


def _contours(code=PART):
    return list(FlatPart.objects.get(item__code=code).contours.values_list("vertices", flat=True))


def test_a_good_file_is_shown_and_changes_nothing_until_it_is_accepted(manager):
    before = _contours()
    answer = _post(manager, _content(_good))
    shown = manager.get(answer.url)

    assert "It can be cut" in shown.content.decode()
    touched = f"/bills/{PART}/part-change/?drawing={answer.url.rstrip('/').rpartition('/')[2]}"
    assert touched in shown.content.decode()
    assert "still to cut" in manager.get(touched).content.decode()
    assert _contours() == before

    accepted = manager.post(f"{answer.url}accept/")

    part = FlatPart.objects.get(item__code=PART)
    assert accepted.status_code == 302
    assert _contours() == ["0,0,0;120,0,0;120,90,0;0,90,0", "53.5,45,1;66.5,45,1"]
    assert (part.bends, part.fold_lines.count(), part.marks.count(), part.pierces) == (1, 1, 1, 2)
    assert part.item.mass_kg == Decimal("0.6699")


def test_accepting_twice_takes_over_once(manager):
    url = _post(manager, _content(_good)).url
    first = manager.post(f"{url}accept/")
    drawn_at = FlatPart.objects.get(item__code=PART).drawn_at
    second = manager.post(f"{url}accept/")

    assert first.status_code == second.status_code == 302
    assert FlatPart.objects.get(item__code=PART).drawn_at == drawn_at


def test_the_same_form_twice_is_one_reading(manager):
    key = new_key("drawing")
    first, second = (_post(manager, _content(_good), key=key) for _ in range(2))

    assert first.url == second.url
    assert DrawingRead.objects.count() == 1


def test_a_flawed_file_is_drawn_with_its_flaws_and_cannot_be_accepted(manager):
    before = _contours()
    url = _post(manager, _content(_open_contour)).url
    text = manager.get(url).content.decode()

    assert "The contour is open here" in text
    assert "layer 0, entity" in text
    assert 'class="flag"' in text
    assert manager.post(f"{url}accept/").status_code == 409
    assert _contours() == before


def test_a_file_without_unit_is_read_again_with_one(manager):
    url = _post(manager, _content(_good, unit=0)).url
    assert "does not say in which unit" in manager.get(url).content.decode()

    again = manager.post(f"{url}again/", {"unit": "cm", "key": new_key("drawing")})

    assert "1200.0" in manager.get(again.url).content.decode().replace("\u202f", "")


def test_an_older_reading_does_not_overwrite_a_newer_drawing(manager):
    older, newer = (_post(manager, _content(_good)).url for _ in range(2))
    manager.post(f"{newer}accept/")

    answer = manager.post(f"{older}accept/")

    assert answer.status_code == 409
    assert "drawn anew after this file was read" in answer.content.decode()


def test_what_is_no_drawing_ends_in_words(manager):
    for content in (b"PK\x03\x04 nothing", b"\x00\xff" * 500, b"0\nSECTION\n"):
        text = manager.get(_post(manager, content).url).content.decode()
        assert "thing" in text
        assert "to put right" in text


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"content": b"x" * 5_000_001}, "at most 5 MB"),
        ({"content": b""}, "empty"),
        ({"code": "RHS-60x40x3"}, "Only made items are cut"),
        ({"thickness": 0}, "not above 0"),
    ],
)
def test_what_cannot_be_read_is_refused_at_once(manager, change, words):
    answer = _post(manager, **({"content": b"x"} | change))

    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not DrawingRead.objects.exists()


def test_a_bend_that_stays_where_it_was_keeps_its_angle(manager):
    manager.post(f"{_post(manager, _content(_good)).url}accept/")
    line = FlatPart.objects.get(item__code=PART).fold_lines.get()
    type(line).objects.filter(pk=line.pk).update(angle_deg=30, direction="down")

    manager.post(f"{_post(manager, _content(_good)).url}accept/")

    line = FlatPart.objects.get(item__code=PART).fold_lines.get()
    assert (line.angle_deg, line.direction) == (30, "down")


def test_layers_are_the_workshops_own(manager):
    def on_own_layer(space):
        space.add_circle((0, 0), 30, dxfattribs={"layer": "Laser_out"})

    url = _post(manager, _content(on_own_layer)).url
    assert "No rule says what this layer is for" in manager.get(url).content.decode()

    LayerRule.objects.all().delete()
    manager.post("/items/drawing-rules/layers/", {"name": "laser*", "role": "cut"})
    again = manager.post(f"{url}again/", {"unit": "", "key": new_key("drawing")})

    assert LayerRule.objects.filter(name="laser*").exists()
    assert LayerRule.objects.filter(name="bend*").exists(), "the usual rows stay in force"
    assert "It can be cut" in manager.get(again.url).content.decode()


def test_a_part_goes_out_as_a_file_that_comes_back_the_same(manager, tmp_path):
    for code in ("FP-LAMPBR-L", "FP-SRROCK-S", "FP-CAP-60x40"):
        text = manager.get(f"/items/{code}/sheet/part.dxf").content.decode()
        found = read_text(text, tmp_path)

        assert found["is_whole"], found["flaws"]
        assert contours(found) == _contours(code)


def test_a_set_holds_a_file_of_each_part_and_the_list(manager):
    answer = manager.get("/items/flat-parts/set.zip?grade=S275&thickness_mm=4")
    package = zipfile.ZipFile(io.BytesIO(answer.content))
    rows = list(load_workbook(io.BytesIO(package.read("parts.xlsx"))).active.iter_rows(values_only=True))
    expected = set(FlatPart.objects.filter(grade="S275", thickness_mm=4).values_list("item__code", flat=True))

    assert {name.removesuffix(".dxf") for name in package.namelist() if name.endswith(".dxf")} == expected
    assert {row[1] for row in rows[1:]} == expected


def test_a_viewer_looks_but_brings_nothing_in(manager):
    url = _post(manager, _content(_good)).url
    viewer = _client(VIEWER)

    assert viewer.get(url).status_code == 200
    assert viewer.post(f"{url}accept/").status_code == 403
    assert viewer.get(f"/items/{PART}/sheet/file/").status_code == 403


def test_the_reading_that_waits_is_polled_and_can_be_stopped(manager):
    item = Item.objects.get(code=PART)
    read = DrawingRead.objects.create(
        item=item, key="drawing:x", file_name="a.dxf", stored_as="none", grade="S355", thickness_mm=8
    )
    waiting = manager.get(f"/items/drawing-files/{read.pk}/").content.decode()
    manager.post(f"/items/drawing-files/{read.pk}/stop/")
    polled = manager.get(f"/items/drawing-files/{read.pk}/", headers={"HX-Request": "true"})

    assert 'hx-trigger="every 1s"' in waiting
    assert polled.headers["HX-Refresh"] == "true"
    read.refresh_from_db()
    assert read.outcome == DrawingRead.Outcome.CANCELLED
