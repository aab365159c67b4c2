"""How the order book is narrowed down; every filter is in the address."""

import django_filters as filters
from django import forms
from django.db.models import Q, QuerySet
from django.utils import timezone

from bom.catalogue.models import Finish, TrailerModel
from production.orders.models import Customer, Order
from production.site.orders.queries import late_filter

OPEN, EVERY = "open", "every"
IN_HAND_NOT = (Order.State.GONE, Order.State.CANCELLED)


class OrderFilter(filters.FilterSet):  # type: ignore[misc]
    """Without a state the book shows what is in hand: everything but what has gone or is cancelled."""

    q = filters.CharFilter(method="by_text", label="Number, customer or hull")
    state = filters.ChoiceFilter(
        choices=[(OPEN, "confirmed to begun"), *Order.State.choices, (EVERY, "every order")],
        method="by_state",
        label="State",
        empty_label="in hand",
    )
    model = filters.ModelChoiceFilter(
        queryset=TrailerModel.objects.all(), to_field_name="code", label="Model", empty_label="any"
    )
    customer = filters.ModelChoiceFilter(
        queryset=Customer.objects.all(), to_field_name="code", label="Customer", empty_label="any"
    )
    finish = filters.ChoiceFilter(choices=Finish.choices, label="Finish", empty_label="any")
    late = filters.BooleanFilter(
        method="by_lateness", label="Late only", widget=forms.CheckboxInput(attrs={"value": "true"})
    )

    class Meta:
        model = Order
        fields: list[str] = []

    def filter_queryset(self, queryset: QuerySet[Order]) -> QuerySet[Order]:
        filtered: QuerySet[Order] = super().filter_queryset(queryset)
        if not self.form.cleaned_data.get("state"):
            filtered = filtered.exclude(state__in=IN_HAND_NOT)
        return filtered

    def by_text(self, queryset: QuerySet[Order], name: str, value: str) -> QuerySet[Order]:
        words = value.strip()
        return queryset.filter(
            Q(number__icontains=words)
            | Q(customer__name__icontains=words)
            | Q(hull__name__icontains=words)
            | Q(variant__name__icontains=words)
        )

    def by_state(self, queryset: QuerySet[Order], name: str, value: str) -> QuerySet[Order]:
        if value == EVERY:
            return queryset
        return queryset.filter(state__in=Order.OPEN) if value == OPEN else queryset.filter(state=value)

    def by_lateness(self, queryset: QuerySet[Order], name: str, value: bool | None) -> QuerySet[Order]:
        return late_filter(queryset, timezone.localdate()) if value else queryset
