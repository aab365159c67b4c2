"""Forms of the part page and of the geometry rules."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.forms import formset_factory

from bom.geometry.folding import BendDraft
from bom.geometry.models import BendValue, FlatPart, HouseRule, SectionProfile, VentHole
from bom.geometry.sections import Profile
from bom.geometry.vents import HoleDraft
from bom.items.models import Item

MOST_ROWS = 40

if TYPE_CHECKING:
    _ModelForm = forms.ModelForm[Any]
else:
    _ModelForm = forms.ModelForm


def _mm(label: str, **kwargs: Any) -> forms.DecimalField:
    return forms.DecimalField(label=label, max_digits=10, decimal_places=3, **kwargs)


class BendForm(forms.Form):
    """One bend; lengths in mm in the coordinates of the drawing."""

    x1_mm = _mm("from x")
    y1_mm = _mm("from y")
    x2_mm = _mm("to x")
    y2_mm = _mm("to y")
    angle_deg = forms.DecimalField(label="turns by °", max_digits=5, decimal_places=2, initial=90)
    inside_radius_mm = forms.DecimalField(label="inside radius", max_digits=6, decimal_places=2, min_value=0)
    direction = forms.ChoiceField(label="direction", choices=[("up", "up"), ("down", "down")], initial="up")

    def draft(self) -> BendDraft:
        values = {name: self.cleaned_data[name] for name in self.fields if name != "DELETE"}
        return BendDraft(**values)


class HoleForm(forms.Form):
    """Holes of one diameter at one end."""

    end = forms.TypedChoiceField(label="end", choices=VentHole.End.choices, coerce=int, initial=1)
    purpose = forms.ChoiceField(label="for", choices=[("vent", "vent"), ("drain", "drain")], initial="vent")
    diameter_mm = forms.DecimalField(
        label="diameter mm", max_digits=6, decimal_places=2, min_value=Decimal("0.1")
    )
    count = forms.IntegerField(label="how many", min_value=1, max_value=20, initial=1)

    def draft(self) -> HoleDraft:
        values = self.cleaned_data
        return HoleDraft(values["end"], values["purpose"], values["diameter_mm"], values["count"])


BendForms = formset_factory(BendForm, extra=1, can_delete=True, max_num=MOST_ROWS, validate_max=True)
HoleForms = formset_factory(HoleForm, extra=1, can_delete=True, max_num=MOST_ROWS, validate_max=True)


def bend_forms(part: FlatPart, data: Any = None) -> Any:
    """The bend list as rows to fill in. What is posted stands for itself: compared with the rows in the database, a
    second submit of the same form would look unchanged and lose its rows."""
    if data is not None:
        return BendForms(data, prefix="bends")
    rows = [
        {name: getattr(row, name) for name in BendForm.base_fields if name != "DELETE"}
        for row in part.fold_lines.all()
    ]
    return BendForms(initial=rows, prefix="bends")


def hole_forms(item: Item, data: Any = None) -> Any:
    """The holes as rows to fill in; as with bends, what is posted stands for itself."""
    if data is not None:
        return HoleForms(data, prefix="holes")
    rows = [
        {"end": hole.end, "purpose": hole.purpose, "diameter_mm": hole.diameter_mm, "count": hole.count}
        for hole in item.vent_holes.all()
    ]
    return HoleForms(initial=rows, prefix="holes")


def kept(forms_: Any) -> list[Any]:
    """The drafts of the filled rows that are not to be removed."""
    return [
        form.draft() for form in forms_ if form.has_changed() and not form.cleaned_data.get("DELETE", False)
    ]


class SectionForm(_ModelForm):
    class Meta:
        model = SectionProfile
        fields = ["standard", "height_mm", "breadth_mm", "wall_mm", "root_radius_mm"]
        labels = {
            "height_mm": "Height mm (flat bars: breadth; round: diameter)",
            "breadth_mm": "Breadth mm",
            "wall_mm": "Wall or thickness mm",
            "root_radius_mm": "Root radius mm",
        }

    def profile(self) -> Profile:
        values = self.cleaned_data
        return Profile(
            values["standard"],
            float(values["height_mm"]),
            float(values["breadth_mm"]),
            float(values["wall_mm"]),
            float(values["root_radius_mm"]),
        )


class JudgementForm(forms.Form):
    verdict = forms.ChoiceField(
        label="Having looked into it", choices=[("", "…"), ("met", "met"), ("not_met", "not met")]
    )
    reason = forms.CharField(label="What you looked at", max_length=200)


class HouseRuleForm(_ModelForm):
    class Meta:
        model = HouseRule
        fields = ["bend_rule", "vent_rule"]
        labels = {"bend_rule": "Flat lengths by", "vent_rule": "Vent and drain holes by"}


class BendValueForm(_ModelForm):
    class Meta:
        model = BendValue
        fields = [
            "grade",
            "thickness_mm",
            "inside_radius_mm",
            "k_factor",
            "die_opening_mm",
            "least_flange_mm",
            "source",
        ]
        labels = {
            "thickness_mm": "Thickness mm",
            "inside_radius_mm": "Inside radius mm",
            "k_factor": "K factor",
            "die_opening_mm": "Die opening mm",
            "least_flange_mm": "Least flange mm",
        }
