"""The head of every page: the way of the metal with what waits and what is late, and the desk's links."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.core.cache import cache
from django.db.models import Count, Exists, F, FilteredRelation, Max, Min, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse

from bom.structure.models import Process
from production.cutting.saw.models import BarBatch, SawCut
from production.orders.models import Order
from production.planning.models import Plan, Shortage

# Long enough to spare the database when many screens are open, short enough that nobody sees old counts.
SECONDS_KEPT = 5
NO_PLAN = 0
SAW = "saw"


@dataclass(frozen=True)
class Station:
    """A stop on the way of the metal: which processes wait there, and its address."""

    label: str
    view: str
    processes: tuple[str, ...]
    args: tuple[str, ...] = ()


STATIONS = (
    Station("Order book", "orders:book", ()),
    Station("Laser", "laser:station", ("laser",)),
    Station("Saw", "saw:station", (SAW,)),
    Station("Fold", "works:station", ("fold",), ("fold",)),
    Station("Weld", "works:station", ("weld",), ("weld",)),
    Station("Galvanising", "coating:galvanising", ("galvanise",)),
    Station("Powder", "coating:powder", ("powder",)),
    Station("Assembly", "assembly:kits", ("assemble",)),
    Station("Gate", "dispatch:gate", ("inspect",)),
)

DESK = (
    ("The week", "week:week"),
    ("The floor", "cards:standing"),
    ("Alerts", "planning:alerts"),
    ("Suggestions", "planning:suggestions"),
    ("Stores", "stores:stock"),
    ("Buying", "buying:orders"),
    ("Levels", "levels:classes"),
    ("Items", "items:items"),
    ("Bills", "bills:bills"),
    ("Costs", "costs:costs"),
)

# What a desk page needs to be seen at all; the others are open to everybody.
DESK_NEEDS = {"costs:costs": "production.see_cost"}


def address(view: str, args: tuple[str, ...] = ()) -> str | None:
    """The address of a page, or none where that room has no pages: its stop is then left out."""
    try:
        return reverse(view, args=args)
    except NoReverseMatch:
        return None


def counts(plan_id: int) -> tuple[Counter[str], Counter[str], int]:
    """Orders waiting and late by process code ("" is the order book), and the number of dated shortages.

    An order waits at the saw while pieces of it lie on bars not sawn yet, whatever else is done to it meanwhile.
    """
    key = f"way:{plan_id}"
    kept: tuple[Counter[str], Counter[str], int] | None = cache.get(key)
    if kept is None:
        kept = _count(plan_id)
        cache.set(key, kept, SECONDS_KEPT)
    return kept


def _count(plan_id: int) -> tuple[Counter[str], Counter[str], int]:
    codes = dict(Process.objects.values_list("sequence", "code"))
    waiting: Counter[str] = Counter()
    behind: Counter[str] = Counter()
    shortages = 0
    for is_draft, sequence, days_late, short, at_saw in _standing(plan_id):
        if is_draft:
            waiting[""] += 1
            continue
        shortages += short
        is_late = (days_late or 0) > 0
        behind[""] += is_late
        stands_at = set() if sequence is None else {codes.get(sequence, "")}
        for code in stands_at | ({SAW} if at_saw else set()):
            waiting[code] += 1
            behind[code] += is_late
    return waiting, behind, shortages


def _standing(plan_id: int) -> Iterator[tuple[bool, int | None, int | None, int, bool]]:
    """Each order not closed: whether it is a draft, least sequence of its open operations, days late, shortages,
    whether the saw owes it pieces.

    An operation's sequence is that of its process, so the least open one says where the order stands.
    """
    shortages = Shortage.objects.filter(plan_id=plan_id, order=OuterRef("pk")).order_by()
    unsawn = SawCut.objects.filter(
        order=OuterRef("pk"), state=SawCut.State.WAITING, bar__batch__state__in=BarBatch.OPEN
    )
    still_open = Q(works_order__operations__state__in=["waiting", "begun"])
    rows = (
        Order.objects.filter(state__in=[Order.State.DRAFT, *Order.OPEN])
        .order_by()
        .annotate(forecast=FilteredRelation("forecasts", condition=Q(forecasts__plan_id=plan_id)))
        .values_list("state")
        .annotate(
            sequence=Min("works_order__operations__sequence", filter=still_open),
            late=Max("forecast__days_late"),
            order=F("pk"),
            short=Coalesce(Subquery(shortages.values("order").annotate(n=Count("pk")).values("n")), 0),
            at_saw=Exists(unsawn),
        )
    )
    for state, sequence, late, _, short, at_saw in rows:
        yield state == Order.State.DRAFT, sequence, late, short, at_saw


def _sum(counter: Counter[str], processes: tuple[str, ...]) -> int:
    return sum(counter[process] for process in (processes or ("",)))


def context(request: HttpRequest) -> dict[str, Any]:
    """What the head of a page needs; nothing for parts of pages and for people not signed in."""
    if (
        not getattr(request, "user", None)
        or not request.user.is_authenticated
        or getattr(request, "htmx", False)
    ):
        return {}
    plan = Plan.current()
    waiting, late, shortages = counts(plan.pk if plan else NO_PLAN)
    return {
        "way": [_stop(station, url, request.path, waiting, late) for station, url in _open(STATIONS)],
        "desk": [
            _link(label, view, request.path, shortages)
            for label, view in DESK
            if address(view) and (view not in DESK_NEEDS or request.user.has_perm(DESK_NEEDS[view]))
        ],
        "current_plan": plan,
    }


def _open(stations: tuple[Station, ...]) -> list[tuple[Station, str]]:
    found = ((station, address(station.view, station.args)) for station in stations)
    return [(station, url) for station, url in found if url]


def _stop(
    station: Station, url: str, here: str, waiting: Counter[str], late: Counter[str]
) -> dict[str, object]:
    return {
        "label": station.label,
        "url": url,
        "waiting": _sum(waiting, station.processes),
        "late": _sum(late, station.processes),
        "is_here": here.startswith(url),
    }


def _link(label: str, view: str, here: str, shortages: int) -> dict[str, object]:
    url = address(view) or ""
    return {
        "label": label,
        "url": url,
        "is_here": here.startswith(url),
        "count": shortages if view == "planning:alerts" else 0,
    }
