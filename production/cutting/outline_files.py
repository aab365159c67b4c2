"""One outline with its holes from a DXF file, read by a process of its own. No Django."""

from __future__ import annotations

from bom.geometry.dxf.asking import ask
from bom.geometry.outlines import FlatOutline, from_text
from bom.kernel.errors import Problem, ProblemError

# What a layer is for when nobody says it: cut, unless its name is a usual one for something else (common
# practice, no source).
LAYERS = {
    "*": "cut",
    "mark*": "mark",
    "engrave*": "mark",
    "bend*": "bend",
    "fold*": "bend",
    "dim*": "ignore",
    "text*": "ignore",
    "frame*": "ignore",
    "defpoints": "ignore",
}


def read_outline(path: str) -> FlatOutline:
    """The outline the file holds, as drawn. A drawing that does not state its unit is taken to be in mm.

    Raises `ProblemError` with everything that is wrong in it.
    """
    answer = ask(path, unit="mm", rules=LAYERS)
    contours = [from_text(row["vertices"]) for row in answer["paths"] if row["use"] in ("outside", "hole")]
    if not answer["is_whole"] or not contours:
        raise ProblemError(
            *[_flaw(flaw) for flaw in answer["flaws"]]
            or [Problem("The drawing holds no closed outline", mend="Draw the part as closed contours")]
        )
    outer, *inners = contours
    return FlatOutline(outer, tuple(inners))


def _flaw(flaw: dict[str, object]) -> Problem:
    places = [f"{name} {flaw[name]}" for name in ("layer", "handle") if flaw.get(name)]
    return Problem(str(flaw["what"]), ", ".join(places), str(flaw["mend"]))
