"""The command that nests a folder: its file of results agrees with the drawings, and mistakes are named."""

import io
import json
import math
from itertools import combinations

import ezdxf
import pytest
from django.core.management import CommandError, call_command
from ezdxf import path as dxf_path
from shapely import affinity
from shapely.geometry import Polygon

GAP_MM, MARGIN_MM = 8.0, 10.0


def draw(file, width, height, hole_radius=0.0, unit=4, at=(0.0, 0.0), layer="0"):
    """A plate with half-round ends and perhaps a round hole, its corner at `at`, in the file's own unit."""
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = unit
    space = document.modelspace()
    x, y = at
    space.add_lwpolyline(
        [(x, y, 0), (x + width, y, 1), (x + width, y + height, 0), (x, y + height, 1)],
        format="xyb",
        close=True,
        dxfattribs={"layer": layer},
    )
    if hole_radius:
        space.add_circle((x + width / 2, y + height / 2), hole_radius, dxfattribs={"layer": layer})
    document.saveas(file)


def folder_with(tmp_path, rows, header="file,quantity,rotations"):
    (tmp_path / "parts.csv").write_text("\n".join([header, *rows]) + "\n")
    return tmp_path


def run(folder, *more):
    """What the command printed and wrote."""
    out, results = io.StringIO(), folder / "out.json"
    call_command(
        "nest", str(folder), *more, "--gap", str(GAP_MM), "--margin", str(MARGIN_MM), "--seconds", "1",
        "--seed", "1", "--json", str(results), stdout=out, stderr=io.StringIO(),
    )  # fmt: skip
    return out.getvalue(), json.loads(results.read_text())


def refusal(folder, *more):
    with pytest.raises(CommandError) as caught:
        run(folder, *(more or ("--sheet", "600x400")))
    return caught.value


def drawn_polygon(file):
    """The outline read afresh, arcs as chords that stray no further than a thousandth of a millimetre."""
    rings = []
    for entity in ezdxf.readfile(file).modelspace():
        points = [(p.x, p.y) for p in dxf_path.make_path(entity).flattening(0.001)]
        rings.append(Polygon(points))
    rings.sort(key=lambda ring: -ring.area)
    return Polygon(rings[0].exterior, [ring.exterior for ring in rings[1:]])


def placed_polygons(folder, answer):
    """By sheet every part turned about its origin, then moved."""
    found = {}
    for one in answer["placements"]:
        polygon = drawn_polygon(folder / one["file"])
        if one["mirrored"]:
            polygon = affinity.scale(polygon, -1, 1, origin=(0, 0))
        polygon = affinity.rotate(polygon, one["rotation_deg"], origin=(0, 0))
        found.setdefault(one["sheet"], []).append(affinity.translate(polygon, one["x_mm"], one["y_mm"]))
    return found


def test_the_results_keep_gap_margin_numbers_and_rotations_when_the_drawings_are_read_again(tmp_path):
    draw(tmp_path / "ring.dxf", 100, 200, 70, at=(50, -30))
    draw(tmp_path / "tab.dxf", 40, 30)
    folder = folder_with(tmp_path, ["ring.dxf,5,0 90", "tab.dxf,9,0"])

    printed, answer = run(folder, "--sheet", "900x500")

    on_sheets = placed_polygons(folder, answer)
    assert sum(map(len, on_sheets.values())) == 14
    assert answer["unplaced"] == []
    for sheet in answer["sheets"]:
        polygons = on_sheets[sheet["number"]]
        assert all(one.distance(other) >= GAP_MM - 1e-3 for one, other in combinations(polygons, 2))
        box = Polygon([(10, 10), (890, 10), (890, 490), (10, 490)]).buffer(1e-3)
        assert all(box.covers(one) for one in polygons)
        area = sum(one.area for one in polygons) / (900 * 500)
        assert math.isclose(sheet["use"], area, abs_tol=2e-3)
        assert (sheet["length_mm"], sheet["width_mm"]) == (900, 500)
    turns = {(one["file"], one["rotation_deg"]) for one in answer["placements"]}
    assert turns <= {("ring.dxf", 0.0), ("ring.dxf", 90.0), ("tab.dxf", 0.0)}
    assert "ring.dxf" in printed
    assert "the area alone needs" in printed
    assert "another run with the same seed may lay the parts out differently" in printed


