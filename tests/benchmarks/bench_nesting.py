"""How well sheets are used: `python -m tests.benchmarks.bench_nesting [mixed] [strips] [gaps] [many]`.

- mixed: the frozen job of 200 parts of fifteen invented shapes, most with holes, 3000 × 1500 mm sheets, gap 5,
  margin 10, at 30 and 60 s. Sheets count the last one by its used length. Beside it the area of all parts inside their
  outer outlines by the sheet's area, the same with holes taken out, and what a packer of their boxes needs.
- strips: the open strip sets at 60 s on 2 threads, against the best known density.
- gaps: the smallest distance in 100 random jobs, measured exactly.
- many: 5,000 parts in one batch: time, peak memory of the program and its children, seconds until a stop is answered.

`--seconds N` changes the time of the first two.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import resource
import statistics
import time
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import rectpack
import shapely
from rectpack import guillotine, maxrects, skyline
from shapely import affinity
from shapely.geometry import Polygon

from production.cutting.nesting.job import NestProgress, NestResult, NestSettings, PartShape, SheetStock
from production.cutting.nesting.nest import nest
from production.cutting.nesting.strip import StripItem, StripTask, pack_strip

HERE = Path(__file__).parent
MIXED = HERE / "instances" / "nesting_mixed_200.json"
# EURO Special Interest Group on Cutting and Packing (ESICUP), Cutting & Packing Datasets, 2025, CC0-1.0.
STRIPS = HERE.parent / "outside" / "data" / "irregular_strip_cc0.json"
# Best known densities: Elkeran, European Journal of Operational Research 231 (2013), from memory; dighe1 is a jigsaw.
BEST_KNOWN = {
    "albano": 0.8958,
    "trousers": 0.9100,
    "shirts": 0.8896,
    "fu": 0.9241,
    "jakobs1": 0.8910,
    "shapes2_blaz": 0.8484,
    "dighe1": 1.0,
}
SHEET = SheetStock("3000 × 1500", 3000.0, 1500.0, None, 100.0)
TURNS = (0.0, 90.0, 180.0, 270.0)
PACKERS = (maxrects.MaxRectsBssf, maxrects.MaxRectsBl, skyline.SkylineMwfl, guillotine.GuillotineBssfSas)


def mixed_job() -> list[PartShape]:
    rows = json.loads(MIXED.read_text())["parts"]
    return [
        PartShape(
            row["code"],
            tuple(map(tuple, row["outer"])),
            tuple(tuple(map(tuple, hole)) for hole in row["holes"]),
            row["quantity"],
            TURNS,
        )
        for row in rows
    ]


def box_sheets(job: list[PartShape], gap: float, margin: float) -> float:
    """What the best of four box packers needs, the emptiest sheet counted to its used length."""
    boxes = []
    for part in job:
        left, low, right, high = Polygon(part.outer).bounds
        boxes += [(right - left + gap, high - low + gap)] * part.quantity
    return min(_packed(boxes, gap, margin, packer) for packer in PACKERS)


def _packed(boxes: list[tuple[float, float]], gap: float, margin: float, packer: object) -> float:
    pack = rectpack.newPacker(pack_algo=packer, rotation=True)
    for sides in boxes:
        pack.add_rect(*sides)
    pack.add_bin(SHEET.length_mm - 2 * margin + gap, SHEET.width_mm - 2 * margin + gap, float("inf"))
    pack.pack()
    lengths = [max(rect.x + rect.width for rect in one) - gap + margin for one in pack]
    assert sum(len(one) for one in pack) == len(boxes)
    return len(lengths) - 1 + min(lengths) / SHEET.length_mm


def bench_mixed(budgets: list[float]) -> None:
    job = mixed_job()
    sheet = SHEET.length_mm * SHEET.width_mm
    filled = sum(Polygon(part.outer).area * part.quantity for part in job) / sheet
    boxes = box_sheets(job, 5.0, 10.0)
    print(f"mixed: area bound {filled:.3f} sheets; boxes {boxes:.3f} = {boxes / filled:.3f} × bound")
    for seconds in budgets:
        begun = time.monotonic()
        result = nest(job, [SHEET], NestSettings(gap_mm=5.0, margin_mm=10.0, seconds=seconds, seed=7))
        spent, sheets = time.monotonic() - begun, result.sheet_equivalents
        print(
            f"mixed: {seconds:5.1f} s asked, {spent:5.1f} taken: {len(result.sheets)} sheets, {sheets:.3f} "
            f"= {sheets / filled:.3f} × area bound ({sheets / result.area_bound_sheets:.3f} × with holes taken out), "
            f"{sheets / boxes:.3f} × boxes",
            flush=True,
        )


def bench_strips(seconds: float) -> None:
    ratios = []
    for name, case in json.loads(STRIPS.read_text())["instances"].items():
        items = tuple(
            StripItem(str(at), tuple(map(tuple, piece["points"])), piece["qty"], tuple(case["rotations"]))
            for at, piece in enumerate(case["pieces"])
        )
        layout = pack_strip(
            StripTask(items, case["strip_width"], 0.0, seconds, seed=7, workers=2), lambda _: True
        )
        outlines = {item.code: Polygon(item.outline) for item in items}
        laid = [
            affinity.translate(
                affinity.rotate(outlines[one.code], one.rotation_deg, origin=(0, 0)), one.x_mm, one.y_mm
            )
            for one in layout.places
        ]
        area = sum(polygon.area for polygon in laid)
        shared = sum(one.intersection(other).area for one, other in _near(laid))
        density = area / (layout.length_mm * case["strip_width"])
        ratios.append(density / BEST_KNOWN[name])
        print(
            f"strips: {name:12s} length {layout.length_mm:10.2f} density {density:.4f} = {ratios[-1]:.3f} × best "
            f"known; overlap {shared / area:.1e} of the area",
            flush=True,
        )
    print(f"strips: mean {statistics.mean(ratios):.3f} × best known, least {min(ratios):.3f}")


def _near(polygons: list[Polygon]) -> list[tuple[Polygon, Polygon]]:
    tree = shapely.STRtree(polygons)
    return [(polygons[a], polygons[b]) for a, b in tree.query(polygons, predicate="intersects").T if a < b]


def random_job(chance: random.Random) -> list[PartShape]:
    """One to eight random star-shaped parts, some with a hole."""
    job = []
    for number in range(chance.randint(1, 8)):
        size, corners = chance.uniform(40, 400), chance.randint(3, 14)
        outer = _star(chance, size, corners)
        inner = affinity.scale(Polygon(outer), 0.45, 0.45, origin=(0, 0)).exterior.coords
        hole = (tuple(inner)[:-1],) if chance.random() < 0.5 else ()
        turns = chance.choice([(0.0,), (0.0, 180.0), TURNS, tuple(45.0 * turn for turn in range(8))])
        job.append(PartShape(f"R{number}", outer, hole, chance.randint(1, 12), turns, chance.random() < 0.3))
    return job


def _star(chance: random.Random, size: float, corners: int) -> tuple[tuple[float, float], ...]:
    reaches = [chance.uniform(0.45, 1.0) * size for _ in range(corners)]
    return tuple(
        (reach * math.cos(math.tau * at / corners), reach * math.sin(math.tau * at / corners))
        for at, reach in enumerate(reaches)
    )


def laid_out(job: list[PartShape], result: NestResult) -> dict[int, list[Polygon]]:
    """By sheet every part as a polygon, placed afresh."""
    known = {part.code: Polygon(part.outer, part.holes) for part in job}
    found: dict[int, list[Polygon]] = {}
    for one in result.placements:
        polygon = known[one.part]
        if one.mirrored:
            polygon = affinity.scale(polygon, -1, 1, origin=(0, 0))
        polygon = affinity.rotate(polygon, one.rotation_deg, origin=(0, 0))
        found.setdefault(one.sheet, []).append(affinity.translate(polygon, one.x_mm, one.y_mm))
    return found


def bench_gaps(jobs: int) -> None:
    chance = random.Random(20)
    least, pairs = float("inf"), 0
    for _ in range(jobs):
        gap = chance.choice([2.0, 5.0, 8.0])
        job, seconds = random_job(chance), chance.choice([0.1, 0.1, 0.1, 3.0])
        result = nest(job, [SHEET], NestSettings(gap_mm=gap, seconds=seconds, seed=chance.randrange(999)))
        for polygons in laid_out(job, result).values():
            for one, other in combinations(polygons, 2):
                least, pairs = min(least, one.distance(other) - gap), pairs + 1
    print(f"gaps: {jobs} jobs, {pairs} pairs; the smallest distance is the gap {least:+.6f} mm")


def bench_many(number: int, seconds: float) -> None:
    job = mixed_job()
    whole = sum(part.quantity for part in job)
    many = [replace(part, quantity=part.quantity * number // whole) for part in job]
    begun = time.monotonic()
    result = nest(many, [SHEET], NestSettings(seconds=seconds, seed=7))
    spent = time.monotonic() - begun
    used = [
        resource.getrusage(who).ru_maxrss / 1024 for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    ]
    print(
        f"many: {len(result.placements)} parts on {len(result.sheets)} sheets in {spent:.1f} s "
        f"({result.sheet_equivalents / result.area_bound_sheets:.3f} × net area bound); "
        f"peak memory {used[0]:.0f} MB, of a child {used[1]:.0f} MB"
    )
    for after in (0.5, 3.0, 8.0):
        print(f"many: told to stop after {after:.1f} s, it answered {_answers(many, after):.2f} s later")


def _answers(job: list[PartShape], after: float) -> float:
    begun = time.monotonic()
    told: list[float] = []

    def stop(_: NestProgress) -> bool:
        if time.monotonic() - begun >= after and not told:
            told.append(time.monotonic())
        return not told

    nest(job, [SHEET], NestSettings(seconds=60.0, seed=7), stop)
    return time.monotonic() - max(told[0], begun + after) if told else 0.0


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("what", nargs="*", choices=["mixed", "strips", "gaps", "many", []])
    parser.add_argument("--seconds", type=float)
    told = parser.parse_args()
    what = told.what or ["mixed", "strips", "gaps", "many"]
    if "mixed" in what:
        bench_mixed([told.seconds] if told.seconds else [30.0, 60.0])
    if "strips" in what:
        bench_strips(told.seconds or 60.0)
    if "gaps" in what:
        bench_gaps(100)
    if "many" in what:
        bench_many(5000, 20.0)


if __name__ == "__main__":
    main()
