"""The reading process: a request as JSON on standard input, what was found as JSON on standard output.

It bounds its own memory and time before it loads the DXF library, so that a hostile or broken file can at worst end
this process.
"""

from __future__ import annotations

import json
import resource
import sys
from typing import Any

from bom.geometry.dxf import paths, sorting
from bom.geometry.outlines import Contour, to_text

MOST_BYTES_OF_MEMORY = 1_500_000_000
MOST_SECONDS = 20
MOST_FLAWS = 60
MOST_CURVES = 40


def main() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES_OF_MEMORY, MOST_BYTES_OF_MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS + 2))
    json.dump(answer(json.load(sys.stdin)), sys.stdout)


def answer(request: dict[str, Any]) -> dict[str, Any]:
    """What the file holds under the layer rules of the request: {path, unit, rules}."""
    # Loaded here, once the bounds hold: this brings in the DXF library.
    from bom.geometry.dxf import extract

    found = extract.extract(request["path"], request["unit"])
    roles = {layer: paths.role_of(layer, request["rules"]) for layer in found.layers}
    flaws = list(found.flaws)
    for layer, role in roles.items():
        if role is None:
            mend = "Give it a role in the table of layers, then read the file again"
            flaws.append(paths.Flaw("No rule says what this layer is for", mend, layer))
    # A flaw on a layer that is ignored is nobody's business.
    flaws = [flaw for flaw in flaws if roles.get(flaw.layer) != paths.IGNORE]
    usable = [path for path in found.paths if roles[path.layer] not in (None, paths.IGNORE)]
    done = sorting.sort_paths([(roles[path.layer] or "", path) for path in usable])
    if done.outline is None and flaws:
        done.flaws = [flaw for flaw in done.flaws if flaw.layer or flaw.at]
    curves = [path for path in usable if path.kind in paths.CURVES]
    return _as_json(found, roles, [*flaws, *done.flaws], done) | {"curves": _curves(curves)}


def _as_json(found: Any, roles: dict[str, str | None], flaws: list[Any], done: Any) -> dict[str, Any]:
    holes = {id(contour) for contour in done.outline.inners} if done.outline else set()
    rings = [
        _path("hole" if id(ring.contour) in holes else "outside", ring.path, ring.contour.vertices, True)
        for ring in done.rings
    ]
    # The outside first, then the holes in the order of the file.
    rings.sort(key=lambda row: row["use"] != "outside")
    others = [
        _path(use, path, path.vertices, path.is_closed)
        for use, group in (("mark", done.marks), ("bend", done.bends), ("loose", done.loose))
        for path in group
    ]
    return {
        "unit": found.unit,
        "unit_is_stated": found.unit_is_stated,
        "layers": [
            {"name": name, "entities": count, "role": roles[name] or ""}
            for name, count in found.layers.items()
        ],
        "left_out": dict(found.left_out),
        "is_whole": done.outline is not None and not flaws,
        "paths": [*rings, *others],
        "flaw_count": len(flaws),
        "flaws": [
            {"what": one.what, "mend": one.mend, "layer": one.layer, "handle": one.handle, "at": one.at}
            for one in flaws[:MOST_FLAWS]
        ],
    }


def _curves(curves: list[Any]) -> list[dict[str, Any]]:
    """What became chords, each with its place."""
    return [
        {
            "kind": path.kind,
            "layer": path.layer,
            "handle": path.handle,
            "x_mm": path.start[0],
            "y_mm": path.start[1],
            "chords": len(path.edges),
        }
        for path in curves[:MOST_CURVES]
        if path.is_finite
    ]


def _path(use: str, path: Any, vertices: Any, is_closed: bool) -> dict[str, Any]:
    text = to_text(Contour(tuple(vertices)))
    return {"use": use, "layer": path.layer, "handle": path.handle, "vertices": text, "is_closed": is_closed}


if __name__ == "__main__":
    main()
