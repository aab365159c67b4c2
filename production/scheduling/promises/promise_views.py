"""Dates offered for orders with the chance that they hold, and how promises were kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from production.orders.models import Order
from production.scheduling.futures.promise import Point, chance_of, chance_to_ask, day_for
from production.scheduling.promises import promises
from production.scheduling.promises.promise_models import PromiseRun
from production.works.person import person

WIDTH, HEIGHT = 640, 240
CHANCES = (0.5, 0.7, 0.8, 0.9, 0.95)


@dataclass(frozen=True)
class Drawing:
    """The curve as a drawing: its path, and marks along both axes as (place, words)."""

    path: str
    days: tuple[tuple[float, str], ...]
    shares: tuple[tuple[float, str], ...]
    mark: tuple[float, float] | None


def draw(points: tuple[Point, ...], on: date | None) -> Drawing | None:
    """A stair that rises on each day by the share of futures that end on it."""
    if not points:
        return None
    first, last = points[0].on.toordinal(), points[-1].on.toordinal() + 1
    span = max(1, last - first)

    def x(day: int) -> float:
        return round(WIDTH * (day - first) / span, 1)

    def y(share: float) -> float:
        return round(HEIGHT * (1 - share), 1)

    path = (
        f"M0,{HEIGHT}"
        + "".join(f"H{x(point.on.toordinal())}V{y(point.share)}" for point in points)
        + f"H{WIDTH}"
    )
    step = max(1, span // 6)
    days = tuple((x(day), f"{date.fromordinal(day):%d %b}") for day in range(first, last, step))
    shares = tuple((y(share / 100), f"{share} %") for share in (0, 25, 50, 75, 90, 100))
    mark = (x(on.toordinal()), y(chance_of(points, on))) if on is not None else None
    return Drawing(path, days, shares, mark)


@require_GET
def promise_list(request: HttpRequest) -> HttpResponse:
    """How promises were kept, and the orders that wait for one."""
    record = promises.record()
    waiting = Order.objects.filter(state__in=[Order.State.DRAFT, *Order.OPEN], promised_on__isnull=True)
    context = {
        "record": record,
        "waiting": waiting.select_related("customer", "model").order_by("asked_for")[:40],
        "last": PromiseRun.objects.select_related("order").filter(outcome="succeeded")[:10],
    }
    return page(request, "scheduling/promises.html", context)


@require_GET
def promise_order(request: HttpRequest, number: str) -> HttpResponse:
    """One order's earliest day, its curve, and the day to promise with the chance of `?chance=`."""
    order = get_object_or_404(Order.objects.select_related("customer", "model"), number=number)
    run = PromiseRun.objects.filter(order=order).first()
    wanted = _chance(request)
    context: dict[str, object] = {"order": order, "run": run, "wanted": wanted, "chances": CHANCES}
    if run is not None and run.has_succeeded:
        known, points = promises.record(wanted), promises.curve(run)
        on = promises.offered_day(points, wanted, known)
        ranks = [one.rank for one in known.kept]
        context |= {
            "record": known,
            "on": on,
            "plain_on": day_for(points, wanted),
            "drawing": draw(points, on),
            "table": [(chance, day_for(points, chance_to_ask(chance, ranks))) for chance in CHANCES],
            "today": timezone.localdate(),
        }
    response = page(request, "scheduling/promise.html", context, part="scheduling/_promise_progress.html")
    if getattr(request, "htmx", False) and run is not None and not run.is_open:
        response["HX-Refresh"] = "true"
    return response


@require_POST
@needs("production.change_order")
def ask(request: HttpRequest, number: str) -> HttpResponse:
    """Have a date worked out."""
    order = get_object_or_404(Order, number=number)
    try:
        promises.ask_date(order=order, by=person(request))
    except ProblemError as error:
        messages.error(request, str(error))
    return redirect("week:promise", number)


@require_POST
@needs("production.change_order")
def promise(request: HttpRequest, number: str) -> HttpResponse:
    """Promise the day that was offered."""
    run = get_object_or_404(PromiseRun.objects.select_related("order"), pk=request.POST.get("run") or 0)
    try:
        on, chance = date.fromisoformat(request.POST.get("on", "")), float(request.POST.get("chance", ""))
    except ValueError:
        messages.error(
            request, str(ProblemError(Problem("That is no day", "promise", "Choose one of those offered.")))
        )
        return redirect("week:promise", number)
    try:
        promises.promise(run=run, on=on, chance=chance, by=person(request))
        messages.success(request, f"Order {number} is promised for {on:%a} {on.day} {on:%b}.")
    except ProblemError as error:
        messages.error(request, str(error))
    return redirect("week:promise", number)


def _chance(request: HttpRequest) -> float:
    try:
        return min(0.99, max(0.05, float(request.GET.get("chance", promises.WANTED))))
    except ValueError:
        return promises.WANTED
