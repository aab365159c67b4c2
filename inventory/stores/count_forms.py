"""Forms of the stocktake."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms
from django.utils import timezone

from inventory.stock.models import Location
from inventory.stores.count_sheets import COUNTED_KINDS
from inventory.stores.forms import KeyedForm, PlaceField
from inventory.stores.models import CountClass

if TYPE_CHECKING:
    _ClassForm = forms.ModelForm[CountClass]
else:
    _ClassForm = forms.ModelForm

_MOMENT = {"type": "datetime-local"}


class PlaceSheetForm(KeyedForm):
    """A whole place to be counted."""

    location = PlaceField(queryset=Location.objects.none(), label="Place to count whole")
    note = forms.CharField(label="Note", max_length=120, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["location"].queryset = Location.objects.filter(kind__in=COUNTED_KINDS)  # type: ignore[attr-defined]


class MomentField(forms.DateTimeField):
    """When it was counted; empty means now."""

    def __init__(self) -> None:
        super().__init__(
            label="Counted at",
            required=False,
            widget=forms.DateTimeInput(attrs=_MOMENT, format="%Y-%m-%dT%H:%M"),
            help_text="Only if it was counted earlier than it is typed in.",
            input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"],
        )

    def clean(self, value: Any) -> Any:
        found = super().clean(value)
        return timezone.make_aware(found) if found and timezone.is_naive(found) else found


class PasteForm(KeyedForm):
    """Counts pasted from a spreadsheet."""

    counts = forms.CharField(
        label="Counts",
        max_length=200_000,
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false", "class": "code"}),
        help_text="A line each: code, quantity, lot if it has one; with tabs or spaces between.",
    )
    location = PlaceField(queryset=Location.objects.none(), label="Counted at place", required=False)
    counted_at = MomentField()

    def __init__(self, *args: Any, places: list[Location], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ids = [place.pk for place in places]
        self.fields["location"].queryset = Location.objects.filter(pk__in=ids)  # type: ignore[attr-defined]
        if len(places) == 1:
            self.initial["location"] = ids[0]
        self.fields["location"].required = True


class FoundForm(KeyedForm):
    """Something found that is not on the sheet."""

    code = forms.CharField(label="Item", max_length=40)
    location = PlaceField(queryset=Location.objects.none(), label="Lies at")
    lot = forms.CharField(label="Lot or serial number", max_length=60, required=False)
    quantity = forms.DecimalField(
        label="Counted",
        min_value=0,
        max_digits=16,
        decimal_places=4,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )

    def __init__(self, *args: Any, places: list[Location], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ids = [place.pk for place in places]
        self.fields["location"].queryset = Location.objects.filter(pk__in=ids)  # type: ignore[attr-defined]
        if len(places) == 1:
            self.initial["location"] = ids[0]


class ApproveForm(forms.Form):
    reason = forms.CharField(label="Why the differences are accepted", max_length=150, required=False)


class ClassForm(_ClassForm):
    """The figures of one class."""

    class Meta:
        model = CountClass
        fields = ("share_to", "days_between", "recount_percent", "recount_value")
        labels = {
            "share_to": "Value share up to, %",
            "days_between": "Counted every … days",
            "recount_percent": "Again beyond, %",
            "recount_value": "Again beyond, value",
        }
