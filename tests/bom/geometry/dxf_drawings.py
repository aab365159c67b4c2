"""Drawings for tests: made with the library, read as the reading process reads them."""

from pathlib import Path

import ezdxf

from bom.geometry.dxf.child import answer

RULES = {"0": "cut", "cut*": "cut", "mark": "mark", "bend": "bend", "frame": "ignore"}


def drawing(unit: int = 4):
    """A new drawing and its model space."""
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = unit
    return document, document.modelspace()


def read(document, folder: Path, unit: str = "", rules=RULES):
    """What the reading process finds in it, in this process."""
    path = folder / "part.dxf"
    document.saveas(path)
    return answer({"path": str(path), "unit": unit, "rules": rules})


def read_text(text: str, folder: Path, unit: str = "", rules=RULES):
    path = folder / "part.dxf"
    path.write_text(text, newline="")
    return answer({"path": str(path), "unit": unit, "rules": rules})


def words(found):
    return [flaw["what"] for flaw in found["flaws"]]


def contours(found):
    return [row["vertices"] for row in found["paths"] if row["use"] in ("outside", "hole")]
