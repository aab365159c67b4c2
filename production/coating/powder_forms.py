"""What people write on the powder pages, read into figures."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from django import forms
from django.http import QueryDict

from bom.kernel.errors import Problem, ProblemError
from production.coating.judging import SPOTS, THICKEST_UM, Read
from production.coating.powder import HOTTEST_C
from production.coating.powder_models import StepRule, ThicknessRule

LONGEST_STEP = 600


class StepRuleForm(forms.ModelForm):  # type: ignore[type-arg]
    """How long one step takes at least, how hot, and where the figures come from."""

    class Meta:
        model = StepRule
        fields = ("least_minutes", "temperature_c", "source")
        labels = {
            "least_minutes": "At least, min",
            "temperature_c": "Metal, °C",
            "source": "Where that comes from",
        }

    def clean_least_minutes(self) -> int:
        minutes: int = self.cleaned_data["least_minutes"]
        if minutes > LONGEST_STEP:
            raise forms.ValidationError(f"At most {LONGEST_STEP} min.")
        return minutes

    def clean_temperature_c(self) -> int | None:
        degrees: int | None = self.cleaned_data["temperature_c"]
        if degrees is not None and not 0 < degrees <= HOTTEST_C:
            raise forms.ValidationError(f"From 1 to {HOTTEST_C} °C, or nothing.")
        return degrees


class ThicknessRuleForm(forms.ModelForm):  # type: ignore[type-arg]
    """How thick the powder is to be, and how many readings say so."""

    class Meta:
        model = ThicknessRule
        fields = ("least_um", "most_um", "readings", "source")
        labels = {
            "least_um": "Powder at least, µm",
            "most_um": "Powder at most, µm",
            "readings": "Readings on each frame",
            "source": "Where that comes from",
        }

    def clean_readings(self) -> int:
        readings: int = self.cleaned_data["readings"]
        if not 1 <= readings <= len(SPOTS):
            raise forms.ValidationError(f"From 1 to {len(SPOTS)}.")
        return readings


def temperature(fields: QueryDict) -> int | None:
    """What was measured on the metal, in °C; none where nothing was written.

    Raises:
        ProblemError: it is no whole number.
    """
    text = fields.get("temperature", "").strip()
    if not text:
        return None
    if not text.isascii() or not text.isdecimal() or len(text) > 4:
        raise ProblemError(
            Problem(f'"{text}" is not a temperature', "temperature", "Write whole degrees Celsius.")
        )
    return int(text)


def readings(fields: QueryDict) -> list[Read]:
    """The readings of a frame, spot by spot; empty fields are left out.

    Raises:
        ProblemError: a field that is no number.
    """
    zinc = _um(fields, "zinc") or Decimal(0)
    found = []
    for at, spot in enumerate(SPOTS):
        total = _um(fields, f"total-{at}")
        if total is not None:
            found.append(Read(spot, total, zinc))
    return found


def _um(fields: QueryDict, name: str) -> Decimal | None:
    text = fields.get(name, "").strip().replace(",", ".")
    if not text:
        return None
    try:
        value = Decimal(text)
        if value.is_finite() and 0 <= value <= THICKEST_UM:
            return value.quantize(Decimal("0.1"))
    except InvalidOperation:
        pass
    raise ProblemError(
        Problem(f'"{text}" is not a thickness', "reading", "Write what the gauge shows, in µm.")
    )
