"""The numbers by which others know an item: a small page to give and take them."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods, require_POST

from bom.items import identifying
from bom.items.models import Item, ItemIdentifier
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page

CHANGE = "bom.change_itemidentifier"


class NumberForm(forms.Form):
    kind = forms.ChoiceField(label="Kind", choices=ItemIdentifier.Kind.choices)
    code = forms.CharField(
        label="Number", max_length=60, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    holds = forms.DecimalField(
        label="One with this number holds",
        initial=1,
        max_digits=14,
        decimal_places=4,
        help_text="In the item's stock unit: a box of ten holds 10.",
    )


@require_http_methods(["GET", "POST"])
@needs(CHANGE)
def numbers(request: HttpRequest, code: str) -> HttpResponse:
    """GTIN, suppliers' and makers' codes of one item. The same number given twice is one row."""
    item = get_object_or_404(Item, code=code)
    form = NumberForm(request.POST or None)
    problems: tuple[Problem, ...] = ()
    if request.method == "POST" and form.is_valid():
        try:
            row = identifying.add_identifier(item=item, **form.cleaned_data)
        except ProblemError as refusal:
            problems = refusal.problems
        else:
            messages.success(request, f"{row} now opens {item.code}.")
            return redirect("items:numbers", code=item.code)
    context: dict[str, Any] = {
        "item": item,
        "rows": item.identifiers.all(),
        "form": form,
        "problems": problems,
    }
    return page(request, "items/numbers.html", context, status=409 if problems else 200)


@require_POST
@needs(CHANGE)
def take_away(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    row = get_object_or_404(ItemIdentifier, pk=pk, item__code=code)
    identifying.remove_identifier(identifier=row)
    messages.success(request, f"{row} no longer opens {code}.")
    return redirect("items:numbers", code=code)
