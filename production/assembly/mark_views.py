"""What the bays know of parts: which are tightened how far, which is the plug, whose numbers are read off."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from bom.kernel.pages import needs, page
from production.assembly import sheets
from production.assembly.forms import FastenerForm, NumberRuleForm, PlugForm
from production.assembly.models import Fastener, NumberRule, Plug

FORMS: dict[str, Any] = {"fastener": FastenerForm, "plug": PlugForm, "rule": NumberRuleForm}


@require_http_methods(["GET", "POST"])
def marks(request: HttpRequest) -> HttpResponse:
    """Three lists; a POST writes a part into one of them, changes it there, or takes it out."""
    return _change(request) if request.method == "POST" else _page(request, {})


@needs("production.set_checks")
def _change(request: HttpRequest) -> HttpResponse:
    what = request.POST.get("what", "")
    if what not in FORMS:
        return redirect("assembly:marks")
    if request.POST.get("out"):
        _rows(what).filter(item__code=request.POST["out"]).delete()
        messages.success(request, f"{request.POST['out']} is taken out.")
        return redirect("assembly:marks")
    form = FORMS[what](request.POST, auto_id=f"{what}_%s")
    if form.is_valid():
        # One that is there already is changed: the same form once more, on its row.
        rows = _rows(what)
        row = rows.filter(item=form.item).first() or rows.model(item=form.item)
        form = FORMS[what](request.POST, instance=row, auto_id=f"{what}_%s")
        if form.is_valid():
            form.save()
            messages.success(request, f"{row.item.code} is written down.")
            return redirect("assembly:marks")
    return _page(request, {what: form}, status=409)


def _rows(what: str) -> QuerySet[Any]:
    rows: QuerySet[Any] = FORMS[what]._meta.model.objects.all()
    return rows


def _page(request: HttpRequest, bound: dict[str, forms.BaseForm], status: int = 200) -> HttpResponse:
    filled = {what: bound.get(what) or form(auto_id=f"{what}_%s") for what, form in FORMS.items()}
    fasteners = [
        (one, sheets.torque_range(one))
        for one in Fastener.objects.select_related("item").order_by("diameter_mm", "item__code")
    ]
    context: dict[str, Any] = {
        "fasteners": fasteners,
        "plugs": Plug.objects.select_related("item").order_by("item__code"),
        "rules": NumberRule.objects.select_related("item").order_by("item__code"),
        "forms": filled,
    }
    return page(request, "assembly/marks.html", context, status=status)
