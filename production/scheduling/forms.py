"""The form that starts a plan."""

from django import forms

from production.scheduling.planning import (
    LEAST_DAYS,
    LEAST_SECONDS,
    MOST_DAYS,
    MOST_FROZEN_HOURS,
    MOST_SECONDS,
)


class PlanForm(forms.Form):
    """How long to search, how far ahead parts are gathered into one cut batch, and what is not to be moved."""

    seconds = forms.IntegerField(
        min_value=LEAST_SECONDS, max_value=MOST_SECONDS, initial=15, label="Seconds to search"
    )
    batch_days = forms.IntegerField(
        min_value=LEAST_DAYS, max_value=MOST_DAYS, initial=5, label="Cut together, working days"
    )
    frozen_hours = forms.IntegerField(
        min_value=0,
        max_value=MOST_FROZEN_HOURS,
        initial=0,
        required=False,
        label="Move nothing within, hours",
    )

    def clean_frozen_hours(self) -> int:
        return self.cleaned_data["frozen_hours"] or 0
