"""What lists of cards, problems and hours may be narrowed to."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet

from bom.structure.models import Process
from production.works.card_models import JobCard, WorkProblem


class CardFilter(django_filters.FilterSet):  # type: ignore[misc]
    order = django_filters.CharFilter(label="Order", method="of_order")
    process = django_filters.ModelChoiceFilter(
        label="Station", queryset=Process.objects.all(), to_field_name="code", empty_label="any station"
    )
    state = django_filters.ChoiceFilter(label="State", choices=JobCard.State.choices, empty_label="any state")

    class Meta:
        model = JobCard
        fields = ("order", "process", "state")

    def of_order(self, rows: QuerySet[Any], _name: str, value: str) -> QuerySet[Any]:
        wanted = Q(number__iexact=value) | Q(lines__operation__works_order__order__number=value)
        return rows.filter(pk__in=JobCard.objects.filter(wanted).values("pk"))


class ProblemFilter(django_filters.FilterSet):  # type: ignore[misc]
    open = django_filters.BooleanFilter(label="Not settled", field_name="solved_at", lookup_expr="isnull")
    kind = django_filters.ChoiceFilter(
        label="About", choices=WorkProblem.Kind.choices, empty_label="anything"
    )

    class Meta:
        model = WorkProblem
        fields = ("open", "kind")
