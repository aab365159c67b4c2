"""The page that works a folded strip out from legs and angles, and back."""

from decimal import Decimal
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from bom.geometry.bending import K_RULE, RULE_SOURCES, bend
from bom.geometry.flat_length import Strip, from_flat, from_outside
from bom.geometry.models import BendValue, HouseRule
from bom.geometry.part_sheet import flange_cautions, legs_of
from bom.geometry.sketching import folded_sketch
from bom.geometry.strips import side_view
from bom.kernel.errors import ProblemError
from bom.kernel.pages import page

OUTSIDE, FLAT = "outside", "flat"
MOST_LEGS = 12


class NumbersField(forms.CharField):
    """Figures in a row, between blanks, semicolons or plus signs."""

    def to_python(self, value: Any) -> Any:
        words = str(value or "").replace(";", " ").replace("+", " ").split()
        try:
            numbers = [float(word) for word in words]
        except ValueError:
            raise forms.ValidationError("Write figures with blanks between them, as 60 200.5 60.") from None
        if len(numbers) > MOST_LEGS:
            raise forms.ValidationError(f"At most {MOST_LEGS} figures.")
        if any(not 0 < number < 100_000 for number in numbers):
            raise forms.ValidationError("Each is above 0 and below 100 000.")
        return numbers


class FlatLengthForm(forms.Form):
    """Lengths in mm, angles in degrees; one angle for all bends, or one for each."""

    given = forms.ChoiceField(
        label="Given are",
        choices=[(OUTSIDE, "outside legs"), (FLAT, "flat legs, to the bend lines")],
        initial=OUTSIDE,
    )
    legs = NumbersField(label="Legs in mm, in a row", initial="60 200 60")
    angles = NumbersField(label="Bends turn by °", initial="90")
    thickness_mm = forms.FloatField(label="Thickness mm", min_value=0.1, max_value=100, initial=3)
    inside_radius_mm = forms.FloatField(label="Inside radius mm", min_value=0, max_value=1000, initial=3)
    k_factor = forms.FloatField(label="K factor", min_value=0, max_value=1, initial=0.42)
    rule = forms.ChoiceField(label="By", choices=HouseRule.BEND_RULES, initial=K_RULE)

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        legs, angles = values.get("legs"), values.get("angles")
        if legs and angles and len(angles) == 1:
            values["angles"] = angles * (len(legs) - 1)
        elif legs and angles and len(angles) != len(legs) - 1:
            self.add_error(
                "angles",
                f"{len(legs)} legs have {len(legs) - 1} bends between them; give one angle or as many.",
            )
        return values


@require_GET
def flat_length(request: HttpRequest) -> HttpResponse:
    """Flat length, bend lines and working of what stands in the address; nothing is kept."""
    given = {name for name in FlatLengthForm.base_fields if name in request.GET}
    if "legs" not in given:
        start = {name: request.GET[name] for name in given}
        form = FlatLengthForm(initial={"rule": HouseRule.in_force().bend_rule, **start})
        return page(request, "geometry/flat_length.html", {"form": form})
    form = FlatLengthForm(request.GET)
    context: dict[str, Any] = {"form": form}
    if form.is_valid():
        try:
            context |= _worked(form.cleaned_data)
        except ProblemError as error:
            context["problems"] = error.problems
    return page(request, "geometry/flat_length.html", context, status=200 if "strip" in context else 422)


def _worked(values: dict[str, Any]) -> dict[str, Any]:
    bends = [
        bend(
            angle,
            values["inside_radius_mm"],
            values["thickness_mm"],
            k_factor=values["k_factor"],
            rule=values["rule"],
        )
        for angle in values["angles"]
    ]
    strip: Strip = (from_outside if values["given"] == OUTSIDE else from_flat)(values["legs"], bends)
    thickness = Decimal(str(values["thickness_mm"]))
    value = BendValue.objects.filter(thickness_mm=thickness).order_by("grade").first()
    legs = legs_of(strip.flat_legs_mm, strip.outside_mm, value)
    view = side_view(strip.flat_legs_mm, bends, [True] * len(bends)) if bends else None
    return {
        "strip": strip,
        "legs": legs,
        "value": value,
        "cautions": flange_cautions(legs, value),
        "sketch": folded_sketch(view, bends, strip.outside_mm) if view else None,
        "source": RULE_SOURCES[values["rule"]],
    }
