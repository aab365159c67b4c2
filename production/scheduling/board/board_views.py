"""The board's pages: a week drawn, one operation picked, a change tried, kept, undone, made a plan of."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, time

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from production.planning.models import Plan
from production.scheduling import planning
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.asked.questions import Standing, standing_of
from production.scheduling.board import changes
from production.scheduling.board.board import board_of
from production.scheduling.board.drafts import Draft, changes_on, draft_of, read_desk
from production.scheduling.board.picked import picked_of
from production.scheduling.board.wording import Namer, all_words, held_words, said_of, stopped_words
from production.scheduling.forms import PlanForm
from production.scheduling.week import shown_plan
from production.shop.models import WorkCentre
from production.works.person import person

_WEEK = re.compile(r"^(\d{4})-W(\d{1,2})$")


@require_GET
def board(request: HttpRequest) -> HttpResponse:
    """The week of `?week=` of the plan of `?plan=`; what `?pick=` names is picked, and `?to=` is tried on it."""
    plan = _plan(request)
    if plan is None:
        return page(request, "scheduling/board.html", {"plan": None})
    standing = standing_of(plan)
    if standing is None:
        return page(request, "scheduling/board.html", {"plan": plan, "draft": None})
    tried, problem = _tried(request, plan, standing)
    held = changes_on(plan)
    live = [change for change in held if not change.is_undone]
    draft = draft_of(plan, standing, read_desk(), (*live, *([tried] if tried else [])))
    context = _context(request, draft, tried, problem)
    context["undone"] = len(held) - len(live)
    return page(request, "scheduling/board.html", context, part="scheduling/_board.html")


def _context(
    request: HttpRequest, draft: Draft, tried: PlanChange | None, problem: ProblemError | None
) -> dict[str, object]:
    namer = Namer(draft)
    pick = request.GET.get("pick", "")
    kept = [change for change in draft.changes if change is not tried]
    return {
        "plan": draft.plan,
        "draft": draft,
        "board": board_of(draft, namer, _monday(request, draft, pick)),
        "picked": picked_of(draft, namer, pick),
        "tried": tried,
        "problems": problem.problems if problem else (),
        "said": said_of(draft, namer),
        "kept": all_words(draft, namer, kept),
        "late_count": sum(namer.days_late(number) > 0 for number in draft.standing.orders),
        "stopped": stopped_words(draft, namer),
        "form": PlanForm(),
        "held": held_words(draft, namer),
        "let_go": draft.standing.let_go,
        "run": planning.open_plan(),
        "terms": draft.desk.terms,
        "usual_shift": changes.USUAL_SHIFT,
    }


def _tried(
    request: HttpRequest, plan: Plan, standing: Standing
) -> tuple[PlanChange | None, ProblemError | None]:
    """The change that the address asks to try, not written; or why it cannot be."""
    if not request.GET.get("to"):
        return None, None
    try:
        to = _moment(request.GET["to"])
        pick = request.GET.get("pick", "")
        return changes.moving(standing, plan=plan, operation=pick, to=to, by=None), None
    except ProblemError as error:
        return None, error


def _plan(request: HttpRequest) -> Plan | None:
    number = request.GET.get("plan", "")
    if number and not number.isdecimal():
        raise Http404(f"There is no plan {number}")
    return shown_plan(int(number) if number else None, whole=True)


def _monday(request: HttpRequest, draft: Draft, pick: str) -> date:
    """The week asked for; else the one in which the picked operation lies; else this one."""
    found = _WEEK.match(request.GET.get("week", ""))
    if found:
        try:
            return date.fromisocalendar(int(found[1]), int(found[2]), 1)
        except ValueError as error:
            raise Http404(f"There is no week {found[0]}") from error
    row = next((row for row in draft.after.operations if row.id == pick), None)
    day = draft.clock.day_of(row.start_min) if row else timezone.localdate()
    return date.fromisocalendar(*day.isocalendar()[:2], 1)


def _acting(verb: Callable[[HttpRequest, Plan], str]) -> Callable[..., HttpResponse]:
    """A POST that changes what is tried on a plan and goes back to the board."""

    @require_POST
    @needs("production.run_plan")
    def view(request: HttpRequest, number: int) -> HttpResponse:
        plan = get_object_or_404(Plan, number=number, outcome=Plan.Outcome.SUCCEEDED)
        try:
            if said := verb(request, plan):
                messages.info(request, said)
        except ProblemError as error:
            messages.error(request, str(error))
        return redirect(_board_address(request, plan))

    return view


@_acting
def move(request: HttpRequest, plan: Plan) -> str:
    """Keep a move."""
    to = _moment(request.POST.get("to", ""))
    changes.move(plan=plan, operation=request.POST.get("pick", ""), to=to, by=person(request))
    return ""


@_acting
def overtime(request: HttpRequest, plan: Plan) -> str:
    """Open a station longer on one day."""
    centre, day = _centre(request), _day(request)
    minutes = request.POST.get("minutes", "")
    if not minutes.isdecimal():
        raise ProblemError(
            Problem(f"“{minutes}” is no number of minutes", "overtime", "Write whole minutes.")
        )
    changes.open_longer(plan=plan, work_centre=centre, day=day, minutes=int(minutes), by=person(request))
    return ""


@_acting
def shift(request: HttpRequest, plan: Plan) -> str:
    """Give a station an extra shift."""
    starts, ends = (_time(request.POST.get(name, "")) for name in ("starts", "ends"))
    changes.extra_shift(
        plan=plan,
        work_centre=_centre(request),
        day=_day(request),
        starts=starts,
        ends=ends,
        by=person(request),
    )
    return ""


@_acting
def lorry(request: HttpRequest, plan: Plan) -> str:
    """Have the lorry call on another day too."""
    changes.extra_lorry(plan=plan, day=_day(request), by=person(request))
    return ""


@_acting
def undo(request: HttpRequest, plan: Plan) -> str:
    """Take the last change back."""
    return "" if changes.undo(plan=plan) else "There is nothing to undo."


@_acting
def redo(request: HttpRequest, plan: Plan) -> str:
    """Do again what was undone."""
    return "" if changes.redo(plan=plan) else "There is nothing to do again."


@_acting
def throw_away(request: HttpRequest, plan: Plan) -> str:
    """Forget every change that is tried."""
    count = changes.throw_away(plan=plan)
    return f"{count} change{'' if count == 1 else 's'} thrown away; plan {plan.number} is as it was."


@require_POST
@needs("production.run_plan")
def make(request: HttpRequest, number: int) -> HttpResponse:
    """Make a plan of the changes: the rest put around them, or left as it is drawn (no seconds)."""
    plan = get_object_or_404(Plan, number=number, outcome=Plan.Outcome.SUCCEEDED)
    seconds = request.POST.get("seconds", "0")
    try:
        if not seconds.isdecimal():
            raise ProblemError(
                Problem(f"“{seconds}” is no number of seconds", "seconds", "Write a whole number.")
            )
        made = changes.make_plan_of(plan=plan, seconds=int(seconds), by=person(request))
    except ProblemError as error:
        messages.error(request, str(error))
        return redirect(_board_address(request, plan))
    return redirect("week:plan", made.number)


def _board_address(request: HttpRequest, plan: Plan) -> str:
    query = {"plan": str(plan.number)}
    week = request.POST.get("week", "")
    if _WEEK.match(week):
        query["week"] = week
    if pick := request.POST.get("pick", ""):
        query["pick"] = pick
    return f"{reverse('week:board')}?{urlencode(query)}"


def _centre(request: HttpRequest) -> WorkCentre:
    return get_object_or_404(WorkCentre, code=request.POST.get("work_centre", ""))


def _day(request: HttpRequest) -> date:
    text = request.POST.get("day", "")
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise ProblemError(Problem(f"“{text}” is no date", "day", "Write it as 2026-05-12.")) from error


def _time(text: str) -> time:
    try:
        return time.fromisoformat(text)
    except ValueError as error:
        raise ProblemError(Problem(f"“{text}” is no time", "extra shift", "Write it as 07:00.")) from error


def _moment(text: str) -> datetime:
    try:
        found = datetime.fromisoformat(text)
    except ValueError as error:
        raise ProblemError(
            Problem(f"“{text}” is no date and time", "begin", "Write it as 2026-05-12T10:00.")
        ) from error
    return found if found.tzinfo else timezone.make_aware(found)
