"""What to print, and on what."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from inventory.stores.labels.contents import CONTENTS
from inventory.stores.labels.models import LabelLayout


class PrintForm(forms.Form):
    what = forms.ChoiceField(
        label="Labels of", choices=[(key, words) for key, (words, _) in CONTENTS.items()]
    )
    layout = forms.ModelChoiceField(label="On", queryset=LabelLayout.objects.none(), empty_label=None)
    first = forms.IntegerField(
        label="First free place", min_value=1, initial=1, help_text="On a sheet begun, counted row by row."
    )
    copies = forms.IntegerField(label="Of each", min_value=1, max_value=100, initial=1)
    codes = forms.CharField(
        label="Which",
        required=False,
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 5, "class": "code", "spellcheck": "false"}),
        help_text="Codes with spaces or lines between them; for lots also their item; none means every place.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["layout"].queryset = LabelLayout.objects.all()  # type: ignore[attr-defined]


# django-stubs makes this class generic, Django itself does not.
if TYPE_CHECKING:
    _LayoutForm = forms.ModelForm[LabelLayout]
else:
    _LayoutForm = forms.ModelForm


class LayoutForm(_LayoutForm):
    class Meta:
        model = LabelLayout
        fields = (
            "name",
            "page_width_mm",
            "page_height_mm",
            "columns",
            "rows",
            "label_width_mm",
            "label_height_mm",
            "left_mm",
            "top_mm",
            "pitch_x_mm",
            "pitch_y_mm",
        )
        labels = {
            "page_width_mm": "Page width (mm)",
            "page_height_mm": "Page height (mm)",
            "label_width_mm": "Label width (mm)",
            "label_height_mm": "Label height (mm)",
            "left_mm": "Left margin to the first label (mm)",
            "top_mm": "Top margin to the first label (mm)",
            "pitch_x_mm": "From one label to the next, across (mm)",
            "pitch_y_mm": "From one label to the next, down (mm)",
        }
