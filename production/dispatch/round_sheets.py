"""One run as its driver sees it: each stop with what is handed over there, and the km from the one before."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import inf

from production.dispatch.distances import written_ways
from production.dispatch.models import Delivery, DeliveryPlace, DeliveryRun


@dataclass(frozen=True)
class Leg:
    """A stop: its place, the trailers handed over there, and km from the stop before; none where no way is known."""

    place: str
    km: float | None
    deliveries: tuple[Delivery, ...]


@dataclass(frozen=True)
class RoundSheet:
    """The stops of a run, the way home and the km in all, none where a way is not known."""

    works: str
    legs: tuple[Leg, ...]
    home_km: float | None
    km: float | None

    @property
    def trailers(self) -> int:
        return sum(len(one.deliveries) for one in self.legs)


def legs_of(run: DeliveryRun) -> RoundSheet:
    """The stops in order; trailers for one place that follow each other are one stop. Three queries."""
    works = DeliveryPlace.objects.filter(is_works=True).values_list("name", flat=True).first() or "the works"
    ways = written_ways()
    stops: list[tuple[str, list[Delivery]]] = []
    rows = run.deliveries.select_related("order__customer", "order__model", "order__hull", "place")
    for row in rows.order_by("sequence"):
        if stops and stops[-1][0] == row.place.name:
            stops[-1][1].append(row)
        else:
            stops.append((row.place.name, [row]))
    names = [works, *(place for place, _ in stops), works]
    lengths = [ways.km(one, other) for one, other in pairwise(names)]
    known = [None if km == inf else km for km in lengths]
    total = None if None in known else sum(lengths)
    legs = tuple(Leg(place, km, tuple(rows)) for (place, rows), km in zip(stops, known, strict=False))
    return RoundSheet(works, legs, known[-1], total)
