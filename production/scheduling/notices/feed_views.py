"""Calendars of the plan at addresses without a sign-in, and the week on paper."""

from __future__ import annotations

import re
from datetime import date

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.pages import needs, new_key, page
from production.planning.models import Plan
from production.scheduling.notices import calendars, printing
from production.scheduling.notices.feed_models import CalendarAddress, WeekPaper
from production.shop.models import WorkCentre
from production.works.person import person

_KEY = re.compile(r"^week:[0-9a-f]{32}$")


@needs("production.give_calendar")
@require_GET
def calendar_list(request: HttpRequest) -> HttpResponse:
    """Addresses that were given, and giving another."""
    return page(request, "scheduling/calendars.html", _calendars())


def _calendars(shown: str = "", row: CalendarAddress | None = None) -> dict[str, object]:
    rows = CalendarAddress.objects.select_related("work_centre", "made_by")
    return {"rows": rows, "centres": WorkCentre.objects.all(), "shown": shown, "given": row}


@require_POST
@needs("production.give_calendar")
def give(request: HttpRequest) -> HttpResponse:
    """Make an address and show it, once."""
    code = request.POST.get("work_centre", "")
    centre = get_object_or_404(WorkCentre, code=code) if code else None
    row, token = calendars.give_address(work_centre=centre, by=person(request))
    shown = f"{settings.SITE_ADDRESS}{reverse('week:calendar', args=[token])}"
    return page(request, "scheduling/calendars.html", _calendars(shown, row))


@require_POST
@needs("production.give_calendar")
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Serve nothing at an address any more."""
    row = calendars.take_back(address=get_object_or_404(CalendarAddress, pk=pk))
    messages.info(request, f"The address {row.begins}… serves nothing any more.")
    return redirect("week:calendars")


@login_not_required
@require_GET
def calendar(request: HttpRequest, token: str) -> HttpResponse:
    """The calendar itself. A token that is unknown or was taken back is not found, and nothing says which."""
    row = calendars.address_of(token)
    if row is None:
        raise Http404("There is no such calendar.")
    answer = HttpResponse(
        calendars.calendar_text(row.work_centre), content_type="text/calendar; charset=utf-8"
    )
    answer["Cache-Control"] = "private, max-age=300"
    answer["Content-Disposition"] = 'inline; filename="week.ics"'
    return answer


@require_POST
@needs("production.run_plan")
def print_week(request: HttpRequest, number: int) -> HttpResponse:
    """Have a week drawn for the wall."""
    plan = get_object_or_404(Plan, number=number, outcome=Plan.Outcome.SUCCEEDED)
    key = request.POST.get("key", "")
    monday = _monday(request.POST.get("monday", ""))
    paper = printing.print_week(
        plan=plan, monday=monday, by=person(request), key=key if _KEY.match(key) else new_key("week")
    )
    return redirect("week:paper", paper.pk)


@require_GET
def paper(request: HttpRequest, week_paper: int) -> HttpResponse:
    """How far the printed week is, then its PDF to open."""
    found = get_object_or_404(WeekPaper.objects.defer("pdf").select_related("plan"), pk=week_paper)
    return page(request, "scheduling/paper.html", {"paper": found}, part="scheduling/_paper_progress.html")


@require_GET
def paper_pdf(request: HttpRequest, week_paper: int) -> HttpResponse:
    found = get_object_or_404(WeekPaper, pk=week_paper)
    if found.pdf is None:
        raise Http404("This week is not drawn yet.")
    answer = HttpResponse(bytes(found.pdf), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="week-{found.monday}.pdf"'
    return answer


def _monday(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError as error:
        raise Http404(f"“{text}” is no date") from error
    return date.fromisocalendar(*day.isocalendar()[:2], 1)
