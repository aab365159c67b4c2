"""Two hundred broken inputs: drawings, workbooks, pasted counts and expressions, changed by a seeded hand.

Each ends in words with a place, or is good after all; none in a fault of the program, and nothing refused leaves a
row behind.
"""

import io
import random
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from django.db import transaction
from django.db.models import Model

from bom.geometry.dxf.child import answer
from bom.geometry.dxf.writing import dxf_text
from bom.geometry.outlines import Vertex
from bom.geometry.shapes import FAMILIES
from bom.geometry.strips import Line
from bom.items.importing import COLUMNS, EXAMPLE, bring_in_items
from bom.items.models import Item
from bom.items.sheets import Desk, look_at_file
from bom.kernel import exporting
from bom.kernel.attachments import PAPERS, read_attachment
from bom.kernel.errors import ProblemError
from bom.structure.conditions import compile_condition, compile_quantity
from bom.structure.models import BillLine, Revision
from inventory.stock.models import Posting
from inventory.stores.pasting import read_counts
from production.site.bills.whole import HEADINGS, look_at_bills, rows_out
from tests.bom.geometry.dxf_drawings import RULES, drawing

ODD = ["nan", "inf", "-1e300", "1e9", "9" * 40, "", " ", "x", "\x00", "é", "=1+1", "0x10", "'", "-0", "1,5"]
EXPRESSIONS = (
    "option.winch == 'manual' && hull.length_mm > 5000",
    "model.axles == 2 ? 4 : 2",
    "2 * ceil(hull.length_mm / 3000)",
    "colour.port == 'black' || finish == 'galvanised'",
    "max(0, hull.mass_kg / 500.0 - 1.0)",
)
CERTIFICATE = b"%PDF-1.4\n1 0 obj<</Type/Catalog>>endobj\ntrailer<</Root 1 0 R>>\n%%EOF\n"
ITEM_ROWS = [
    EXAMPLE,
    ("RO-120-RD", "Keel roller 120 mm, red", "bought", "pc", "rollers"),
    ("FP-NEW", "a new bracket", "made", "pc", "cut parts"),
]


@dataclass
class Tally:
    """What became of the inputs of one kind."""

    good: int = 0
    told: int = 0
    faults: list[str] = field(default_factory=list)

    @property
    def all(self) -> int:
        return self.good + self.told + len(self.faults)


def broken_text(draw: random.Random, text: str) -> str:
    """A text with one to four changes: characters, lines or numbers dropped, doubled, swapped or made odd."""
    for _ in range(draw.randint(1, 4)):
        lines = text.splitlines(keepends=True)
        at = draw.randrange(len(lines) or 1)
        spot = draw.randrange(len(text) or 1)
        change = draw.randrange(7)
        if change == 0:
            text = text[:spot] + text[spot + draw.randint(1, 40) :]
        elif change == 1:
            text = text[:spot] + draw.choice(ODD) + text[spot:]
        elif change == 2 and lines:
            text = "".join(lines[:at] + lines[at + 1 :])
        elif change == 3 and lines:
            text = "".join([*lines[: at + 1], *lines[at:]])
        elif change == 4 and lines:
            lines[at] = draw.choice(ODD) + "\n"
            text = "".join(lines)
        elif change == 5 and lines:
            draw.shuffle(lines)
            text = "".join(lines)
        else:
            text = text[:spot]
    return text


def broken_bytes(draw: random.Random, content: bytes) -> bytes:
    """Bytes cut short, overwritten or doubled."""
    data = bytearray(content)
    for _ in range(draw.randint(1, 8)):
        at = draw.randrange(len(data) or 1)
        change = draw.randrange(4)
        if change == 0:
            data[at : at + draw.randint(1, 60)] = b""
        elif change == 1:
            data[at : at + 1] = bytes([draw.randrange(256)])
        elif change == 2:
            data[at:at] = data[: draw.randint(1, 80)]
        elif draw.random() < 0.3:
            del data[at:]
    return bytes(data)


def broken_workbook(draw: random.Random) -> bytes:
    """A workbook of items with odd cells, or with one of its inner files broken, or broken as a whole."""
    header = [*COLUMNS, "group"]
    rows = [list(row) for row in ITEM_ROWS]
    for _ in range(draw.randint(0, 4)):
        row = draw.choice([header, *rows])
        row[draw.randrange(len(row))] = draw.choice([*ODD, 1e300, True, None])
    header = [str(name or "").replace("\x00", "") for name in header]
    content = exporting.workbook("items", header, rows)
    how = draw.randrange(3)
    if how == 0:
        return content
    return broken_bytes(draw, content) if how == 1 else _broken_within(draw, content)