def draw_offcut(file, at=(0.0, 0.0)):
    """An offcut with a step at its upper right and a rectangular hole at its left."""
    x, y = at
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    for corners in (
        [(0, 0), (800, 0), (800, 200), (500, 200), (500, 400), (0, 400)],
        [(40, 40), (240, 40), (240, 360), (40, 360)],
    ):
        space.add_lwpolyline([(x + dx, y + dy) for dx, dy in corners], close=True)
    document.saveas(file)


def test_offcuts_are_used_first_and_parts_lie_on_their_metal(tmp_path):
    draw_offcut(tmp_path / "rest.dxf", at=(1000, -50))
    draw(tmp_path / "plate.dxf", 100, 100)
    folder = folder_with(tmp_path, ["plate.dxf,3,0 90"])

    printed, answer = run(folder, "--sheet", "900x500", "--offcut", str(tmp_path / "rest.dxf"))

    [sheet] = answer["sheets"]
    assert sheet["offcut"] == str(tmp_path / "rest.dxf")
    assert sheet["corner_mm"] == [1000, -50]
    assert "rest.dxf" in printed
    metal = drawn_polygon(tmp_path / "rest.dxf").buffer(1e-3 - MARGIN_MM)
    parts = [affinity.translate(one, 1000, -50) for one in placed_polygons(folder, answer)[1]]
    assert len(parts) == 3
    assert all(metal.covers(one) for one in parts)


def test_offcuts_alone_may_leave_parts_over(tmp_path):
    draw_offcut(tmp_path / "rest.dxf")
    draw(tmp_path / "plate.dxf", 100, 100)
    folder = folder_with(tmp_path, ["plate.dxf,60,0 90"])

    assert refusal(folder, "--offcut", str(tmp_path / "rest.dxf")).returncode == 3


def test_without_time_the_first_layout_is_made_the_same_in_every_run(tmp_path):
    draw(tmp_path / "plate.dxf", 120, 70)
    folder = folder_with(tmp_path, ["plate.dxf,12,0 90"])
    answers = []
    for name in ("one.json", "other.json"):
        out = io.StringIO()
        results = ("--seconds", "0", "--json", str(folder / name))
        call_command("nest", str(folder), "--sheet", "900x500", *results, stdout=out)
        assert "the same in every run" in out.getvalue()
        answers.append(json.loads((folder / name).read_text()))

    assert answers[0] == answers[1]


def test_a_drawing_in_inches_is_laid_in_millimetres(tmp_path):
    draw(tmp_path / "plate.dxf", 4, 2, unit=1)
    folder = folder_with(tmp_path, ["plate.dxf,1,0"])

    _, answer = run(folder, "--sheet", "300x200")

    [sheet] = answer["sheets"]
    area = (4 * 2 + math.pi) * 25.4**2
    assert math.isclose(sheet["use"] * 300 * 200, area, rel_tol=2e-3)


def test_semicolons_a_byte_order_mark_and_columns_in_another_order_are_read(tmp_path):
    draw(tmp_path / "tab.dxf", 40, 30)
    (tmp_path / "parts.csv").write_text("\ufeffquantity;mirror;file;rotations\n3;yes;tab.dxf;90°\n")

    _, answer = run(tmp_path, "--sheet", "300x200")

    assert len(answer["placements"]) == 3
    assert {one["rotation_deg"] for one in answer["placements"]} == {90.0}


def test_parts_that_fit_no_sheet_are_left_over_with_an_exit_code_and_the_rest_is_written(tmp_path):
    draw(tmp_path / "long.dxf", 900, 30)
    draw(tmp_path / "tab.dxf", 40, 30)
    folder = folder_with(tmp_path, ["long.dxf,2,0", "tab.dxf,3,0"])

    refused = refusal(folder, "--sheet", "600x400")

    assert refused.returncode == 3
    answer = json.loads((folder / "out.json").read_text())
    assert [(one["file"], one["quantity"]) for one in answer["unplaced"]] == [("long.dxf", 2)]
    assert len(answer["placements"]) == 3


