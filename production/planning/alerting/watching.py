"""Looking for alerts: new ones are written, known ones brought up to date, those that have passed are closed."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from bom.templatetags.workshop import day_text, quantity_text
from production.planning.alert_models import Alert, AlertAct, AlertNews, AlertWatch, Silence
from production.planning.alerting.acting import acts_for, means_for
from production.planning.alerting.facts import Fact, Key, facts
from production.planning.alerting.news import News, Standing, What, news_of_shelf, news_of_shortage, worst
from production.planning.models import Plan

ROWS_AT_ONCE = 500
_FIGURES = [
    "last_seen",
    "quantity",
    "needed_on",
    "there_on",
    "told_quantity",
    "told_needed_on",
    "told_there_on",
]


@dataclass(frozen=True)
class Watched:
    """What a look found: alerts that are open, new ones among them, those with news, those that are gone."""

    open: int
    new: int
    news: int
    gone: int


@transaction.atomic
def watch(*, now: datetime | None = None) -> Watched:
    """Look once. The same sighting twice changes nothing but the time it was last seen.

    News ends a silence; a silence whose last day has passed ends too, and the alert is told again. The number of
    queries does not depend on the number of alerts.
    """
    now = now or timezone.now()
    AlertWatch.objects.get_or_create(only=True)
    row = AlertWatch.objects.select_for_update().get(only=True)
    plan = Plan.current()
    seen = {fact.key: fact for fact in facts(plan)}
    known = {_key(alert): alert for alert in Alert.objects.filter(gone_at__isnull=True)}
    told = _bring_up_to_date(known, seen, now)
    fresh = _write_new(known, seen, now)
    told += [_first(alert, seen[_key(alert)], now) for alert in fresh]
    gone = [alert.pk for key, alert in known.items() if key not in seen]
    Alert.objects.filter(pk__in=gone).update(gone_at=now)
    told += _end_silences(told, gone, now)
    AlertNews.objects.bulk_create(told, batch_size=ROWS_AT_ONCE)
    _write_acts([*(known[key] for key in seen if key in known), *fresh], seen, plan)
    row.looked_at = now
    row.save(update_fields=["looked_at"])
    return Watched(len(seen), len(fresh), len({news.alert_id for news in told}), len(gone))


@transaction.atomic
def silence(*, alert: Alert, by: User, reason: str, until: date) -> Silence:
    """Hear nothing of an alert up to and with a day, unless there is news. A new silence replaces the one before.

    Raises:
        ProblemError: no reason, a day that has passed or lies more than a year ahead, or the alert is gone.
    """
    found = Alert.objects.select_for_update().select_related("item").get(pk=alert.pk)
    today = timezone.localdate()
    if found.gone_at is not None:
        raise ProblemError(Problem("This alert is gone", found.item.code, "Nothing needs to be silenced."))
    if not reason.strip():
        raise ProblemError(Problem("A silence needs a reason", found.item.code, "Say why it can wait."))
    if not today <= until <= today.replace(year=today.year + 1, day=min(today.day, 28)):
        raise ProblemError(
            Problem(f"{until} is no day to be silent until", found.item.code, "Choose one within a year.")
        )
    found.silences.filter(ended_at__isnull=True).update(ended_at=timezone.now())
    return Silence.objects.create(
        alert=found, by=by, at=timezone.now(), until=until, reason=reason.strip()[:200]
    )


def speak_again(*, alert: Alert, by: User) -> None:
    """End an alert's silence by hand."""
    alert.silences.filter(ended_at__isnull=True).update(ended_at=timezone.now())


def _key(alert: Alert) -> Key:
    return (alert.kind, alert.item_id, alert.order_id)


def _bring_up_to_date(known: dict[Key, Alert], seen: dict[Key, Fact], now: datetime) -> list[AlertNews]:
    told: list[AlertNews] = []
    still = [(alert, seen[key]) for key, alert in known.items() if key in seen]
    for alert, fact in still:
        before = Standing(alert.told_quantity, alert.told_needed_on, alert.told_there_on)
        judge = news_of_shelf if fact.shelf is not None else news_of_shortage
        news = judge(before, fact.standing)
        _set(alert, fact.standing, worst(before, news), now)
        told += [_worse(alert, one, now) for one in news]
    # Written over by their id: an update row by row takes ten times as long where thousands are open.
    Alert.objects.bulk_create(
        [alert for alert, _ in still],
        update_conflicts=True,
        unique_fields=["id"],
        update_fields=_FIGURES,
        batch_size=ROWS_AT_ONCE,
    )
    return told


