"""Places and how far they are apart, as the workshop writes them down: one line a pair, pasted or typed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal, InvalidOperation

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from production.dispatch import runs
from production.dispatch.models import DeliveryPlace, PlaceDistance

_APART = re.compile(r"\t|;|,(?=\s|[^\d])")
LONGEST_KM = Decimal(5000)
MOST_LINES = 2000


def the_works() -> DeliveryPlace:
    """The place where every run begins and ends.

    Raises:
        ProblemError: nobody has said which place that is.
    """
    found: DeliveryPlace | None = DeliveryPlace.objects.filter(is_works=True).first()
    if found is None:
        raise ProblemError(
            Problem("Nobody has said where the works are", "distances", "Name the works' own place there.")
        )
    return found


def written_ways() -> runs.Ways:
    """The shortest way between any two places, from the distances written down. One query."""
    rows = PlaceDistance.objects.values_list("near__name", "far__name", "km")
    return runs.ways_between({(near, far): float(km) for near, far, km in rows})


@transaction.atomic
def name_works(*, name: str) -> DeliveryPlace:
    """Say which place is the works'; one that is new is written down.

    Raises:
        ProblemError: no name.
    """
    if not name.strip():
        raise ProblemError(
            Problem("No place was named", "the works", "Write the place as it stands in the distances.")
        )
    place = _place(name)
    DeliveryPlace.objects.filter(is_works=True).exclude(pk=place.pk).update(is_works=False)
    place.is_works = True
    place.save(update_fields=["is_works"])
    return place


@transaction.atomic
def write_distances(*, text: str) -> int:
    """Write every line down: place, place, km; a pair that is there already gets the new figure. How many lines.

    Raises:
        ProblemError: lines that cannot be read, each with its number; nothing is then written.
    """
    lines = [(at, line) for at, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not 1 <= len(lines) <= MOST_LINES:
        raise ProblemError(
            Problem(f"{len(lines)} lines", "distances", f"Write 1 to {MOST_LINES} lines: place; place; km.")
        )
    read = [_read(at, line) for at, line in lines]
    if problems := [one for one in read if isinstance(one, Problem)]:
        raise ProblemError(*problems)
    for one in read:
        if not isinstance(one, Problem):
            _write(*one)
    return len(lines)


def _read(at: int, line: str) -> tuple[str, str, Decimal] | Problem:
    where = f"line {at}"
    parts = [part.strip() for part in _APART.split(line.strip())]
    if len(parts) != 3 or not all(parts):
        return Problem(
            f"“{line.strip()[:60]}” is not place; place; km", where, "Put semicolons or tabs between."
        )
    near, far, said = parts
    try:
        km = Decimal(said.lower().removesuffix("km").strip().replace(",", "."))
    except InvalidOperation:
        return Problem(f"“{said[:20]}” is not a number of km", where, "Write digits, e.g. 42 or 42.5.")
    if not 0 < km <= LONGEST_KM:
        return Problem(f"{km} km", where, f"A distance is above 0 and at most {LONGEST_KM} km.")
    if near.casefold() == far.casefold():
        return Problem(f"{near} twice", where, "Name two places.")
    if max(len(near), len(far)) > 80:
        return Problem("A place has at most 80 letters", where, "Shorten its name.")
    return near, far, km


def _write(near: str, far: str, km: Decimal) -> None:
    one, other = sorted((_place(near), _place(far)), key=lambda place: place.pk)
    PlaceDistance.objects.update_or_create(near=one, far=other, defaults={"km": km.quantize(Decimal("0.1"))})


def _place(name: str) -> DeliveryPlace:
    name = " ".join(name.split())
    found: DeliveryPlace | None = DeliveryPlace.objects.filter(name__iexact=name).first()
    return found or DeliveryPlace.objects.create(name=name)


def as_text(rows: Iterable[PlaceDistance]) -> str:
    """The distances as they are pasted in."""
    return "\n".join(f"{one.near.name}; {one.far.name}; {one.km.normalize():f}" for one in rows)
