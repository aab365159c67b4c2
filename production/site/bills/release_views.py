"""Releasing a draft: what it touches and what it costs is shown first, from a day or from a trailer's number on."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_GET, require_http_methods

from bom.catalogue.configuring import known_names
from bom.geometry.drawing_models import DrawingRead
from bom.geometry.read_sheet import read_mass_kg
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from bom.structure.editing import release_revision
from bom.structure.effectivity import Issue, Start, start_problems
from bom.structure.models import Revision
from production.orders.numbers import next_number
from production.site.bills.part_change import change_of_part
from production.site.bills.release_cost import cost_of_models, cost_of_release
from production.site.bills.standing import draft_of, draft_or_404, in_force_of
from production.site.bills.touching import touched_by, touched_parts, work_done
from production.works.person import person

BY_DAY, BY_NUMBER = "day", "number"
MOST_DIGITS = 9


@needs("bom.release_revision")
@require_http_methods(["GET", "POST"])
def release(request: HttpRequest, code: str) -> HttpResponse:
    """What releasing the draft touches, as the form stands; posted, it is released. A second click finds it released
    and only shows it."""
    if request.method == "GET":
        return _release_page(request, draft_or_404(code))
    item = get_object_or_404(Item, code=code)
    revision = draft_of(item)
    if revision is None:
        messages.info(request, f"{code} has no draft; nothing was changed.")
        return redirect("bills:bill", code)
    try:
        start = _start_in(request.POST)
        release_revision(
            revision=revision,
            names=known_names(),
            by=person(request),
            effective_from=start.day,
            from_number=start.number,
            next_number=next_number(),
        )
    except ProblemError as refusal:
        return _release_page(request, draft_or_404(code), refusal)
    messages.success(request, f"Revision {revision.letter} of {code} is released, in force {start}.")
    return redirect("bills:bill", code)


@needs("production.see_cost")
@require_GET
def release_cost(request: HttpRequest, code: str) -> HttpResponse:
    """What releasing the draft costs in the orders that take it; htmx gets the part alone."""
    revision = draft_or_404(code)
    start = _start_or_none(request.GET)
    touched = touched_by(revision, start)
    context = {
        "revision": revision,
        "start": start,
        "cost": cost_of_release(revision, touched.not_begun),
        "query": request.GET.urlencode(),
    }
    return page(request, "bills/release_cost.html", context, part="bills/_release_cost.html")


@needs("production.see_cost")
@require_GET
def release_models(request: HttpRequest, code: str) -> HttpResponse:
    """What each model as usually ordered costs with the draft; htmx gets the part alone."""
    revision = draft_or_404(code)
    costs, unbuildable = cost_of_models(revision)
    context = {"revision": revision, "models": costs, "unbuildable": unbuildable}
    return page(request, "bills/release_models.html", context, part="bills/_release_models.html")


@require_GET
def part_change(request: HttpRequest, code: str) -> HttpResponse:
    """What another drawing of a part touches, and what it costs (`?drawing=` one that was read and waits to be
    accepted); htmx gets the part alone."""
    item = get_object_or_404(Item, code=code)
    drawing = request.GET.get("drawing", "")
    read = DrawingRead.objects.filter(item=item, pk=drawing).first() if drawing.isdecimal() else None
    weight = read_mass_kg(read) if read else None
    mass_kg = None if weight is None else Decimal(repr(round(weight, 4)))
    context = {"change": change_of_part(item, mass_kg), "item": item, "read": read, "kg": mass_kg}
    return page(request, "bills/part_change.html", context, part="bills/_part_change.html")


def _release_page(
    request: HttpRequest, revision: Revision, refusal: ProblemError | None = None
) -> HttpResponse:
    typed = request.POST if request.method == "POST" else request.GET
    problems = refusal.problems if refusal else ()
    revisions = list(revision.item.revisions.all())
    following = next_number()
    try:
        start: Start | None = _start_in(typed)
    except ProblemError as unread:
        start, problems = None, problems or unread.problems
    if start is not None and not problems:
        problems = tuple(_problems_of(start, revision, revisions, following))
    touched = touched_by(revision, start)
    in_force = in_force_of(revisions)
    context: dict[str, Any] = {
        "revision": revision,
        "start": start,
        "problems": problems,
        "touched": touched,
        "parts": touched_parts(revision, in_force, touched.not_begun),
        "work": work_done(touched.not_begun),
        "in_force": in_force,
        "next_number": following,
        "by": BY_NUMBER if typed.get("by") == BY_NUMBER else BY_DAY,
        "day": typed.get("effective_from") or f"{timezone.localdate():%Y-%m-%d}",
        "number": typed.get("from_number", ""),
        "query": _query(typed),
    }
    status = 409 if refusal else 200
    return page(request, "bills/release.html", context, part="bills/_release.html", status=status)


def _problems_of(
    start: Start, revision: Revision, revisions: list[Revision], following: int
) -> list[Problem]:
    earlier: list[Issue] = [one.issue for one in revisions if one.state == Revision.State.RELEASED]
    where = f"item {revision.item.code}, revision {revision.letter}"
    return start_problems(start, earlier, where=where, next_number=following)


def _query(typed: Mapping[str, str]) -> str:
    names = ("by", "effective_from", "from_number")
    return urlencode({name: typed[name] for name in names if name in typed})


def _start_or_none(typed: Mapping[str, str]) -> Start | None:
    try:
        return _start_in(typed)
    except ProblemError:
        return None


def _start_in(typed: Mapping[str, str]) -> Start:
    """The start that the form asks for; by number it holds from today on.

    Raises:
        ProblemError: what is written is no day, or no number.
    """
    if typed.get("by") == BY_NUMBER:
        return Start(timezone.localdate(), _number(typed.get("from_number", "")))
    return Start(_day(typed.get("effective_from", f"{timezone.localdate():%Y-%m-%d}")))


def _day(text: str) -> date:
    try:
        day = parse_date(text)
    except ValueError:
        day = None
    if day is None:
        raise ProblemError(Problem("That is not a day", "in force from", "Write it as 2026-05-28."))
    return day


def _number(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= MOST_DIGITS and int(text)):
        raise ProblemError(
            Problem(
                f"“{text}” is not a trailer number" if text else "No trailer number is written",
                "in force from trailer",
                "Write an order's number, such as 2650.",
            )
        )
    return int(text)
