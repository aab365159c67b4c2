"""Forms of the saw: what is wrong with a piece, what the saw reckons with."""

from collections.abc import Iterable
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.http import QueryDict

from bom.geometry.models import SawnEnds
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from inventory.stock.models import Location
from production.cutting.marking import Reason
from production.cutting.saw.counting import KeepBar
from production.cutting.saw.models import BarLength, SawRules

REASONS = (
    Reason("length", "wrong length"),
    Reason("angle", "wrong angle"),
    Reason("edge", "bent or torn edge"),
    Reason("steel", "fault in the steel"),
    Reason("lost", "cannot be found", is_lost=True),
)
_BY_CODE = {reason.code: reason for reason in REASONS}


def read_marks(values: Iterable[str]) -> tuple[dict[int, str], dict[int, str]]:
    """Scrapped and lost cuts with their reasons in words, from values like "12:angle"; "12:" is good."""
    scrapped: dict[int, str] = {}
    lost: dict[int, str] = {}
    for value in values:
        cut, _, code = value.partition(":")
        if cut.isdecimal() and code in _BY_CODE:
            (lost if _BY_CODE[code].is_lost else scrapped)[int(cut)] = _BY_CODE[code].words
    return scrapped, lost


def read_keep(fields: QueryDict, where: str) -> KeepBar | None:
    """What of the bar goes back to a shelf, if anything does.

    Raises:
        ProblemError: the length is no number, or the shelf is unknown.
    """
    if not fields.get("keep"):
        return None
    shelf = Location.objects.filter(
        kind=Location.Kind.SHELF, code__iexact=fields.get("place", "").strip()
    ).first()
    try:
        length = Decimal(fields.get("length_mm", "").strip())
    except InvalidOperation:
        length = Decimal(0)
    if shelf is None or not length.is_finite() or length <= 0:
        raise ProblemError(
            Problem("The offcut has no length or no shelf", where, "Measure it, and choose a shelf for it.")
        )
    return KeepBar(shelf, length)


class SawRulesForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = SawRules
        fields = ("kerf_mm", "trim_mm", "shortest_offcut_mm", "window_days")
        labels = {
            "kerf_mm": "Saw cut, mm",
            "trim_mm": "End trim, mm",
            "shortest_offcut_mm": "Shortest offcut worth keeping, mm",
            "window_days": "Days sawn together",
        }


class BarLengthForm(forms.ModelForm):  # type: ignore[type-arg]
    item = forms.ModelChoiceField(
        Item.objects.filter(kind=Item.Kind.SECTION, is_active=True).order_by("code"),
        to_field_name="code",
        label="Section",
    )

    class Meta:
        model = BarLength
        fields = ("item", "length_mm", "price")
        labels = {"length_mm": "Length, mm", "price": "Price of one bar, if not by the metre"}


class SawnEndsForm(forms.ModelForm):  # type: ignore[type-arg]
    item = forms.ModelChoiceField(
        Item.objects.filter(kind=Item.Kind.MADE, is_active=True),
        to_field_name="code",
        label="Sawn part, its code",
        widget=forms.TextInput,
    )

    class Meta:
        model = SawnEnds
        fields = ("item", "first_deg", "second_deg", "slant_alike")
        labels = {
            "first_deg": "End 1, degrees off square",
            "second_deg": "End 2, degrees off square",
            "slant_alike": "Both lean the same way",
        }

    def clean(self) -> dict[str, Any]:
        # One row a part: a second entry for it changes the first.
        item = self.cleaned_data.get("item")
        self.instance = (SawnEnds.objects.filter(item=item).first() if item else None) or self.instance
        return super().clean() or self.cleaned_data
