"""A sheet's layout as DXF, written by a process of its own: the web process must not load the library.

Reads {"length_mm", "width_mm", "contours": [{"layer", "vertices": [[x, y, bulge], …]}]} from standard input and
writes the file to standard output. Units are millimetres; arcs stay arcs (bulges of light polylines).
"""

from __future__ import annotations

import io
import json
import sys

import ezdxf
from ezdxf import units

LAYERS = {"SHEET": 8, "OUTSIDE": 7, "HOLE": 1}


def drawn(job: dict[str, object]) -> str:
    """The text of the file."""
    document = ezdxf.new("R2000", setup=False)
    document.units = units.MM
    for name, colour in LAYERS.items():
        document.layers.add(name, color=colour)
    space = document.modelspace()
    contours = job["contours"]
    assert isinstance(contours, list)
    for contour in contours:
        space.add_lwpolyline(
            contour["vertices"], format="xyb", close=True, dxfattribs={"layer": contour["layer"]}
        )
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue()


if __name__ == "__main__":
    sys.stdout.write(drawn(json.load(sys.stdin)))