def _broken_within(draw: random.Random, content: bytes) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(buffer, "w") as new:
        victim = draw.choice(old.namelist())
        for name in old.namelist():
            body = old.read(name)
            if name == victim:
                body = broken_text(draw, body.decode("utf-8", "replace")).encode("utf-8", "replace")
            new.writestr(name, body)
    return buffer.getvalue()


def drawings() -> Iterator[str]:
    """Whole drawings to break: plain ones of our own and one of a newer form with curves and blocks."""
    mark = ((Vertex(20, 20, 0.5), Vertex(30, 20)), False)
    for name in ("gusset", "light_bracket", "roller_arm"):
        yield dxf_text(FAMILIES[name](), bends=[Line((0, 40), (260, 40))], marks=[mark])
    document, space = drawing()
    block = document.blocks.new("HOLE")
    block.add_circle((0, 0), 5)
    space.add_lwpolyline([(0, 0, 0.2), (200, 0, 0), (200, 90, 0), (0, 90, 0)], format="xyb", close=True)
    space.add_ellipse((60, 40), (20, 0), 0.5)
    space.add_spline([(120, 30, 0), (150, 60, 0), (170, 30, 0)])
    space.add_blockref("HOLE", (30, 70))
    stream = io.StringIO()
    document.write(stream)
    whole = stream.getvalue()
    # The entities stand near the end; most changes should meet them.
    yield whole


def try_drawings(draw: random.Random, count: int, folder: Path) -> Tally:
    """Read in this process what the reading process would read."""
    whole, tally = list(drawings()), Tally()

    def one(at: int) -> bool:
        text = broken_text(draw, whole[at % len(whole)])
        path = folder / "broken.dxf"
        path.write_bytes(text.encode("utf-8", "replace"))
        found = answer({"path": str(path), "unit": draw.choice(["", "mm"]), "rules": RULES})
        if found["is_whole"]:
            return True
        assert found["flaws"], "it is not whole, and nothing says why"
        assert all(flaw["what"] and flaw["mend"] for flaw in found["flaws"])
        return False

    return _tally(tally, count, one)


def try_workbooks(draw: random.Random, count: int) -> Tally:
    """Bring items in; what is refused leaves the items as they were, what is taken in is taken back."""

    def one(at: int) -> bool:
        before = _items()
        try:
            with transaction.atomic():
                bring_in_items(content=broken_workbook(draw), file="items.xlsx", by=None)
                transaction.set_rollback(True)
        except ProblemError as refusal:
            _insist_on_places(refusal)
            if _items() != before:
                raise RuntimeError("a refused workbook left something behind") from refusal
            return False
        return True

    return _tally(Tally(), count, one)


def try_bills(draw: random.Random, count: int) -> Tally:
    """Look at bills, as CSV or as a workbook; nothing may stay written."""
    layouts = {name: [list(row) for row in islice(rows_out(name), 25)] for name in HEADINGS}

    def one(at: int) -> bool:
        layout = draw.choice(list(HEADINGS))
        rows = [list(row) for row in layouts[layout]]
        for _ in range(draw.randint(0, 3)):
            row = draw.choice(rows)
            row[draw.randrange(len(row))] = draw.choice([*ODD, 1e300, -1, 99999, "9" * 400, None])
        if at % 2:
            cells = ["" if value is None else f'"{value}"' for value in rows[0]]
            lines = [",".join(HEADINGS[layout]), ",".join(cells)]
            content, file = broken_text(draw, "\n".join(lines)).encode("utf-8", "replace"), "bills.csv"
        else:
            content = exporting.workbook("bills", HEADINGS[layout], rows)
            file = "bills.xlsx"
            content = broken_bytes(draw, content) if draw.random() < 0.3 else content
        before = (Revision.objects.count(), BillLine.objects.count())
        looked = look_at_bills(content=content, file=file)
        assert (Revision.objects.count(), BillLine.objects.count()) == before, "looking wrote something"
        if looked.problems:
            _insist_on_places(ProblemError(*looked.problems))
        return not looked.problems

    return _tally(Tally(), count, one)


