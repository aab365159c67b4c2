"""Pages of the shop: who is away and what stands, people with their skills, jigs."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Model, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from bom.people.models import User
from production.shop import standing
from production.shop.crew_models import Absence, Jig, JigRepair, Skill, Worker
from production.shop.forms import (
    AbsenceForm,
    JigForm,
    RepairForm,
    SkillForm,
    StandingForm,
    WorkerForm,
)
from production.shop.models import Downtime

FORMS: dict[str, type[forms.Form]] = {"absence": AbsenceForm, "standing": StandingForm, "repair": RepairForm}
ROWS: dict[str, QuerySet[Absence] | QuerySet[Downtime] | QuerySet[JigRepair]] = {
    "absence": Absence.objects.all(),
    "standing": Downtime.objects.all(),
    "repair": JigRepair.objects.all(),
}
NEXT_PLAN = "The next plan reckons with it."


@require_GET
def away(request: HttpRequest) -> HttpResponse:
    """Who is away and what stands, now and to come."""
    return _away_page(request)


@require_POST
@needs("production.change_shop")
def note(request: HttpRequest, what: str) -> HttpResponse:
    """Enter an absence, something that stands, or a jig's repair."""
    if what not in FORMS:
        raise Http404(f"There is nothing called {what}")
    form = FORMS[what](request.POST, prefix=what)
    if not form.is_valid():
        return _away_page(request, {what: form})
    fields = ("starts_at", "ends_at", "reason")
    span = {name: form.cleaned_data[name] for name in fields}
    try:
        _note(what, form.cleaned_data, span, request)
    except ProblemError as refusal:
        return _away_page(request, {what: form}, refusal.problems)
    messages.success(request, f"It is written down. {NEXT_PLAN}")
    return redirect("shop:away")


def _note(what: str, data: dict[str, Any], span: dict[str, Any], request: HttpRequest) -> None:
    if what == "absence":
        by = request.user if isinstance(request.user, User) else None
        standing.note_absence(worker=data["worker"], by=by, **span)
    elif what == "standing":
        standing.note_standing(work_centre=data["work_centre"], units=data["units"], **span)
    else:
        standing.note_repair(jig=data["jig"], units=data["units"], **span)


@require_POST
@needs("production.change_shop")
def end(request: HttpRequest, what: str, row: int) -> HttpResponse:
    """Back or working again already; what has not begun is taken back."""
    if what not in ROWS:
        raise Http404(f"There is nothing called {what}")
    found = ROWS[what].filter(pk=row).first()
    if found is None:
        raise Http404("It was taken back already")
    standing.end_now(found)
    messages.success(request, f"It is over now. {NEXT_PLAN}")
    return redirect("shop:away")


@require_http_methods(["GET", "POST"])
def people(request: HttpRequest, row: int | None = None) -> HttpResponse:
    """Everybody with his hours and skills; one of them open to change."""
    worker = get_object_or_404(Worker, pk=row) if row is not None else None
    if request.method == "GET":
        return _people_page(request, worker)
    _may_change(request)
    form = WorkerForm(request.POST)
    problems = _problems_of(form, lambda data: standing.keep_worker(worker=worker, **data))
    if problems is not None:
        return _people_page(request, worker, form=form, problems=problems)
    messages.success(request, f"{form.cleaned_data['name']} is kept. {NEXT_PLAN}")
    return redirect("shop:people")


@require_POST
@needs("production.change_shop")
def skill(request: HttpRequest) -> HttpResponse:
    """Let a process ask for a skill."""
    form = SkillForm(request.POST)
    problems = _problems_of(
        form,
        lambda data: standing.keep_skill(name=data["name"], code=data["code"], process_id=data["process"].pk),
    )
    if problems is not None:
        return _people_page(request, None, skill_form=form, problems=problems)
    messages.success(request, f"{form.cleaned_data['name']} is kept. {NEXT_PLAN}")
    return redirect("shop:people")


@require_http_methods(["GET", "POST"])
def jigs(request: HttpRequest, code: str | None = None) -> HttpResponse:
    """The weld jigs with the models that stand in them; one of them open to change."""
    jig = get_object_or_404(Jig, code=code) if code is not None else None
    if request.method == "GET":
        return _jigs_page(request, jig, _jig_form(jig))
    _may_change(request)
    form = JigForm(request.POST)
    problems = _problems_of(form, lambda data: standing.keep_jig(jig=jig, **data))
    if problems is not None:
        return _jigs_page(request, jig, form, problems)
    messages.success(request, f"{form.cleaned_data['name']} is kept. {NEXT_PLAN}")
    return redirect("shop:jigs")


def _may_change(request: HttpRequest) -> None:
    """Everybody may look; changing takes the permission."""
    needs("production.change_shop")(lambda asked: HttpResponse())(request)


def _problems_of(form: forms.Form, keep: Callable[[dict[str, Any]], object]) -> tuple[Problem, ...] | None:
    """Keep what a form says. None where it is kept; else why not, empty where the form itself says it."""
    if not form.is_valid():
        return ()
    try:
        keep(form.cleaned_data)
    except ProblemError as refusal:
        return tuple(refusal.problems)
    return None


def _away_page(
    request: HttpRequest,
    filled: dict[str, forms.Form] | None = None,
    problems: tuple[Problem, ...] | list[Problem] = (),
) -> HttpResponse:
    now = timezone.now()

    def to_come(rows: QuerySet[Any]) -> list[Model]:
        return list(rows.filter(ends_at__gt=now).order_by("starts_at"))

    given = filled or {}
    parts = [
        ("absence", "Away", to_come(Absence.objects.select_related("worker"))),
        ("standing", "Stands", to_come(Downtime.objects.select_related("work_centre"))),
        ("repair", "Jigs that cannot be used", to_come(JigRepair.objects.select_related("jig"))),
    ]
    context = {
        "parts": [
            (what, name, rows, given.get(what) or FORMS[what](prefix=what)) for what, name, rows in parts
        ],
        "problems": problems,
        "now": now,
    }
    return page(request, "shop/away.html", context, status=400 if problems or filled else 200)


def _people_page(
    request: HttpRequest,
    worker: Worker | None,
    *,
    form: forms.Form | None = None,
    skill_form: forms.Form | None = None,
    problems: tuple[Problem, ...] = (),
) -> HttpResponse:
    initial = (
        {
            "name": worker.name,
            "calendar": worker.calendar_id,
            "skills": [skill.pk for skill in worker.skills.all()],
            "is_active": worker.is_active,
        }
        if worker
        else None
    )
    context = {
        "worker": worker,
        "workers": Worker.objects.select_related("calendar")
        .prefetch_related("skills")
        .order_by("-is_active", "name"),
        "skills": Skill.objects.select_related("process").prefetch_related("workers"),
        "form": form or WorkerForm(initial=initial),
        "skill_form": skill_form or SkillForm(),
        "problems": problems,
    }
    return page(request, "shop/people.html", context, status=400 if problems or form or skill_form else 200)


def _jig_form(jig: Jig | None) -> JigForm:
    if jig is None:
        return JigForm()
    models = [model.pk for model in jig.models.all()]
    return JigForm(initial={"code": jig.code, "name": jig.name, "units": jig.units, "trailer_models": models})


def _jigs_page(
    request: HttpRequest, jig: Jig | None, form: JigForm, problems: tuple[Problem, ...] = ()
) -> HttpResponse:
    context = {
        "jig": jig,
        "jigs": Jig.objects.prefetch_related("models"),
        "form": form,
        "problems": problems,
    }
    return page(request, "shop/jigs.html", context, status=400 if problems or form.errors else 200)
