"""Forms of the gate."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django import forms

from bom.items.models import Item
from production.dispatch.calling_back import Complaint
from production.dispatch.models import CheckLine, CheckList, Claim, Lorry, Maker

# django-stubs makes these classes generic, Django itself does not.
if TYPE_CHECKING:
    _MakerForm = forms.ModelForm[Maker]
    _ListForm = forms.ModelForm[CheckList]
    _LineForm = forms.ModelForm[CheckLine]
    _LorryForm = forms.ModelForm[Lorry]
else:
    _MakerForm = _ListForm = _LineForm = _LorryForm = forms.ModelForm


class MakerForm(_MakerForm):
    class Meta:
        model = Maker
        fields = [
            "name",
            "address",
            "wmi",
            "small_code",
            "descriptor",
            "plant",
            "has_check_digit",
            "has_year",
        ]
        widgets = {"address": forms.Textarea(attrs={"rows": 3})}


class CheckListForm(_ListForm):
    class Meta:
        model = CheckList
        fields = ["name", "sequence", "model", "condition", "is_active"]
        labels = {
            "name": "Name of the list",
            "sequence": "Place among the lists",
            "model": "Only for trailers of this model",
            "condition": "Only where this holds",
            "is_active": "In use",
        }
        help_texts = {"sequence": "Low numbers come first.", "model": "Empty: every model."}


class CheckLineForm(_LineForm):
    class Meta:
        model = CheckLine
        fields = [
            "check_list",
            "sequence",
            "words",
            "condition",
            "unit",
            "low",
            "high",
            "source",
            "is_active",
        ]
        labels = {
            "check_list": "In which list",
            "sequence": "Place in the list",
            "words": "What is looked at or measured",
            "condition": "Only where this holds",
            "unit": "Unit of the measured value",
            "low": "At least, in that unit",
            "high": "At most, in that unit",
            "source": "Where the limits come from",
            "is_active": "In use",
        }
        help_texts = {
            "sequence": "Low numbers come first.",
            "condition": "As on bill lines, e.g. model.braked; empty: always.",
            "source": "",
            "unit": "N·m, mm, kg, kPa, µm …; empty where it is only looked at.",
        }


class LorryForm(_LorryForm):
    class Meta:
        model = Lorry
        fields = ["name", "trailers", "is_active"]


class OwnerForm(forms.Form):
    """Who has the trailer now."""

    name = forms.CharField(label="New owner", max_length=120)
    contact = forms.CharField(label="Place and how to reach", max_length=200, required=False)
    since = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}))


class ClaimForm(forms.Form):
    """A warranty claim."""

    item = forms.CharField(label="Part (its code)", max_length=40)
    cause = forms.ChoiceField(choices=Claim.Cause.choices, initial=Claim.Cause.UNKNOWN)
    words = forms.CharField(label="What failed", max_length=300)
    reported_on = forms.DateField(label="Reported", widget=forms.DateInput(attrs={"type": "date"}))
    cost = forms.DecimalField(label="Cost to us", min_value=0, max_digits=10, decimal_places=2, initial=0)

    def clean_item(self) -> Item:
        found = Item.objects.filter(code__iexact=self.cleaned_data["item"].strip()).first()
        if found is None:
            raise forms.ValidationError("There is no part with this code; look at the record below.")
        return found

    def complaint(self) -> Complaint:
        return Complaint(**self.cleaned_data)
