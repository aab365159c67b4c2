"""Where the laser holds its sheets: rectangles that nothing may be cut in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django import forms
from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from production.cutting.models import ClampZone
from production.cutting.nesting.job import Clamp
from production.shop.models import WorkCentre

if TYPE_CHECKING:
    _ClampForm = forms.ModelForm[ClampZone]
else:
    _ClampForm = forms.ModelForm


class ClampForm(_ClampForm):
    """One clamp of a machine that cuts sheets."""

    work_centre = forms.ModelChoiceField(
        WorkCentre.objects.filter(process__code="laser"), label="Machine", empty_label=None
    )

    class Meta:
        model = ClampZone
        fields = ["work_centre", "x_mm", "y_mm", "length_mm", "width_mm", "note"]


def clamps_of_the_laser() -> tuple[Clamp, ...]:
    """The clamps of every laser as the nesting takes them: a layout may go on any of them. One query."""
    rows = ClampZone.objects.filter(work_centre__process__code="laser").order_by("pk")
    return tuple(
        Clamp(float(row.x_mm), float(row.y_mm), float(row.length_mm), float(row.width_mm)) for row in rows
    )


@transaction.atomic
def take_off_clamp(*, pk: str) -> ClampZone:
    """A clamp that is not there any more. Raises `ProblemError` where somebody took it off already."""
    zone = ClampZone.objects.filter(pk=pk).first() if pk.isdecimal() else None
    if zone is None:
        raise ProblemError(
            Problem("This clamp is taken off already", "clamps", "Look at the list as it is now.")
        )
    zone.delete()
    return zone