def test_sheets_that_are_counted_run_out(tmp_path):
    draw(tmp_path / "plate.dxf", 300, 300)
    folder = folder_with(tmp_path, ["plate.dxf,3,0"])

    refused = refusal(folder, "--sheet", "700x400:20:2")

    assert refused.returncode == 3
    answer = json.loads((folder / "out.json").read_text())
    assert len(answer["sheets"]) == 2
    assert answer["unplaced"][0]["reason"] == "no sheet is left to cut it from"


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        pytest.param(["none.dxf,1,0"], "parts.csv, line 2, column file: “none.dxf” is no file", id="no file"),
        pytest.param(["../tab.dxf,1,0"], "“../tab.dxf” is no file in the folder", id="outside the folder"),
        pytest.param(["tab.dxf,-1,0"], "line 2, column quantity: “-1” is no whole number", id="quantity"),
        pytest.param(["tab.dxf,1,ninety"], "column rotations: “ninety” are not angles", id="rotation"),
        pytest.param(["tab.dxf,1,nan"], "“nan” are not angles", id="no number"),
        pytest.param(["tab.dxf,1,0", "tab.dxf,2,0"], "line 3, column file: “tab.dxf” is listed twice", id="twice"),
        pytest.param(["broken.dxf,1,0"], "line 2, broken.dxf: ", id="no drawing"),
        pytest.param(["open.dxf,1,0"], "line 2, open.dxf", id="open contour"),
        pytest.param([], "The list has 0 rows", id="empty"),
        pytest.param(['"tab.dxf,1,0'], "cannot be read", id="quotes"),
    ],
)  # fmt: skip
def test_mistakes_are_named_with_their_place_and_nothing_is_written(tmp_path, rows, words):
    draw(tmp_path / "tab.dxf", 40, 30)
    (tmp_path / "broken.dxf").write_bytes(b"\x00\x01 no drawing")
    document = ezdxf.new("R2010")
    document.modelspace().add_lwpolyline([(0, 0), (10, 0), (10, 10)])
    document.saveas(tmp_path / "open.dxf")

    refused = refusal(folder_with(tmp_path, rows))

    assert words in str(refused)
    assert refused.returncode == 1
    assert not (tmp_path / "out.json").exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--sheet", "600"), "“600” is no size"),
        (("--sheet", "600x400", "--sheet", "600x400:5"), "A size is given twice"),
        (("--sheet", "0x400"), "Length and width must be above 0 mm"),
        (("--offcut", "none.dxf"), "--offcut none.dxf"),
        (("--gap", "5"), "No sheet is given"),
    ],
)
def test_sheets_that_make_no_sense_are_refused(tmp_path, options, words):
    draw(tmp_path / "tab.dxf", 40, 30)

    assert words in str(refusal(folder_with(tmp_path, ["tab.dxf,1,0"]), *options))


def test_a_folder_without_a_list_and_no_folder_are_refused(tmp_path):
    assert "There is no such file" in str(refusal(tmp_path))
    assert "There is no such folder" in str(refusal_at(tmp_path / "none"))


def refusal_at(folder):
    with pytest.raises(CommandError) as caught:
        call_command("nest", str(folder), "--sheet", "600x400", stdout=io.StringIO())
    return caught.value


def test_a_list_without_its_columns_is_refused(tmp_path):
    folder = folder_with(tmp_path, ["a.dxf,1"], header="file,number")

    assert "The first row must name quantity, rotations once" in str(refusal(folder))


def test_results_that_cannot_be_written_are_an_error(tmp_path):
    draw(tmp_path / "tab.dxf", 40, 30)
    folder = folder_with(tmp_path, ["tab.dxf,1,0"])

    with pytest.raises(CommandError, match="could not be written"):
        call_command(
            "nest", str(folder), "--sheet", "300x200", "--seconds", "0", "--json", str(tmp_path / "no" / "a.json"),
            stdout=io.StringIO(),
        )  # fmt: skip
