"""Flat parts and their files against two libraries written apart from this program: shapely and ezdxf."""

import ezdxf
import pytest
import shapely
from ezdxf.math import area as polygon_area

from bom.geometry.dxf.writing import dxf_text
from bom.geometry.outlines import area_mm2, bounding_box, centroid, cut_length_mm, flatten
from bom.geometry.shapes import FAMILIES
from bom.geometry.strips import Line

FLAT_MM = 0.0005


def _shape(outline):
    outer, *inners = (flatten(contour, FLAT_MM) for contour in outline.contours)
    return shapely.Polygon(outer, inners)


def _reread(folder, outline, **more):
    path = folder / "part.dxf"
    path.write_bytes(dxf_text(outline, **more).encode("ascii"))
    return ezdxf.readfile(path)


def _chords(entity):
    """The entity as points, by the library's own reading of its arcs, which it draws as curves true to 0.03 %."""
    return [(point.x, point.y) for point in ezdxf.path.make_path(entity).flattening(FLAT_MM)]


# shapely, BSD licence, https://shapely.readthedocs.io. Status: library used. It knows only straight edges, so the arcs
# are given as chords that stray 0.0005 mm; the figures compared with are exact.
@pytest.mark.parametrize("name", sorted(FAMILIES))
def test_area_centre_length_and_box_as_shapely_finds_them(name):
    outline = FAMILIES[name]()
    shape = _shape(outline)

    assert area_mm2(outline) == pytest.approx(shape.area, rel=1e-5)
    assert centroid(outline) == pytest.approx((shape.centroid.x, shape.centroid.y), abs=1e-3)
    assert cut_length_mm(outline) == pytest.approx(shape.length, rel=1e-5)
    assert bounding_box(outline) == pytest.approx(shape.bounds, abs=1e-3)


# ezdxf, MIT licence, https://ezdxf.readthedocs.io. Status: library used. The file is written without it.
@pytest.mark.parametrize("name", sorted(FAMILIES))
def test_a_written_file_is_sound_and_holds_the_part_as_ezdxf_reads_it(tmp_path, name):
    outline = FAMILIES[name]()
    document = _reread(tmp_path, outline)
    contours = list(document.modelspace())

    assert document.audit().errors == []
    assert document.units == ezdxf.units.MM
    assert len(contours) == len(outline.contours)
    for entity, contour in zip(contours, outline.contours, strict=True):
        assert abs(polygon_area(_chords(entity))) == pytest.approx(contour.area_mm2, rel=4e-4)
        if entity.dxftype() == "POLYLINE":
            read = [(*vertex.dxf.location.vec2, vertex.dxf.bulge) for vertex in entity.vertices]
            assert read == [(vertex.x_mm, vertex.y_mm, vertex.bulge) for vertex in contour.vertices]


def test_bend_lines_and_marks_stand_on_layers_of_their_own(tmp_path):
    outline = FAMILIES["light_bracket"]()
    space = _reread(
        tmp_path, outline, bends=[Line((0, 45), (260, 45))], marks=[(outline.inners[0].vertices, True)]
    )
    by_layer = {
        layer: len(space.modelspace().query(f'*[layer=="{layer}"]')) for layer in ("CUT", "BEND", "MARK")
    }

    assert by_layer == {"CUT": len(outline.contours), "BEND": 1, "MARK": 1}
