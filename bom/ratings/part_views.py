"""What bought parts are rated for and count as, and where things may stand on each model."""

from itertools import groupby
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import ModelForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.catalogue.models import TrailerModel
from bom.items.models import Item
from bom.kernel.errors import Problem
from bom.kernel.pages import needs, page
from bom.ratings.forms import DutyForm, FrameForm, PartForm
from bom.ratings.models import ComponentRating, ItemDuty
from bom.ratings.tyres import tyre_load_kg, tyre_speed_kmh

CHANGE = "bom.change_rules"


@require_GET
def parts(request: HttpRequest) -> HttpResponse:
    """What parts are rated for and count as, and the frames of the models; `part` leads to one part."""
    code = request.GET.get("part", "").strip()
    if code and (found := Item.objects.filter(code__iexact=code).first()):
        return redirect("ratings:part", found.code)
    rows = list(ComponentRating.objects.select_related("item").order_by("kind", "item__code"))
    for row in rows:
        row.words = _part_words(row)  # type: ignore[attr-defined]
    kinds = [(kind, list(of_kind)) for kind, of_kind in groupby(rows, key=lambda row: row.get_kind_display())]
    duties = ItemDuty.objects.select_related("item").order_by("item__code", "duty")
    context = {
        "kinds": kinds,
        "duties": [(item, list(of_item)) for item, of_item in groupby(duties, key=lambda one: one.item)],
        "models": TrailerModel.objects.select_related("frame").order_by("max_mass_kg", "code"),
        "part": code,
        "problems": [Problem(f"There is no part {code}", "part", "Look its code up among the items.")]
        if code
        else (),
    }
    return page(request, "ratings/parts.html", context, status=404 if code else 200)


@require_http_methods(["GET", "POST"])
def part(request: HttpRequest, code: str) -> HttpResponse:
    """What the maker rates one part for, and what it counts as."""
    item = get_object_or_404(Item, code=code)
    return _write_part(request, item) if request.method == "POST" else _part_page(request, item)


@needs(CHANGE)
def _write_part(request: HttpRequest, item: Item) -> HttpResponse:
    row = ComponentRating.objects.filter(item=item).first() or ComponentRating(item=item)
    form = PartForm(request.POST, instance=row)
    if not _saved(form):
        return _part_page(request, item, form, status=422)
    messages.success(request, f"The rating of {item.code} is written down.")
    return redirect("ratings:parts")


@require_POST
@needs(CHANGE)
def duties(request: HttpRequest, code: str) -> HttpResponse:
    """Write down that a part counts as a lamp or a safety part, or take that back. Twice changes nothing more."""
    item = get_object_or_404(Item, code=code)
    if taken := request.POST.get("take"):
        ItemDuty.objects.filter(item=item, duty=taken).delete()
        messages.success(request, f"{item.code} no longer counts as {_duty_word(taken)}.")
        return redirect("ratings:part", code)
    row = ItemDuty.objects.filter(item=item, duty=request.POST.get("duty", "")).first()
    form = DutyForm(request.POST, instance=row or ItemDuty(item=item))
    if not _saved(form):
        return _part_page(request, item, duty_form=form, status=422)
    messages.success(request, f"{item.code} counts as {_duty_word(form.instance.duty)}.")
    return redirect("ratings:part", code)


@require_http_methods(["GET", "POST"])
def frame(request: HttpRequest, code: str) -> HttpResponse:
    """Where axle, post and supports may stand on one model."""
    model = get_object_or_404(TrailerModel.objects.select_related("frame"), code=code)
    return _write_frame(request, model) if request.method == "POST" else _frame_page(request, model)


@needs(CHANGE)
def _write_frame(request: HttpRequest, model: TrailerModel) -> HttpResponse:
    row = getattr(model, "frame", None) or FrameForm.Meta.model(model=model)
    form = FrameForm(request.POST, instance=row)
    if not _saved(form):
        return _frame_page(request, model, form, status=422)
    messages.success(
        request, f"The frame of {model.code} is written down; drafts are set up by it from now on."
    )
    return redirect("ratings:parts")


def _saved(form: "ModelForm[Any]") -> bool:
    """Save a form whose row keeps its rules; else its errors say why not."""
    if not form.is_valid():
        return False
    try:
        form.instance.full_clean()
    except ValidationError as error:
        form.add_error(None, error)
        return False
    form.save()
    return True


def _frame_page(
    request: HttpRequest, model: TrailerModel, form: FrameForm | None = None, status: int = 200
) -> HttpResponse:
    context = {
        "model": model,
        "form": form or FrameForm(instance=getattr(model, "frame", None)),
        "problems": _problems(form),
    }
    return page(request, "ratings/frame.html", context, status=status)


def _part_page(
    request: HttpRequest,
    item: Item,
    form: PartForm | None = None,
    *,
    duty_form: DutyForm | None = None,
    status: int = 200,
) -> HttpResponse:
    row = ComponentRating.objects.filter(item=item).first()
    context = {
        "item": item,
        "form": form or PartForm(instance=row),
        "duty_form": duty_form or DutyForm(),
        "duties": list(item.duties.all()),
        "problems": _problems(form) or _problems(duty_form),
    }
    return page(request, "ratings/part.html", context, status=status)


def _problems(form: "ModelForm[Any] | None") -> list[Problem]:
    return [Problem(str(words)) for words in form.non_field_errors()] if form else []


def _duty_word(duty: str) -> str:
    return str(dict(ItemDuty.Duty.choices).get(duty, duty))


def _part_words(row: ComponentRating) -> str:
    kinds = ComponentRating.Kind
    if row.kind == kinds.TYRE:
        carries, speed = tyre_load_kg(row.load_index or 0), tyre_speed_kmh(row.speed_symbol)
        return (
            f"load index {row.load_index}, {carries} kg a tyre; speed symbol {row.speed_symbol}, {speed} km/h"
        )
    if row.kind == kinds.COUPLING:
        brakes = "overrun" if row.is_braked else "no brakes"
        return f"Dc {row.dc_kn} kN, S {row.s_kg} kg, trailers up to {row.capacity_kg} kg, {brakes}"
    brakes = ", braked" if row.is_braked else ""
    return f"carries {row.capacity_kg} kg{brakes}"