def _write_new(known: dict[Key, Alert], seen: dict[Key, Fact], now: datetime) -> list[Alert]:
    fresh = []
    for key, fact in seen.items():
        if key in known:
            continue
        alert = Alert(kind=key[0], item_id=key[1], order_id=key[2], first_seen=now)
        _set(alert, fact.standing, fact.standing, now)
        fresh.append(alert)
    return Alert.objects.bulk_create(fresh, batch_size=ROWS_AT_ONCE)


def _set(alert: Alert, standing: Standing, told: Standing, now: datetime) -> None:
    alert.last_seen = now
    alert.quantity, alert.needed_on, alert.there_on = standing.quantity, standing.needed_on, standing.there_on
    alert.told_quantity, alert.told_needed_on = told.quantity, told.needed_on
    alert.told_there_on = told.there_on


def _first(alert: Alert, fact: Fact, now: datetime) -> AlertNews:
    if fact.shortage is not None:
        words = f"stops order {fact.shortage.order.number}"
    else:
        words = "the shelf has fallen under its level"
    return AlertNews(alert=alert, kind=AlertNews.Kind.NEW, words=words, at=now)


_SAID = {"needed_on": "needed", "there_on": "there", "quantity": "short"}


def _worse(alert: Alert, news: News, now: datetime) -> AlertNews:
    kind = AlertNews.Kind.LARGER if news.what == What.LARGER else AlertNews.Kind.WORSE_DATE
    what = _SAID[news.field]
    if alert.kind == Alert.Kind.SHELF:
        what = {"needed_on": "runs out", "quantity": "to buy"}[news.field]
    words = f"{what} {_text(news.now)}, not {_text(news.before)}"
    return AlertNews(alert=alert, kind=kind, words=words, at=now)


def _text(value: date | Decimal | None) -> str:
    if value is None:
        return "on a day not known"
    return quantity_text(value) if isinstance(value, Decimal) else day_text(value)


def _end_silences(told: list[AlertNews], gone: list[int], now: datetime) -> list[AlertNews]:
    """End those that news has broken, whose alert is gone or whose day has passed; the last are told again."""
    today = timezone.localdate(now)
    broken = {news.alert_id for news in told}
    over, again = [], []
    for row in Silence.objects.filter(ended_at__isnull=True):
        if row.alert_id in broken or row.alert_id in gone:
            over.append(row.pk)
        elif row.until < today:
            over.append(row.pk)
            words = f"silent until {day_text(row.until)}: {row.reason}"[:200]
            again.append(
                AlertNews(alert_id=row.alert_id, kind=AlertNews.Kind.SILENCE_OVER, words=words, at=now)
            )
    Silence.objects.filter(pk__in=over).update(ended_at=now)
    return again


_OF_ACT = ("rank", "kind", "words", "suggestion_id", "purchase_line_id", "from_order_id", "instead_id")


def _write_acts(alerts: list[Alert], seen: dict[Key, Fact], plan: Plan | None) -> None:
    """What can be done about each alert, worked out anew; only what differs from what stands there is written."""
    means = means_for(seen.values(), plan)
    wanted = {alert.pk: acts_for(alert, seen[_key(alert)], means) for alert in alerts}
    standing: dict[int, set[tuple[object, ...]]] = defaultdict(set)
    for alert_id, *figures in AlertAct.objects.order_by().values_list("alert_id", *_OF_ACT):
        standing[alert_id].add(tuple(figures))
    stale = [
        alert_id
        for alert_id, acts in wanted.items()
        if standing[alert_id] != {tuple(getattr(act, name) for name in _OF_ACT) for act in acts}
    ]
    AlertAct.objects.filter(alert__in={*standing} - {*wanted} | {*stale}).delete()
    AlertAct.objects.bulk_create(
        [act for alert_id in stale for act in wanted[alert_id]], batch_size=ROWS_AT_ONCE
    )