def try_tables(draw: random.Random, count: int, desk: Desk) -> Tally:
    """Look at the tables of a desk (options and prices, suppliers' prices) as a workbook or as CSV, with odd cells,
    rows and headings lost or doubled, bytes broken, with or without taking off what is missing. Nothing stays."""
    whole = {
        one.table.name: (one.table.headings, [list(row) for row in islice(one.rows_out(), 12)])
        for one in desk.sheets()
    }
    models = [type(next(iter(one.standing().values()))) for one in desk.sheets()]
    before = _rows_of(models)

    def one(at: int) -> bool:
        tables = {name: [list(head), *map(list, rows)] for name, (head, rows) in whole.items()}
        for _ in range(draw.randint(0, 4)):
            row = draw.choice(draw.choice(list(tables.values())))
            row[draw.randrange(len(row))] = draw.choice([*ODD, 1e300, -1, 99999, "9" * 400, True, None])
        name = draw.choice(list(tables))
        if at % 2:
            lines = [",".join("" if cell is None else f'"{cell}"' for cell in row) for row in tables[name]]
            content, file = broken_text(draw, "\n".join(lines)).encode("utf-8", "replace"), "table.csv"
        else:
            sheets = [
                (title, [str(cell or "").replace("\x00", "") for cell in rows[0]], rows[1:])
                for title, rows in tables.items()
            ]
            content, file = exporting.workbook_of_sheets(sheets), "tables.xlsx"
            how = draw.randrange(4)
            content = broken_bytes(draw, content) if how == 0 else content
            content = _broken_within(draw, content) if how == 1 else content
        done = look_at_file(desk, content=content, file=file, removing=draw.random() < 0.3)
        assert _rows_of(models) == before, "looking wrote something"
        if done.problems:
            _insist_on_places(ProblemError(*done.problems))
        return not done.problems

    return _tally(Tally(), count, one)


def try_counts(draw: random.Random, count: int, codes: list[str]) -> Tally:
    """Pasted counts, as lines of code, quantity and lot, or as the commas of a CSV."""

    def one(at: int) -> bool:
        mark = draw.choice([" ", "\t", ",", ";"])
        lines = [f"{code}{mark}{draw.randint(0, 99)}" for code in draw.sample(codes, 4)]
        postings = Posting.objects.count()
        try:
            read_counts(broken_text(draw, "\n".join(lines)))
        except ProblemError as refusal:
            _insist_on_places(refusal)
            return False
        finally:
            assert Posting.objects.count() == postings
        return True

    return _tally(Tally(), count, one)


def try_expressions(draw: random.Random, count: int) -> Tally:
    """Conditions and quantities of bill lines."""

    def one(at: int) -> bool:
        text = broken_text(draw, draw.choice(EXPRESSIONS))
        compiled = compile_condition if at % 2 else compile_quantity
        try:
            compiled(text)
        except ProblemError as refusal:
            _insist_on_places(refusal)
            return False
        return True

    return _tally(Tally(), count, one)


def try_certificates(draw: random.Random, count: int) -> Tally:
    """Certificates whose bytes were changed or cut: known for a PDF still, or refused in words."""

    def one(_: int) -> bool:
        try:
            read_attachment(broken_bytes(draw, CERTIFICATE), kinds=PAPERS, what="certificate")
        except ProblemError as refusal:
            _insist_on_places(refusal)
            return False
        return True

    return _tally(Tally(), count, one)


def _insist_on_places(refusal: ProblemError) -> None:
    """Every problem of a refusal says what is wrong and where."""
    without = [str(problem) for problem in refusal.problems if not (problem.where and problem.what)]
    if without:
        raise RuntimeError(f"told without a place: {without}") from refusal


def _tally(tally: Tally, count: int, one: Callable[[int], bool]) -> Tally:
    for at in range(count):
        try:
            if one(at):
                tally.good += 1
            else:
                tally.told += 1
        except Exception as error:  # a fault is what is looked for: every kind of it is counted
            tally.faults.append(f"input {at}: {type(error).__name__}: {str(error)[:300]}")
    return tally


def _rows_of(models: list[type[Model]]) -> list[list[tuple[object, ...]]]:
    return [list(model._default_manager.order_by("pk").values_list()) for model in models]


def _items() -> list[tuple[object, ...]]:
    return list(Item.objects.order_by("pk").values_list("pk", "code", "name", "kind", "mass_kg"))
