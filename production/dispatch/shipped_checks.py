"""The check lists a workshop may begin with: common practice, no source, every line and limit to be edited.

Figures are starting points. The makers of wheel, axle and coupling, and the authority, have the last word.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction

from production.assembly.torques import SOURCE, torque_of
from production.dispatch.models import CheckLine, CheckList

PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Line:
    words: str
    condition: str = ""
    unit: str = ""
    low: float | None = None
    high: float | None = None
    source: str = PRACTICE


def _bolt(words: str, diameter_mm: int) -> Line:
    torque = torque_of(diameter_mm)
    return Line(f"{words} (M{diameter_mm}, 8.8)", "", "N·m", torque.low_nm, torque.high_nm, SOURCE)


LISTS: tuple[tuple[str, str, tuple[Line, ...]], ...] = (
    (
        "Running gear",
        "",
        (
            Line(
                "Wheel nuts, lowest of all found",
                unit="N·m",
                low=90,
                high=110,
                source=f"{PRACTICE}; the wheel's maker decides",
            ),
            _bolt("Axle bolts, lowest of all found", 12),
            _bolt("U-bolts, lowest of all found", 10),
            Line("Tyres: pressure, kPa", unit="kPa", low=240, high=450, source="the tyre's maker decides"),
            Line("Both axles parallel: greatest difference side to side", "model.axles > 1", "mm", 0, 5),
        ),
    ),
    (
        "Brakes and coupling",
        "",
        (
            Line("Brakes adjusted and even, wheels free when let go", "model.braked"),
            Line("Breakaway cable in place and led freely", "model.braked"),
            Line("Secondary chain or cable in place", "!model.braked"),
            Line("Coupling locks and its indicator shows it"),
        ),
    ),
    (
        "Lights",
        "",
        (
            Line("All lamps work, with the plug in and wiggled"),
            Line("Reflectors in place, front, side and rear"),
        ),
    ),
    (
        "Set for this hull",
        "",
        (
            Line("Rollers and bunks set for this hull, colours as ordered on both sides"),
            Line("Winch post at the set-up's dimension, strap and bow stop sound"),
            Line(
                "Nose load weighed or worked out", "", "kg", 25, 100, f"{PRACTICE}; coupling and car decide"
            ),
        ),
    ),
    (
        "Finish, plate and papers",
        "",
        (
            Line("Zinc whole, no sharp runs, threads clear", "finish != 'painted'"),
            Line("Powder coat thickness", "finish != 'galvanised'", "µm", 60, 120),
            Line("Plate fixed and readable, number as on the papers"),
            Line("Papers in the folder"),
        ),
    ),
)


@transaction.atomic
def add_shipped_lists() -> int:
    """Write the lists that are not there yet, by name. Returns how many were written."""
    written = 0
    for place, (name, condition, lines) in enumerate(LISTS, 1):
        check_list, is_new = CheckList.objects.get_or_create(
            name=name, defaults={"sequence": place * 10, "condition": condition}
        )
        if is_new:
            written += 1
            CheckLine.objects.bulk_create(
                CheckLine(
                    check_list=check_list,
                    sequence=index * 10,
                    words=line.words,
                    condition=line.condition,
                    unit=line.unit,
                    low=line.low,
                    high=line.high,
                    source=line.source,
                )
                for index, line in enumerate(lines, 1)
            )
    return written
