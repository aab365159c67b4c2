"""Forms of the hand pages: every thing may be scanned or typed."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.stock.models import ReasonCode
from inventory.stores.forms import SMALLEST
from inventory.stores.reasons import reason_codes

# A text field, because a scanner may send a label into it; the page tells the two apart.
_NUMBER = {"inputmode": "decimal", "autocomplete": "off", "data-takes": "quantity"}


def code_field(label: str, *, required: bool = True, takes: str = "") -> forms.CharField:
    """A field for a scanned label or a typed code; `takes` tells the page what kind of code it wants."""
    attrs = {
        "autocomplete": "off",
        "autocapitalize": "characters",
        "spellcheck": "false",
        "data-takes": takes,
    }
    return forms.CharField(
        label=label, required=required, max_length=200, widget=forms.TextInput(attrs=attrs)
    )


def quantity_field(label: str, *, least: Any = SMALLEST, required: bool = True) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        min_value=least,
        max_digits=14,
        decimal_places=4,
        required=required,
        widget=forms.TextInput(attrs=_NUMBER),
    )


def seen_field() -> forms.DecimalField:
    """What the page said when the form was filled in; empty where it did not know."""
    return forms.DecimalField(
        required=False, max_digits=16, decimal_places=4, widget=forms.HiddenInput(attrs={"data-fresh": "yes"})
    )


def words_field(label: str, *, required: bool) -> forms.CharField:
    attrs = {"autocomplete": "off", "data-takes": "words"}
    return forms.CharField(
        label=label, required=required, max_length=150, widget=forms.TextInput(attrs=attrs)
    )


class HandCountForm(forms.Form):
    """Blind: nothing on it says what the ledger expects."""

    place = code_field("Place", takes="place")
    item = code_field("Item", takes="item")
    lot = code_field("Lot or serial number", required=False, takes="lot")
    counted = quantity_field("How many lie there", least=0)


class HandMoveForm(forms.Form):
    source = code_field("From", takes="place")
    item = code_field("Item", takes="item")
    lot = code_field("Lot or serial number", required=False, takes="lot")
    quantity = quantity_field("How many")
    target = code_field("To", takes="place")


class HandPutAwayForm(HandMoveForm):
    """From goods-in to the shelf."""


class HandHoldForm(forms.Form):
    source = code_field("From", takes="place")
    item = code_field("Item", takes="item")
    lot = code_field("Lot or serial number", required=False, takes="lot")
    quantity = quantity_field("How many")
    code = forms.ModelChoiceField(queryset=ReasonCode.objects.none(), label="Why", empty_label="choose")
    remark = words_field("What is to be looked at", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["code"].queryset = reason_codes(ReasonCode.Use.HOLD)  # type: ignore[attr-defined]


class HandFreeForm(HandMoveForm):
    """From hold to a shelf, with the ground."""

    remark = words_field("What was looked at", required=True)
