"""Alerts for a screen or a letter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Max, Prefetch, Q, QuerySet

from production.planning.alert_models import Alert, AlertAct, AlertNews, Silence


def open_alerts() -> QuerySet[Any]:
    """Alerts that are not gone, with item, order, acts, news (latest first) and the silence in force. Four queries."""
    acts = AlertAct.objects.select_related(
        "suggestion", "purchase_line__order", "from_order", "instead"
    ).order_by("rank")
    in_force = Silence.objects.filter(ended_at__isnull=True).select_related("by")
    return (
        Alert.objects.filter(gone_at__isnull=True)
        .select_related("item", "order")
        .prefetch_related(
            Prefetch("acts", acts),
            Prefetch("news", AlertNews.objects.order_by("-id")),
            Prefetch("silences", in_force, to_attr="in_force"),
        )
        .annotate(last_news=Max("news"))
        .order_by("kind", "needed_on", "item__code", "pk")
    )


def heard(alerts: QuerySet[Any]) -> QuerySet[Any]:
    """Those that nobody has silenced."""
    return alerts.exclude(pk__in=silent_ids())


def silenced(alerts: QuerySet[Any]) -> QuerySet[Any]:
    """Those that somebody has silenced."""
    return alerts.filter(pk__in=silent_ids())


def silent_ids() -> QuerySet[Silence, int]:
    return Silence.objects.filter(ended_at__isnull=True).values_list("alert_id", flat=True)


def found(alerts: QuerySet[Any], words: str) -> QuerySet[Any]:
    """Those whose part or order contains every word."""
    for word in words.split():
        alerts = alerts.filter(
            Q(item__code__icontains=word) | Q(item__name__icontains=word) | Q(order__number__icontains=word)
        )
    return alerts


@dataclass(frozen=True)
class Counts:
    """How many alerts are open: heard of either kind, and silenced."""

    shortages: int
    shelves: int
    silenced: int


def counts() -> Counts:
    """One query."""
    is_silent = Q(pk__in=silent_ids())
    row = Alert.objects.filter(gone_at__isnull=True).aggregate(
        shortages=Count("pk", filter=Q(kind=Alert.Kind.SHORTAGE) & ~is_silent),
        shelves=Count("pk", filter=Q(kind=Alert.Kind.SHELF) & ~is_silent),
        silenced=Count("pk", filter=is_silent),
    )
    return Counts(**row)
