"""Forms of drawing files and of the table of layers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from bom.geometry.drawing_models import UNIT_CHOICES, LayerRule
from bom.kernel.pages import new_key

KEY = "drawing"

if TYPE_CHECKING:
    _ModelForm = forms.ModelForm[LayerRule]
else:
    _ModelForm = forms.ModelForm


class KeyForm(forms.Form):
    """A hidden key that names the one reading a form stands for."""

    key = forms.RegexField(rf"^{KEY}:[0-9a-f]{{32}}$", widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("key", new_key(KEY))


class UnitForm(KeyForm):
    unit = forms.ChoiceField(
        label="Unit, if the file states none",
        choices=[("", "it must be stated"), *UNIT_CHOICES],
        required=False,
    )


class DrawingForm(UnitForm):
    field_order = ["file", "grade", "thickness_mm", "unit"]

    file = forms.FileField(label="Drawing (.dxf)", widget=forms.ClearableFileInput(attrs={"accept": ".dxf"}))
    grade = forms.CharField(label="Steel grade", max_length=20)
    thickness_mm = forms.DecimalField(label="Thickness mm", max_digits=6, decimal_places=2, min_value=0)


class LayerForm(_ModelForm):
    class Meta:
        model = LayerRule
        fields = ["name", "role"]
        labels = {"name": "Layer", "role": "is for"}
