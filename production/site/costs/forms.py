"""Forms for rates and allowances, each from a day on."""

from decimal import Decimal

from django import forms

from production.shop.models import WorkCentre


class RateForm(forms.Form):
    work_centre = forms.ModelChoiceField(WorkCentre.objects.all(), label="Work centre")
    from_day = forms.DateField(label="From", widget=forms.DateInput(attrs={"type": "date"}))
    labour_per_hour = forms.DecimalField(label="Labour an hour", min_value=Decimal(0), decimal_places=2)
    overhead_per_hour = forms.DecimalField(
        label="Machine and building an hour", min_value=Decimal(0), decimal_places=2
    )
    note = forms.CharField(label="Why", max_length=120, required=False)


class AllowanceForm(forms.Form):
    """Shares are written as percentages and kept as shares."""

    from_day = forms.DateField(label="From", widget=forms.DateInput(attrs={"type": "date"}))
    sheet_yield = forms.DecimalField(label="Sheet yield, %", max_value=Decimal(100), decimal_places=1)
    bar_yield = forms.DecimalField(label="Bar yield, %", max_value=Decimal(100), decimal_places=1)
    scrap_share = forms.DecimalField(label="Scrap allowance, %", min_value=Decimal(0), decimal_places=1)
    usual_load_kg = forms.IntegerField(label="Usual lorry load, kg", min_value=1)
    note = forms.CharField(label="Why", max_length=120, required=False)
