"""Forms of what stores do besides moving and counting: hold, issue, return, put away."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.db.models import QuerySet

from bom.items.models import Item
from bom.kernel.pages import new_key
from bom.templatetags.workshop import short_day
from inventory.stock.models import Balance, Location, Purpose, ReasonCode
from inventory.stores.bins import FLOOR
from inventory.stores.forms import KeyedForm, PlaceField, TakeForm
from inventory.stores.models import CountClass, HandlingRule
from inventory.stores.reasons import reason_codes

# django-stubs makes these classes generic, Django itself does not.
if TYPE_CHECKING:
    _PurposeField = forms.ModelChoiceField[Purpose]
    _ReasonField = forms.ModelChoiceField[ReasonCode]
    _HandlingForm = forms.ModelForm[HandlingRule]
else:
    _PurposeField = _ReasonField = forms.ModelChoiceField
    _HandlingForm = forms.ModelForm


def remark_field(label: str) -> forms.CharField:
    """Words that may be left out."""
    return forms.CharField(label=label, max_length=150, required=False)


class OrderField(_PurposeField):
    """A choice among open orders, the first needed first."""

    def label_from_instance(self, obj: Any) -> str:
        needed = f", needed {short_day(obj.needed_on)}" if obj.needed_on else ""
        return f"{obj.code} {obj.label}{needed}"


def open_orders() -> QuerySet[Purpose]:
    return Purpose.objects.filter(is_open=True).order_by("needed_on", "code")


def shelves() -> QuerySet[Location]:
    return Location.objects.filter(kind=Location.Kind.SHELF, is_goods_in=False)


def reason_field(use: str, label: str) -> _ReasonField:
    """A coded reason; the words beside it say the rest."""
    return _ReasonField(
        queryset=reason_codes(use), label=label, required=False, empty_label="choose, or say it below"
    )


class HoldForm(TakeForm):
    remark = remark_field("What is to be looked at")

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, item=item, **kwargs)
        self.fields["code"] = reason_field(ReasonCode.Use.HOLD, "Why")
        self.order_fields(["source", "quantity", "code", "remark"])


class CodedScrapForm(TakeForm):
    """Scrap from a shelf or from hold, with a coded reason or words."""

    reason = remark_field("What is wrong with it")

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, item=item, **kwargs)
        self.fields["source"].queryset = with_hold(item)  # type: ignore[attr-defined]
        self.fields["code"] = reason_field(ReasonCode.Use.SCRAP, "Cause")
        self.order_fields(["source", "quantity", "code", "reason"])

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not data.get("code") and not data.get("reason", "").strip() and "reason" not in self.errors:
            self.add_error("reason", "This field is required where no cause is chosen.")
        return data


def with_hold(item: Item) -> QuerySet[Balance]:
    """What lies of an item in the house or on hold, in walking order."""
    kinds = [Location.Kind.SHELF, Location.Kind.WORK, Location.Kind.HOLD]
    rows = Balance.objects.filter(item=item, quantity__gt=0, location__kind__in=kinds)
    return rows.select_related("location", "lot", "item").order_by("location__walk_order", "location__code")


class ReleaseForm(TakeForm):
    """From hold to a shelf, and on what ground."""

    target = PlaceField(queryset=Location.objects.none(), label="To")
    remark = forms.CharField(label="On what ground", max_length=150, help_text="Measured, papers came …")

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, item=item, **kwargs)
        held = with_hold(item).filter(location__kind=Location.Kind.HOLD)
        self.fields["source"].queryset = held  # type: ignore[attr-defined]
        self.fields["target"].queryset = shelves()  # type: ignore[attr-defined]


class IssueForm(TakeForm):
    purpose = OrderField(queryset=Purpose.objects.none(), label="For order", empty_label="choose an order")
    reason = forms.CharField(
        label="What for", max_length=150, help_text="In place of a spoilt one, forgotten …"
    )

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, item=item, **kwargs)
        self.fields["purpose"].queryset = open_orders()  # type: ignore[attr-defined]


class BackForm(TakeForm):
    """From a place of work back to a shelf."""

    target = PlaceField(queryset=Location.objects.none(), label="Back to")
    reason = remark_field("Remark")

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, item=item, **kwargs)
        work = with_hold(item).filter(location__kind=Location.Kind.WORK).exclude(location__code="KIT")
        self.fields["source"].queryset = work  # type: ignore[attr-defined]
        self.fields["target"].queryset = shelves()  # type: ignore[attr-defined]


class FromOrderForm(KeyedForm):
    """What was given out by hand for an order and comes back."""

    purpose = OrderField(queryset=Purpose.objects.none(), label="From order", empty_label=None)
    quantity = forms.DecimalField(
        label="How many",
        min_value=Decimal("0.0001"),
        max_digits=16,
        decimal_places=4,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )
    target = PlaceField(queryset=Location.objects.none(), label="Back to")
    reason = remark_field("Remark")

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        given = Purpose.objects.filter(
            postings__kind="issue", postings__key__startswith="stores:", postings__movements__item=item
        )
        self.fields["purpose"].queryset = given.distinct().order_by("code")  # type: ignore[attr-defined]
        self.fields["target"].queryset = shelves()  # type: ignore[attr-defined]


class PutAwayForm(KeyedForm):
    """One heap at goods-in and the shelf it goes to."""

    balance = forms.ModelChoiceField(queryset=Balance.objects.none(), widget=forms.HiddenInput)
    quantity = forms.DecimalField(
        label="How many",
        min_value=Decimal("0.0001"),
        max_digits=16,
        decimal_places=4,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )
    target = PlaceField(queryset=Location.objects.none(), label="To")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        waiting = Balance.objects.filter(location__is_goods_in=True).select_related("item", "location", "lot")
        self.fields["balance"].queryset = waiting  # type: ignore[attr-defined]
        self.fields["target"].queryset = shelves()  # type: ignore[attr-defined]


class BinForm(KeyedForm):
    """A full bin to work; nothing more is asked."""


class HandlingForm(_HandlingForm):
    """How stores handle an item."""

    class Meta:
        model = HandlingRule
        fields = ("home", "bin_quantity", "is_inspected", "count_class")
        labels = {
            "home": "Its own place",
            "bin_quantity": "A full bin holds",
            "is_inspected": "Goes on hold when it comes",
            "count_class": "Count class",
        }
        help_texts = {
            "home": "Proposed when it is put away.",
            "bin_quantity": f"Above 0: two bins stand at work ({FLOOR}), and it is not picked into kits.",
            "is_inspected": "Until somebody has looked at it and releases it.",
            "count_class": "Empty: by the value used in a year.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["home"].queryset = shelves()  # type: ignore[attr-defined]
        self.fields["count_class"].queryset = CountClass.objects.all()  # type: ignore[attr-defined]
        self.fields["home"].empty_label = "none"  # type: ignore[attr-defined]
        self.fields["count_class"].empty_label = "by its use"  # type: ignore[attr-defined]
        self.fields["bin_quantity"].widget = forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"})


class SubstituteForm(forms.Form):
    """Another item that may be taken instead."""

    instead = forms.CharField(label="Item that may be taken instead", max_length=40)
    note = forms.CharField(label="When, and what to mind", max_length=200)
    both_ways = forms.BooleanField(label="The other way round, too", required=False)


def page_key() -> str:
    """A fresh one-time key for a form written out in a template."""
    return new_key("stores")
