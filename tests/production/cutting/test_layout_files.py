"""A sheet's layout as a file, read again by a library that did not write it for us: areas and places agree."""

import io
import math

import ezdxf
import pytest
from django.urls import reverse
from ezdxf import bbox

from tests.production.floor import cut_batch, floor_shop, released

pytestmark = pytest.mark.django_db


def test_the_file_holds_every_part_where_it_lies(client):
    shop = floor_shop()
    batch = cut_batch(shop, [released(shop)])
    placed = batch.sheets.get().placements.first()
    placed.rotation_deg, placed.x_mm = 90, 1500
    placed.save()
    client.force_login(shop.user)

    answer = client.get(reverse("laser:dxf", args=["CB-1", 1]))

    assert answer["Content-Disposition"] == 'attachment; filename="CB-1-1.dxf"'
    document = ezdxf.read(io.StringIO(answer.content.decode()))
    assert document.units == ezdxf.units.MM
    space = document.modelspace()
    outside = [bbox.extents([one]) for one in space.query('LWPOLYLINE[layer=="OUTSIDE"]')]
    assert sorted((round(box.extmin.x), round(box.extmin.y)) for box in outside) == [
        (220, 10), (430, 10), (640, 10), (1400, 10),
    ]  # fmt: skip
    holes = list(space.query('LWPOLYLINE[layer=="HOLE"]'))
    assert len(holes) == 4
    assert {round(bbox.extents([one]).size.x, 3) for one in holes} == {20.0}
    assert all(math.isclose(abs(point[2]), 1.0) for one in holes for point in one.get_points("xyb"))
    [edge] = space.query('LWPOLYLINE[layer=="SHEET"]')
    assert bbox.extents([edge]).size.x == 2000
