"""Forms of goods-in, purchase orders and levels."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from bom.items.models import Item
from bom.kernel.pages import new_key
from bom.templatetags.workshop import quantity_text
from inventory.buying.models import (
    BuyingLimit,
    BuyingRules,
    PurchaseOrder,
    PurchaseOrderLine,
    Supplier,
    SupplierItem,
    SupplierPrice,
)
from inventory.buying.paper_models import Letterhead
from inventory.stock.models import Location, ReasonCode
from inventory.stores.act_forms import reason_field, with_hold
from inventory.stores.forms import SMALLEST, PlaceField, TakeForm

KEY = "goods-in"
_DAY = {"type": "date"}
_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_NUMBER = {"inputmode": "decimal", "step": "any"}


def _quantity(**kwargs: Any) -> forms.DecimalField:
    return forms.DecimalField(
        min_value=SMALLEST, max_digits=14, decimal_places=4, widget=forms.NumberInput(attrs=_NUMBER), **kwargs
    )


if TYPE_CHECKING:
    _LineField = forms.ModelChoiceField[PurchaseOrderLine]
else:
    _LineField = forms.ModelChoiceField


class LineField(_LineField):
    """A choice among purchase lines on which an item came."""

    def label_from_instance(self, obj: Any) -> str:
        came = quantity_text(obj.received)
        return f"{obj.order.number} line {obj.position}, {obj.order.supplier}: {came} came"


class ReceiveForm(forms.Form):
    """What came on one line, where it was put, and its lot or serial numbers where the item has them."""

    key = forms.RegexField(rf"^{KEY}:[0-9a-f]{{32}}$", widget=forms.HiddenInput)
    quantity = _quantity(label="How many came")
    location = PlaceField(queryset=Location.objects.none(), label="Put on")
    lot_code = forms.CharField(label="Lot or cast", required=False, max_length=4000)
    is_last = forms.BooleanField(label="The rest will not come: close the line", required=False)
    over_agreed = forms.CharField(
        label="Keep more than ordered: agreed with",
        required=False,
        max_length=100,
        help_text="Only where far more came than was ordered.",
    )

    def __init__(self, *args: Any, line: PurchaseOrderLine, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not self.is_bound:
            # Asked only once it is known that so much came.
            del self.fields["over_agreed"]
        self.initial.setdefault("key", new_key(KEY))
        self.fields["location"].queryset = Location.objects.filter(  # type: ignore[attr-defined]
            kind__in=[Location.Kind.SHELF, Location.Kind.HOLD]
        )
        self.fields["quantity"].label = f"How many came ({line.item.get_unit_display()}s)"
        if line.item.tracking == Item.Tracking.NONE:
            del self.fields["lot_code"]
        elif line.item.tracking == Item.Tracking.SERIAL:
            self.fields["lot_code"].label = "Serial numbers, one for each piece"
            self.fields["lot_code"].widget = forms.Textarea(attrs={"rows": 3, "class": "code"})


class NewOrderForm(forms.Form):
    supplier = forms.ModelChoiceField(queryset=Supplier.objects.order_by("name"), empty_label=None)


class LineForm(forms.Form):
    """Quantity and day of a line on a draft."""

    quantity = _quantity(label="Quantity")
    due_on = forms.DateField(label="Due", widget=forms.DateInput(attrs=_DAY, format="%Y-%m-%d"))
    price = forms.DecimalField(
        label="Agreed price", required=False, min_value=0, max_digits=12, decimal_places=4
    )


class PromiseForm(forms.Form):
    """What the supplier confirmed of a line."""

    quantity = _quantity(label="How many come")
    promised_on = forms.DateField(label="On")
    rest_on = forms.DateField(label="The rest on", required=False)
    note = forms.CharField(label="Note", required=False, max_length=200)


class ChaseForm(forms.Form):
    """What the supplier answered, and when to ask again."""

    answer = forms.CharField(label="What they said", max_length=300)
    again_on = forms.DateField(label="Ask again on")


class TermsForm(forms.ModelForm):  # type: ignore[type-arg]
    """How we deal with a supplier."""

    class Meta:
        model = Supplier
        fields = [
            "lead_days",
            "minimum_value",
            "delivery_weekday",
            "confirm_days",
            "lead_percentile",
            "fewest_deliveries",
            "over_percent",
            "email",
            "address",
        ]
        labels = {
            "lead_days": "Working days to deliver, where an item has none",
            "minimum_value": "Minimum value of an order",
            "delivery_weekday": "Comes on",
            "confirm_days": "Chase a confirmation after (working days)",
            "lead_percentile": "Plan by the lead time of so many in 100",
            "fewest_deliveries": "Measured from so many deliveries on",
            "over_percent": "May bring more than ordered (percent)",
            "email": "Orders are mailed to",
            "address": "Address on papers",
        }
        help_texts = {
            **{name: "" for name in fields if name not in ("email", "address")},
            "over_percent": "Empty: as for all suppliers.",
        }
        widgets = {
            "delivery_weekday": forms.Select(choices=[("", "any day"), *enumerate(_WEEKDAYS)]),
            "address": forms.Textarea(attrs={"rows": 4}),
        }


class RulesForm(forms.ModelForm):  # type: ignore[type-arg]
    """What holds for suppliers without a term of their own."""

    class Meta:
        model = BuyingRules
        fields = ["over_percent"]
        labels = {"over_percent": "May bring more than ordered (percent)"}
        help_texts = {
            "over_percent": "Of each line; what comes beyond is asked about at goods-in. Common practice, no source."
        }


class BreakForm(forms.ModelForm):  # type: ignore[type-arg]
    """A price break of something that a supplier sells."""

    class Meta:
        model = SupplierPrice
        fields = ["sold", "from_quantity", "price", "valid_from", "valid_until"]
        labels = {"sold": "Item", "from_quantity": "From quantity", "price": "Price of one"}
        widgets = {
            "valid_from": forms.DateInput(attrs=_DAY, format="%Y-%m-%d"),
            "valid_until": forms.DateInput(attrs=_DAY, format="%Y-%m-%d"),
        }

    def __init__(self, *args: Any, supplier: Supplier, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        sold = SupplierItem.objects.filter(supplier=supplier).select_related("item").order_by("item__code")
        field = self.fields["sold"]
        field.queryset = sold  # type: ignore[attr-defined]
        field.label_from_instance = lambda row: f"{row.item.code} {row.item.name}"  # type: ignore[attr-defined]


class LetterheadForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = Letterhead
        fields = ["name", "address", "deliver_to", "telephone", "email", "terms"]
        labels = {"deliver_to": "Deliver to", "terms": "Sentences at the foot"}
        widgets = {name: forms.Textarea(attrs={"rows": 4}) for name in ("address", "deliver_to", "terms")}


class LimitForm(forms.ModelForm):  # type: ignore[type-arg]
    """A new limit, of a person or of a role."""

    class Meta:
        model = BuyingLimit
        fields = ["person", "role", "releases_up_to", "approves_up_to"]
        labels = {
            "releases_up_to": "Releases alone up to",
            "approves_up_to": "Approves for others up to",
        }
        help_texts = {"approves_up_to": "Empty: any value. The person also needs the right to approve."}


class AddLineForm(LineForm):
    """One more item on a draft, of those that the supplier sells."""

    item = forms.ModelChoiceField(queryset=Item.objects.none(), label="Item", empty_label=None)
    field_order = ["item", "quantity", "due_on"]
    price = None  # type: ignore[assignment] # the price is the supplier's

    def __init__(self, *args: Any, order: PurchaseOrder, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        sold = Item.objects.filter(suppliers__supplier=order.supplier_id, is_active=True)
        self.fields["item"].queryset = sold.order_by("code")  # type: ignore[attr-defined]


class SendBackForm(TakeForm):
    """What goes back to the supplier, why, and whether he is to send others."""

    line = LineField(queryset=PurchaseOrderLine.objects.none(), label="It came on", required=False)
    supplier = forms.ModelChoiceField(
        queryset=Supplier.objects.none(), label="Else: to which supplier", required=False
    )
    is_replaced = forms.BooleanField(label="Others are to come in their place", required=False)
    remark = forms.CharField(label="What is wrong with it", max_length=150, required=False)

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, item=item, **kwargs)
        came = PurchaseOrderLine.objects.filter(item=item, received__gt=0).select_related(
            "order__supplier", "item"
        )
        self.fields["source"].queryset = with_hold(item)  # type: ignore[attr-defined]
        self.fields["line"].queryset = came.order_by("-order__number", "position")  # type: ignore[attr-defined]
        self.fields["supplier"].queryset = Supplier.objects.filter(items__item=item)  # type: ignore[attr-defined]
        self.fields["code"] = reason_field(ReasonCode.Use.SEND_BACK, "Why")
        self.order_fields(["source", "quantity", "code", "remark", "line", "is_replaced", "supplier"])

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not data.get("line") and not data.get("supplier"):
            self.add_error("supplier", "Choose the order it came on, or the supplier.")
        return data
