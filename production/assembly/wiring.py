"""What goes to which contact of the trailer's plug, by ISO 1724 (7 contacts) and ISO 11446 (13 contacts).

Numbers and functions are the standards'. Colours and areas of the cores are those usually laid; the colours inform
and bind nobody, so a loom is looked at before it is connected.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

SOURCES = {7: "ISO 1724 (12 V, 7 contacts)", 13: "ISO 11446-1 (12 V, 13 contacts)"}


@dataclass(frozen=True)
class Contact:
    """One contact: its number, what it carries, the usual colour of its core and its area in mm².

    `duties` are the lamps (as ratings name them) that hang on it; a contact without any carries current or is a
    return. `is_needed` says whether this trailer has something on it.
    """

    number: int
    carries: str
    colour: str
    area_mm2: float | None
    duties: frozenset[str] = frozenset()
    is_needed: bool = True


_TURN = frozenset({"rear_lamp"})
_MARKERS = frozenset({"rear_lamp", "front_lamp", "outline_lamp", "side_lamp"})
_SEVEN = (
    Contact(1, "left direction indicator", "yellow", 1.5, _TURN),
    Contact(2, "rear fog lamp", "blue", 1.5, frozenset({"fog_lamp"})),
    Contact(3, "return of contacts 1 to 7", "white", 2.5, _TURN),
    Contact(4, "right direction indicator", "green", 1.5, _TURN),
    Contact(5, "right position and marker lamps, number plate lamp", "brown", 1.5, _MARKERS | {"plate_lamp"}),
    Contact(6, "stop lamps", "red", 1.5, _TURN),
    Contact(7, "left position and marker lamps", "black", 1.5, _MARKERS),
)
_MORE = (
    Contact(8, "reversing lamp", "pink", 1.5, frozenset({"reversing_lamp"})),
    Contact(9, "current at all times", "orange", 2.5),
    Contact(10, "current with the ignition on", "grey", 2.5),
    Contact(11, "return of contact 10", "white/black", 2.5),
    Contact(12, "not allotted", "no core", None),
    Contact(13, "return of contact 9", "white/red", 2.5),
)


def contacts(poles: int, duties: Collection[str]) -> list[Contact]:
    """The contacts of a plug with so many poles (7 or 13), on a trailer whose parts do these duties."""
    found = [replace(one, is_needed=not one.duties.isdisjoint(duties)) for one in _SEVEN]
    if poles == 7:
        return found
    found[2] = replace(found[2], carries="return of contacts 1 to 8")
    return [*found, *(replace(one, is_needed=not one.duties.isdisjoint(duties)) for one in _MORE)]
