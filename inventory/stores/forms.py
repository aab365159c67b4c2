"""Forms of the stores pages. Each carries the one-time key that makes a second submit the same posting."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.db.models import QuerySet

from bom.items.models import Item
from bom.kernel.pages import new_key
from bom.templatetags.workshop import quantity_text
from inventory.stock.models import Balance, Location, Lot
from inventory.stock.queries import ON_HAND_KINDS, on_hand_balances
from inventory.stores.handling import KEY
from inventory.stores.queries import lots_here

SMALLEST = Decimal("0.0001")


def in_the_house() -> QuerySet[Location]:
    return Location.objects.filter(kind__in=ON_HAND_KINDS)


def stacks_of(item: Item) -> QuerySet[Balance]:
    """What lies of an item at the places of the house, in walking order."""
    rows = on_hand_balances().filter(item=item, quantity__gt=0).select_related("location", "lot", "item")
    return rows.order_by("location__walk_order", "location__code", "lot__code")


class KeyedForm(forms.Form):
    """A form whose hidden key names the one posting that it stands for."""

    key = forms.RegexField(rf"^{KEY}:[0-9a-f]{{32}}$", widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("key", new_key(KEY))


# django-stubs makes this class generic, Django itself does not.
if TYPE_CHECKING:
    _BalanceField = forms.ModelChoiceField[Balance]
    _LocationField = forms.ModelChoiceField[Location]
else:
    _BalanceField = _LocationField = forms.ModelChoiceField


class StackField(_BalanceField):
    """A choice among the places where an item lies."""

    def label_from_instance(self, obj: Any) -> str:
        lot = f", {obj.lot}" if obj.lot else ""
        return f"{obj.location.code}: {quantity_text(obj.quantity)} {obj.item.unit}{lot}"


class PlaceField(_LocationField):
    """A choice among places, none chosen at first."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, empty_label="choose a place", **kwargs)

    def label_from_instance(self, obj: Any) -> str:
        return obj.code if obj.name.lower().endswith(obj.code.lower()) else f"{obj.code} {obj.name}"


class TakeForm(KeyedForm):
    """So much from one of the places where the item lies."""

    source = StackField(queryset=Balance.objects.none(), label="From", empty_label=None)
    quantity = forms.DecimalField(
        label="How many",
        min_value=SMALLEST,
        max_digits=16,
        decimal_places=4,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["source"].queryset = stacks_of(item)  # type: ignore[attr-defined]
        self.fields["quantity"].label = f"How many ({item.get_unit_display()}s)"


class MoveForm(TakeForm):
    target = PlaceField(queryset=Location.objects.none(), label="To")

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, item=item, **kwargs)
        self.fields["target"].queryset = in_the_house()  # type: ignore[attr-defined]


class CountForm(KeyedForm):
    """What was counted at one place."""

    location = PlaceField(queryset=Location.objects.none(), label="Place counted")
    lot = forms.ModelChoiceField(
        queryset=Lot.objects.none(), label="Lot", required=False, empty_label="no lot"
    )
    counted = forms.DecimalField(
        min_value=0,
        max_digits=16,
        decimal_places=4,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )
    reason = forms.CharField(
        label="Why it may differ",
        max_length=200,
        required=False,
        help_text="Needed only where the count differs.",
    )

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["location"].queryset = in_the_house()  # type: ignore[attr-defined]
        self.fields["counted"].label = f"Counted ({item.get_unit_display()}s)"
        if item.tracking == Item.Tracking.NONE and not lots_here(item).exists():
            del self.fields["lot"]
        else:
            self.fields["lot"].queryset = Lot.objects.filter(item=item)  # type: ignore[attr-defined]


class ReasonForm(forms.Form):
    reason = forms.CharField(label="What was wrong", max_length=200)
