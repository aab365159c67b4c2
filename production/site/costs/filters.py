"""Which orders the list of costs shows."""

import django_filters as filters
from django.db.models import Q, QuerySet

from production.orders.models import Order

STATES = [choice for choice in Order.State.choices if choice[0] not in ("draft", "cancelled")]


class CostFilter(filters.FilterSet):  # type: ignore[misc]
    q = filters.CharFilter(method="by_text", label="Order, customer or model")
    state = filters.ChoiceFilter(choices=STATES, label="State", empty_label="any")

    class Meta:
        model = Order
        fields: list[str] = []

    def by_text(self, queryset: QuerySet[Order], name: str, value: str) -> QuerySet[Order]:
        words = value.strip()
        return queryset.filter(
            Q(number__icontains=words) | Q(customer__name__icontains=words) | Q(model__code__iexact=words)
        )
