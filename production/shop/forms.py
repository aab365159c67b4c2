"""Forms of the shop: who is away, what stands, people, skills and jigs."""

from datetime import datetime, time, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from bom.catalogue.models import TrailerModel
from bom.structure.models import Process
from production.shop.crew_models import Jig, Skill, Worker
from production.shop.models import Calendar, WorkCentre


class SpanForm(forms.Form):
    """From one moment to another: whole days, or with hours. `cleaned_data` then has `starts_at` and `ends_at`."""

    first_day = forms.DateField(label="From", widget=forms.DateInput(attrs={"type": "date"}))
    starts = forms.TimeField(
        label="at", required=False, widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    )
    last_day = forms.DateField(label="Up to and with", widget=forms.DateInput(attrs={"type": "date"}))
    ends = forms.TimeField(
        label="until", required=False, widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    )
    reason = forms.CharField(label="Reason", max_length=80)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        today = timezone.localdate()
        self.fields["first_day"].initial = self.fields["last_day"].initial = today.isoformat()

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        first, last = data.get("first_day"), data.get("last_day")
        if not first or not last:
            return data
        zone = timezone.get_current_timezone()
        data["starts_at"] = datetime.combine(first, data.get("starts") or time.min, zone)
        until = data.get("ends")
        data["ends_at"] = (
            datetime.combine(last, until, zone)
            if until
            else datetime.combine(last + timedelta(days=1), time.min, zone)
        )
        if data["ends_at"] <= data["starts_at"]:
            self.add_error("last_day", "It must end after it starts.")
        return data


class AbsenceForm(SpanForm):
    worker = forms.ModelChoiceField(Worker.objects.filter(is_active=True), label="Who")
    field_order = ["worker"]


class StandingForm(SpanForm):
    work_centre = forms.ModelChoiceField(WorkCentre.objects.all(), label="What stands")
    units = forms.IntegerField(label="How many", min_value=1, required=False, help_text="empty: all of them")
    field_order = ["work_centre", "units"]


class RepairForm(SpanForm):
    jig = forms.ModelChoiceField(Jig.objects.all(), label="Jig")
    units = forms.IntegerField(label="How many", min_value=1, required=False, help_text="empty: all of them")
    field_order = ["jig", "units"]


class WorkerForm(forms.Form):
    name = forms.CharField(max_length=60, label="Name")
    calendar = forms.ModelChoiceField(Calendar.objects.all(), label="Hours", empty_label=None)
    skills = forms.ModelMultipleChoiceField(
        Skill.objects.all(), label="Can do", required=False, widget=forms.CheckboxSelectMultiple
    )
    is_active = forms.BooleanField(label="Works here", required=False, initial=True)


class SkillForm(forms.Form):
    """A process that asks for nobody yet, and what it asks for from now on."""

    process = forms.ModelChoiceField(Process.objects.filter(skill=None), label="Work that needs it")
    name = forms.CharField(max_length=60, label="Skill")
    code = forms.SlugField(max_length=20, label="Code")


class JigForm(forms.Form):
    code = forms.SlugField(max_length=20, label="Code")
    name = forms.CharField(max_length=60, label="Name")
    units = forms.IntegerField(min_value=1, initial=1, label="How many alike")
    trailer_models = forms.ModelMultipleChoiceField(
        TrailerModel.objects.filter(is_active=True),
        label="Models welded in it",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
