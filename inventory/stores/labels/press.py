"""Sets labels on pages. Run as a process of its own, because the typesetter is large and the web process stays lean:

    python -m inventory.stores.labels.press < labels.json > labels.pdf

The same input gives the same bytes. Leaves with 2 and one line on stderr where a label cannot be set.
"""

from __future__ import annotations

import io
import json
import re
import sys
from pathlib import Path
from typing import Any

import segno
import typst

# A word longer than this may be broken.
LONGEST_PIECE = 12
MAY_BREAK = "\u200b"
SOURCE = Path(__file__).with_name("labels.typ").read_text(encoding="utf-8")


def set_labels(data: dict[str, Any], *, form: str = "pdf", ppi: float = 203) -> bytes:
    """The document for `data` (see `printing.document`), as PDF or, page one only, as PNG.

    Raises:
        RuntimeError: a text does not fit its label, or holds a sign that the typeface lacks.
    """
    for page in data["pages"]:
        for label in page:
            label["svg"] = _symbol(label["code"])
            label["title_pieces"] = _breakable(label["title"])
            label["title_longest"] = _longest([label["title"]])
            label["longest"] = _longest(label["lines"])
            label["lines"] = [_breakable(line) for line in label["lines"]]
    told: Any = {"ignore_system_fonts": True, "sys_inputs": {"data": json.dumps(data)}, "format": form}
    # PDF/UA-1 makes a sign that no typeface has an error instead of an empty box.
    told |= {"pdf_standards": "ua-1", "timestamp": 0} if form == "pdf" else {"ppi": ppi}
    try:
        made: Any = typst.compile(SOURCE.encode(), **told)
    except typst.TypstError as refusal:
        raise RuntimeError(_sentence(str(refusal))) from None
    return bytes(made if isinstance(made, bytes) else made[0])


def _pieces(word: str) -> list[str]:
    """A word cut where a line may be broken: after its signs, and within what is still very long."""
    parts = re.findall(r"[^-/._]*[-/._]+|[^-/._]+", word)
    return [part[at : at + LONGEST_PIECE] for part in parts for at in range(0, len(part), LONGEST_PIECE)]


def _breakable(text: str) -> str:
    return " ".join(
        MAY_BREAK.join(_pieces(word)) if len(word) > LONGEST_PIECE else word for word in text.split(" ")
    )


def _longest(lines: list[str]) -> str:
    return max(re.split(rf"[ {MAY_BREAK}]", _breakable(" ".join(lines))), key=len)


def _symbol(code: str) -> str:
    """A QR code with the quiet zone of four modules that ISO/IEC 18004 asks for."""
    out = io.BytesIO()
    segno.make(code, error="m", micro=False).save(out, kind="svg", border=4, xmldecl=False)
    return out.getvalue().decode()


def _sentence(refusal: str) -> str:
    if "too small: " in refusal:
        name = refusal.split("too small: ", 1)[1].split('"')[0].strip()
        return f"The text of {name} does not fit on a label of this size"
    if "could not be displayed" in refusal:
        return f"A sign cannot be printed: {refusal.split('error: ', 1)[-1].splitlines()[0]}"
    return f"The labels could not be set: {refusal.splitlines()[0]}"


def main() -> int:
    try:
        made = set_labels(json.load(sys.stdin))
    except RuntimeError as refusal:
        sys.stderr.write(f"{refusal}\n")
        return 2
    sys.stdout.buffer.write(made)
    return 0


if __name__ == "__main__":
    sys.exit(main())
