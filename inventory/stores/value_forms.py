"""Forms of the pages of value: which day, which method, what something cost."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import Count, Min
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.pages import new_key
from bom.templatetags.workshop import moment
from inventory.stock.cost_models import Charge, CostMethod, StatedCost
from inventory.stock.cost_rows import OURS, end_of
from inventory.stock.models import Posting

AS_THE_WORKSHOP = ""
MOST_OTHERS = 20


def _day() -> forms.DateInput:
    """A day as browsers want it, whatever way the workshop writes its dates."""
    return forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})


def _groups() -> list[tuple[str, str]]:
    groups = Item.objects.exclude(group="").order_by("group").values_list("group", flat=True).distinct()
    return [("", "any"), *((group, group) for group in groups)]


class DayForm(forms.Form):
    """Which stock on which day. Nothing chosen: all of it, today."""

    on = forms.DateField(label="At the end of", required=False, widget=_day())
    text = forms.CharField(label="Code or name", required=False, max_length=80)
    group = forms.ChoiceField(label="Group", required=False, choices=_groups)
    kind = forms.ChoiceField(
        label="Where",
        required=False,
        choices=[("", "anywhere"), *((kind.value, kind.label) for kind in OURS)],
    )

    def chosen(self) -> dict[str, Any]:
        """What was chosen; a day to come or a word not understood counts as not chosen."""
        self.is_valid()
        found = {name: value for name, value in self.cleaned_data.items() if value}
        if found.get("on") and found["on"] > timezone.localdate():
            del found["on"]
        return found


class SpanForm(forms.Form):
    """The days whose entries are shown."""

    since = forms.DateField(label="From", required=False, widget=_day())
    on = forms.DateField(label="To the end of", required=False, widget=_day())


class MethodForm(forms.Form):
    """How an item or the workshop values its stock."""

    method = forms.ChoiceField(label="Value by", required=False, choices=CostMethod.Method.choices)

    def __init__(self, *args: Any, of_item: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if of_item:
            choices = [(AS_THE_WORKSHOP, "the workshop's method"), *CostMethod.Method.choices]
            self.fields["method"] = forms.ChoiceField(label="Value it by", required=False, choices=choices)


class CostForm(forms.ModelForm):  # type: ignore[type-arg]
    """What one unit cost that came with a posting."""

    class Meta:
        model = StatedCost
        fields = ["item", "unit_cost", "reason"]
        labels = {"unit_cost": "Cost of one", "reason": "Known from"}
        widgets = {"unit_cost": forms.NumberInput(attrs={"inputmode": "decimal", "step": "any", "min": 0})}

    def __init__(self, *args: Any, items: list[Item], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["item"]
        field.queryset = Item.objects.filter(pk__in=[item.pk for item in items])
        field.choices = [(item.pk, str(item)) for item in items]


class ChargeForm(forms.ModelForm):  # type: ignore[type-arg]
    """A bill for freight, duty or the like, on this posting and on others of the same delivery."""

    also = forms.ModelMultipleChoiceField(
        queryset=Posting.objects.none(),
        label="Also on",
        required=False,
        help_text="Other deliveries of that day which the same bill is for; hold Ctrl to choose several.",
    )

    class Meta:
        model = Charge
        fields = ["kind", "amount", "shared_by", "paper", "key"]
        labels = {"kind": "What for", "shared_by": "Shared by", "paper": "Number of the bill"}
        widgets = {"key": forms.HiddenInput}

    def __init__(self, *args: Any, posting: Posting, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fresh = {"key": new_key("charge"), "kind": Charge.Kind.FREIGHT, "shared_by": Charge.SharedBy.VALUE}
        self.initial = {**fresh, **self.initial}
        self.fields["amount"].min_value = Decimal("-99999999")  # type: ignore[attr-defined]
        day = timezone.localdate(posting.happened_at)
        same_day = Posting.objects.filter(
            kind=Posting.Kind.RECEIPT,
            happened_at__gte=end_of(day - timedelta(days=1)),
            happened_at__lt=end_of(day),
            reversed_by__isnull=True,
        )
        others = same_day.exclude(pk=posting.pk).annotate(
            things=Count("movements__item", distinct=True), one=Min("movements__item__code")
        )
        others = others.order_by("happened_at", "pk")
        also: Any = self.fields["also"]
        also.queryset = others
        also.choices = [(one.pk, _delivery(one)) for one in others[:MOST_OTHERS]]
        if not also.choices:
            del self.fields["also"]

    def validate_unique(self) -> None:
        """A key that is there already is the same bill sent twice; the verb answers with the first."""


def _delivery(posting: Any) -> str:
    more = f" and {posting.things - 1} more" if posting.things > 1 else ""
    return f"{posting.one}{more}, {moment(posting.happened_at)}"
