"""Forms of outside work: sending goods out, counting them back, claims, and the supplier's terms for it."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.quantities import format_quantity
from inventory.buying.outside import Goods
from inventory.buying.outside_models import OutsideLine, OutsideService
from inventory.levels.arithmetic import after_working_days
from inventory.stock.models import Location, Lot
from inventory.stores.forms import SMALLEST, PlaceField, in_the_house

_DAY = {"type": "date"}
MOST_ROWS = 60


def _number(label: str, **kwargs: Any) -> forms.DecimalField:
    attrs = {"inputmode": "decimal", "step": "any"}
    return forms.DecimalField(
        label=label, max_digits=12, decimal_places=4, widget=forms.NumberInput(attrs=attrs), **kwargs
    )


class SendOutForm(forms.Form):
    """A load for a supplier: what goes, from where, how heavy, back when."""

    service = forms.ModelChoiceField(
        queryset=OutsideService.objects.select_related("supplier"), label="Work", empty_label=None
    )
    reference = forms.CharField(label="Number of the load or delivery note", max_length=40)
    goods = forms.CharField(
        label="What goes, one item a line",
        widget=forms.Textarea(attrs={"rows": 5, "class": "code", "placeholder": "FP-GUS-80  24"}),
        help_text="Item code and how many; then the lot, where it has one. Can be pasted from a spreadsheet.",
    )
    source = PlaceField(queryset=Location.objects.none(), label="From")
    mass_kg = _number("Mass in kg", min_value=Decimal("0.01"))
    back_on = forms.DateField(label="Wanted back", widget=forms.DateInput(attrs=_DAY, format="%Y-%m-%d"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["source"].queryset = in_the_house()  # type: ignore[attr-defined]
        service = OutsideService.objects.first()
        if service is not None:
            self.initial.setdefault("back_on", after_working_days(timezone.localdate(), service.days_away))

    def clean_goods(self) -> list[Goods]:
        rows = [line.split() for line in self.cleaned_data["goods"].splitlines() if line.strip()]
        if len(rows) > MOST_ROWS:
            raise forms.ValidationError(
                f"{len(rows)} lines were given; send at most {MOST_ROWS} on one load."
            )
        items = {item.code.upper(): item for item in Item.objects.filter(code__in=_spellings(rows))}
        return [self._row(number, row, items) for number, row in enumerate(rows, start=1)]

    def _row(self, number: int, row: list[str], items: dict[str, Item]) -> Goods:
        item = items.get(row[0].upper())
        if item is None:
            raise forms.ValidationError(f"Line {number}: there is no item {row[0]}.")
        quantity = _quantity(row[1] if len(row) > 1 else "")
        if quantity is None:
            raise forms.ValidationError(f"Line {number}: write how many of {item.code} go.")
        lot = Lot.objects.filter(item=item, code=row[2]).first() if len(row) > 2 else None
        if len(row) > 2 and lot is None:
            raise forms.ValidationError(f"Line {number}: {item.code} has no lot {row[2]}.")
        return Goods(item.pk, quantity, "", lot.pk if lot else None)


def _spellings(rows: list[list[str]]) -> set[str]:
    return {spelling for row in rows for spelling in (row[0], row[0].upper())}


def _quantity(text: str) -> Decimal | None:
    try:
        quantity = Decimal(text)
    except ArithmeticError:
        return None
    return quantity if quantity.is_finite() and SMALLEST <= quantity < Decimal(10) ** 9 else None


class BackForm(forms.Form):
    """How many of each piece came back, and where they were put."""

    target = PlaceField(queryset=Location.objects.none(), label="Put on")
    rest_is_missing = forms.BooleanField(label="That was all: claim the rest as missing", required=False)

    def __init__(self, *args: Any, line: OutsideLine, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.names: dict[str, int] = {}
        for piece in line.pieces.select_related("item", "lot").order_by("pk"):
            if piece.outside <= 0:
                continue
            name = f"back-{piece.pk}"
            self.names[name] = piece.pk
            lot = f", {piece.lot.code}" if piece.lot else ""
            self.fields[name] = _number(
                f"{piece.item.code}{lot} back, of {format_quantity(piece.outside)}",
                min_value=0,
                max_value=piece.outside,
                initial=format_quantity(piece.outside),
            )
        self.fields["target"].queryset = in_the_house()  # type: ignore[attr-defined]
        self.order_fields([*self.names, "target", "rest_is_missing"])

    @property
    def back(self) -> dict[int, Decimal]:
        return {pk: self.cleaned_data[name] for name, pk in self.names.items()}


class ClaimForm(forms.Form):
    """What a supplier lost or spoilt."""

    quantity = _number("How many", min_value=SMALLEST, required=False)
    reason = forms.CharField(label="What is wrong", max_length=200)
    is_scrap = forms.BooleanField(label="Scrap", required=False)


class SettleForm(forms.Form):
    """How a claim ended."""

    how = forms.ChoiceField(
        choices=[("made_good", "made good"), ("refused", "refused")], label="How it ended"
    )
    credit = forms.DecimalField(label="Credit", min_value=0, max_digits=12, decimal_places=2, required=False)
    answer = forms.CharField(label="What they said", max_length=200, required=False)


class DayForm(forms.Form):
    """The day on which the supplier promises a load back."""

    promised_on = forms.DateField(label="Back on")
    note = forms.CharField(label="Note", required=False, max_length=200)


class ServiceForm(forms.ModelForm):  # type: ignore[type-arg]
    """Outside work that a supplier does: price of a kilogram, least mass charged, time away."""

    class Meta:
        model = OutsideService
        fields = ["work", "name", "place", "price_per_kg", "minimum_kg", "days_away", "is_preferred"]
        labels = {
            "place": "Where the ledger keeps it",
            "price_per_kg": "Price of a kilogram",
            "minimum_kg": "Charged at least (kg)",
            "days_away": "Working days away, as stated",
            "is_preferred": "First choice for this work",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        places = Location.objects.filter(kind=Location.Kind.OUTSIDE)
        self.fields["place"].queryset = places  # type: ignore[attr-defined]
