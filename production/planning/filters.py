"""How suggestions are narrowed down."""

import django_filters
from django.db.models import Q, QuerySet

from inventory.buying.models import Supplier
from production.planning.models import Suggestion, SupplyChange


class SuggestionFilter(django_filters.FilterSet):  # type: ignore[misc]
    words = django_filters.CharFilter(method="by_words", label="Part")
    kind = django_filters.ChoiceFilter(choices=Suggestion.Kind, label="Buy or make", empty_label="both")
    supplier = django_filters.ModelChoiceFilter(
        queryset=Supplier.objects.all(), method="by_supplier", label="Supplier", empty_label="any"
    )
    begin_on = django_filters.DateFilter(lookup_expr="lte", label="To begin until")

    class Meta:
        model = Suggestion
        fields = ["words", "kind", "supplier", "begin_on"]

    def by_words(self, queryset: QuerySet[Suggestion], _name: str, words: str) -> QuerySet[Suggestion]:
        return queryset.filter(Q(item__code__icontains=words) | Q(item__name__icontains=words))

    def by_supplier(
        self, queryset: QuerySet[Suggestion], _name: str, supplier: Supplier
    ) -> QuerySet[Suggestion]:
        """What this supplier is the preferred one for."""
        return queryset.filter(item__suppliers__supplier=supplier, item__suppliers__is_preferred=True)


class SupplyChangeFilter(django_filters.FilterSet):  # type: ignore[misc]
    words = django_filters.CharFilter(method="by_words", label="Part, order or purchase order")
    kind = django_filters.ChoiceFilter(choices=SupplyChange.Kind, label="What to do", empty_label="anything")
    supplier = django_filters.ModelChoiceFilter(
        queryset=Supplier.objects.all(),
        field_name="purchase_line__order__supplier",
        label="Supplier",
        empty_label="any",
    )

    class Meta:
        model = SupplyChange
        fields = ["words", "kind", "supplier"]

    def by_words(self, queryset: QuerySet[SupplyChange], _name: str, words: str) -> QuerySet[SupplyChange]:
        orders = SupplyChange.orders.through.objects.filter(order__number=words)
        return queryset.filter(
            Q(item__code__icontains=words)
            | Q(item__name__icontains=words)
            | Q(purchase_line__order__number=words)
            | Q(pk__in=orders.values("supplychange"))
        )
