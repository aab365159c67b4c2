"""Forms for what the bays know of parts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django import forms

from bom.items.models import Item
from production.assembly.models import Fastener, NumberRule, Plug

# django-stubs makes these classes generic, Django itself does not.
if TYPE_CHECKING:
    _FastenerForm = forms.ModelForm[Fastener]
    _PlugForm = forms.ModelForm[Plug]
    _RuleForm = forms.ModelForm[NumberRule]
else:
    _FastenerForm = _PlugForm = _RuleForm = forms.ModelForm


class _ItemByCode(forms.Form):
    """A part named by its code; one that is written down already is changed."""

    code = forms.CharField(label="Part (its code)", max_length=40)

    def clean_code(self) -> str:
        code = str(self.cleaned_data["code"]).strip()
        self.item = Item.objects.filter(code__iexact=code).first()
        if self.item is None:
            raise forms.ValidationError("There is no part with this code; look for it among the items.")
        return code


class FastenerForm(_ItemByCode, _FastenerForm):
    class Meta:
        model = Fastener
        fields = ["diameter_mm", "low_nm", "high_nm", "source"]
        help_texts = {
            "low_nm": "Leave both empty: the figure of the table for class 8.8 counts.",
            "source": "E.g. the wheel's maker, sheet 4.",
        }


class PlugForm(_ItemByCode, _PlugForm):
    class Meta:
        model = Plug
        fields = ["poles"]


class NumberRuleForm(_ItemByCode, _RuleForm):
    class Meta:
        model = NumberRule
        fields = ["form", "mask"]
        help_texts = {"mask": "# a digit, @ a letter, ? either, anything else itself: AX-######"}
