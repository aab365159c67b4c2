"""Pages of a part: its sheet with drawing, bends, section and vents; and the rules the workshop draws by."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.geometry import folding, forms, section_items, vents
from bom.geometry.bending import RULE_SOURCES
from bom.geometry.models import BendValue, FlatPart, HouseRule, SectionProfile
from bom.geometry.part_sheet import part_sheet
from bom.geometry.venting import PERSON, RULES
from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from bom.people.models import User


@require_GET
def part(request: HttpRequest, code: str) -> HttpResponse:
    """The sheet of one part."""
    return _sheet(request, get_object_or_404(Item.objects.select_related("flat_part"), code=code))


@require_POST
@needs("bom.draw_part")
def bends(request: HttpRequest, code: str) -> HttpResponse:
    """The bend list posted replaces the one that is there."""
    shape = get_object_or_404(FlatPart.objects.select_related("item"), item__code=code)
    rows = forms.bend_forms(shape, request.POST)
    if not rows.is_valid():
        return _sheet(request, shape.item, {"bend_forms": rows}, status=422)
    try:
        folding.set_bends(part=shape, bends=forms.kept(rows))
    except ProblemError as error:
        return _sheet(request, shape.item, {"bend_forms": rows, "problems": error.problems}, status=409)
    messages.success(request, f"The bends of {code} are written.")
    return redirect("geometry:part", code)


@require_POST
@needs("bom.draw_part")
def holes(request: HttpRequest, code: str) -> HttpResponse:
    """The vent and drain holes posted replace those recorded."""
    item = get_object_or_404(Item, code=code)
    rows = forms.hole_forms(item, request.POST)
    if not rows.is_valid():
        return _sheet(request, item, {"hole_forms": rows}, status=422)
    try:
        vents.record_holes(
            item=item, holes=forms.kept(rows), ends_stay_open=request.POST.get("ends_stay_open") == "on"
        )
    except ProblemError as error:
        return _sheet(request, item, {"hole_forms": rows, "problems": error.problems}, status=409)
    messages.success(request, f"The vent and drain holes of {code} are recorded.")
    return redirect("geometry:part", code)


@require_POST
@needs("bom.draw_part")
def judge(request: HttpRequest, code: str) -> HttpResponse:
    """A person's judgement where the rule is silent."""
    item = get_object_or_404(Item, code=code)
    form = forms.JudgementForm(request.POST)
    if not form.is_valid() or not isinstance(request.user, User):
        return _sheet(request, item, {"judgement_form": form}, status=422)
    values = form.cleaned_data
    try:
        vents.judge_vents(
            item=item, is_met=values["verdict"] == "met", reason=values["reason"], by=request.user
        )
    except ProblemError as error:
        return _sheet(request, item, {"judgement_form": form, "problems": error.problems}, status=409)
    messages.success(request, f"Your judgement on the vents of {code} is recorded with your name.")
    return redirect("geometry:part", code)


@require_POST
@needs("bom.draw_part")
def section(request: HttpRequest, code: str) -> HttpResponse:
    """The dimensions of a raw section."""
    item = get_object_or_404(Item, code=code)
    form = forms.SectionForm(request.POST, instance=SectionProfile.objects.filter(item=item).first())
    if not form.is_valid():
        return _sheet(request, item, {"section_form": form}, status=422)
    try:
        section_items.set_section(item=item, profile=form.profile())
    except ProblemError as error:
        return _sheet(request, item, {"section_form": form, "problems": error.problems}, status=409)
    messages.success(request, f"{code} has its dimensions; mass and surface a metre follow from them.")
    return redirect("geometry:part", code)


@require_http_methods(["GET", "POST"])
def rules(request: HttpRequest) -> HttpResponse:
    """Which rules the workshop works to, and its table of the press brake."""
    if request.method == "POST":
        return _choose(request)
    return _rules(request)


@needs("bom.set_geometry_rule")
def _choose(request: HttpRequest) -> HttpResponse:
    form = forms.HouseRuleForm(request.POST, instance=HouseRule.in_force())
    if not form.is_valid():
        return _rules(request, {"rule_form": form}, status=422)
    by = request.user if isinstance(request.user, User) else None
    chosen = folding.choose_rules(
        bend_rule=form.cleaned_data["bend_rule"], vent_rule=form.cleaned_data["vent_rule"], by=by
    )
    messages.success(request, f"From now on: {chosen}.")
    return redirect("geometry:rules")


@require_POST
@needs("bom.set_geometry_rule")
def usual_values(request: HttpRequest) -> HttpResponse:
    """Fill the table of the press brake where it has no row."""
    count = folding.put_in_usual_values()
    messages.success(request, f"{count} rows are new; put in your own figures as you test them.")
    return redirect("geometry:rules")


@require_http_methods(["GET", "POST"])
@needs("bom.set_geometry_rule")
def bend_value(request: HttpRequest, row: int = 0) -> HttpResponse:
    """One row of the table of the press brake: new, changed, or taken out."""
    instance = get_object_or_404(BendValue, pk=row) if row else None
    if instance and "take_out" in request.POST:
        instance.delete()
        messages.success(request, f"The row for {instance} is taken out.")
        return redirect("geometry:rules")
    form = forms.BendValueForm(request.POST or None, instance=instance)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"The row for {form.instance} is written.")
        return redirect("geometry:rules")
    status = 422 if form.is_bound else 200
    return page(request, "geometry/bend_value.html", {"form": form, "row": instance}, status=status)


def _rules(request: HttpRequest, more: dict[str, Any] | None = None, *, status: int = 200) -> HttpResponse:
    rule = HouseRule.in_force()
    context = {
        "rule": rule,
        "rule_form": forms.HouseRuleForm(instance=rule),
        "values": BendValue.objects.all(),
        "bend_sources": [(name, RULE_SOURCES[code]) for code, name in HouseRule.BEND_RULES],
        "vent_rules": list(RULES.values()),
        **(more or {}),
    }
    return page(request, "geometry/rules.html", context, status=status)


def _sheet(
    request: HttpRequest, item: Item, more: dict[str, Any] | None = None, *, status: int = 200
) -> HttpResponse:
    sheet = part_sheet(item)
    context: dict[str, Any] = {"sheet": sheet, "item": item}
    if request.user.has_perm("bom.draw_part"):
        context |= _forms(item, sheet.part, sheet.vents)
    return page(request, "geometry/part.html", context | (more or {}), status=status)


def _forms(item: Item, shape: FlatPart | None, state: vents.VentState) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if shape:
        found["bend_forms"] = forms.bend_forms(shape)
    if item.is_hollow and item.is_made and not state.is_assembly:
        found["hole_forms"] = forms.hole_forms(item)
    if state.outcome == PERSON:
        found["judgement_form"] = forms.JudgementForm()
    if item.kind == Item.Kind.SECTION:
        found["section_form"] = forms.SectionForm(instance=SectionProfile.objects.filter(item=item).first())
    return found
