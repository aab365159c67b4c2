"""Where the demonstration's customers are: invented places with invented distances, and two lorries."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import hypot

from production.dispatch.distances import name_works, write_distances
from production.dispatch.models import Lorry

WORKS = "Tiddersleigh Fen"
# km east and north of the works, by road about a quarter longer than straight on
_AT = {
    WORKS: (0, 0),
    "Marrowmouth": (31, 12),
    "Little Quaythorpe": (24, -18),
    "Skelderby": (-22, 35),
    "Osgarth Staithe": (38, 27),
    "Tiddlestow": (9, 6),
    "Upper Wendling": (-14, -11),
    "Fennimarsh": (6, -15),
    "Cray Staithe": (44, -6),
    "Nether Ousel": (-35, 8),
    "Saltmarrow": (28, 19),
    "Brackwater": (17, -33),
    "Holm Quillet": (-28, -26),
    "Marl End": (-8, 21),
}
_BY_ROAD = 1.25
# Farther apart than this nobody wrote a distance down: one goes by way of a place between.
_NEAR_KM = 45


def _lines() -> Iterator[str]:
    for (one, (x, y)), (other, (u, v)) in combinations(_AT.items(), 2):
        straight = hypot(x - u, y - v)
        if straight <= _NEAR_KM or WORKS in (one, other):
            yield f"{one}; {other}; {round(straight * _BY_ROAD)}"


def add_deliveries() -> None:
    """Distances, the works' own place, a lorry for three trailers and one for two."""
    write_distances(text="\n".join(_lines()))
    name_works(name=WORKS)
    Lorry.objects.bulk_create(
        [Lorry(name="flat bed", trailers=3), Lorry(name="van with drawbar", trailers=2)]
    )
