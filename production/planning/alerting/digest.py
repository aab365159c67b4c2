"""The letter of alerts: to whoever asked for it, once a day, and only if there is news since the last one."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.conf import settings
from django.contrib.auth.models import Group
from django.core.mail import EmailMultiAlternatives
from django.db import IntegrityError, transaction
from django.db.models import Max
from django.template.loader import render_to_string
from django.utils import timezone

from bom.people.models import User
from production.planning.alert_models import Alert, Digest, DigestWish
from production.planning.alerting.queries import heard, open_alerts

FIRST_HOUR = 6
"""Letters go from this hour of the workshop's day on; a machine that was off sends them when it is on again."""

CLAIM_HOLDS = timedelta(minutes=15)
"""After so long, a letter that was begun and never marked as sent is taken over by the next who tries."""

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Reader:
    """Somebody who wants letters, and of which kinds."""

    person: User
    kinds: frozenset[str]


def readers() -> list[Reader]:
    """Everybody active with a mail address who asked himself or whose role was asked for. Four queries.

    A person's own wish stands before his roles'; of several roles he gets what any of them gets.
    """
    wishes = list(DigestWish.objects.all())
    own = {wish.person_id: _kinds(wish) for wish in wishes if wish.person_id}
    by_role = {wish.role_id: _kinds(wish) for wish in wishes if wish.role_id}
    kinds: dict[int, frozenset[str]] = {}
    for group in Group.objects.filter(pk__in=by_role).prefetch_related("user_set"):
        for person in group.user_set.all():
            kinds[person.pk] = kinds.get(person.pk, frozenset()) | by_role[group.pk]
    kinds |= {pk: wanted for pk, wanted in own.items() if pk is not None}
    people = User.objects.filter(pk__in=kinds, is_active=True).exclude(email="").order_by("pk")
    return [Reader(person, kinds[person.pk]) for person in people if kinds[person.pk]]


def send_digests(*, now: datetime | None = None) -> int:
    """Send today's letters that have not gone yet; how many went. Safe to repeat at any time of the day.

    A letter that cannot be sent is left for the next try and does not keep the others from theirs.
    """
    now = now or timezone.now()
    return sum(_send(reader, now) for reader in readers())


def alerts_for(reader: Reader) -> tuple[list[Alert], int]:
    """What the reader has not been told: open, not silenced, with news since his last letter; and the last news' id."""
    last = Digest.objects.filter(person=reader.person, sent_at__isnull=False).aggregate(last=Max("up_to"))
    since = last["last"] or 0
    rows = heard(open_alerts()).filter(kind__in=reader.kinds)
    found = [alert for alert in rows if (alert.last_news or 0) > since]
    for alert in found:
        alert.told_now = [news for news in alert.news.all() if news.pk > since]
    return found, max((alert.last_news or 0 for alert in found), default=since)


def _send(reader: Reader, now: datetime) -> bool:
    alerts, up_to = alerts_for(reader)
    if not alerts:
        return False
    claim = _claim(reader.person, timezone.localdate(now), up_to, len(alerts), now)
    if claim is None:
        return False
    try:
        letter(reader.person, alerts, timezone.localdate(now)).send()
    except Exception:
        log.exception("The alerts of %s could not be mailed", reader.person)
        Digest.objects.filter(pk=claim.pk, sent_at__isnull=True).delete()
        return False
    return Digest.objects.filter(pk=claim.pk).update(sent_at=timezone.now()) == 1


def _claim(person: User, day: date, up_to: int, alerts: int, now: datetime) -> Digest | None:
    """The right to send a person's letter of a day; none where it was sent or another is at it."""
    try:
        with transaction.atomic():
            return Digest.objects.create(person=person, day=day, up_to=up_to, alerts=alerts, claimed_at=now)
    except IntegrityError:
        pass
    taken_over = Digest.objects.filter(
        person=person, day=day, sent_at__isnull=True, claimed_at__lt=now - CLAIM_HOLDS
    ).update(claimed_at=now, up_to=up_to, alerts=alerts)
    return Digest.objects.get(person=person, day=day) if taken_over == 1 else None


def letter(person: User, alerts: Sequence[Alert], day: date) -> EmailMultiAlternatives:
    """The letter, as plain text and as html with the same words."""
    context = {
        "person": person,
        "shortages": [alert for alert in alerts if alert.kind == Alert.Kind.SHORTAGE],
        "shelves": [alert for alert in alerts if alert.kind == Alert.Kind.SHELF],
        "day": day,
        "address": settings.SITE_ADDRESS,
    }
    count = f"{len(alerts)} alert{'' if len(alerts) == 1 else 's'}"
    message = EmailMultiAlternatives(
        subject=f"{count}, {day:%a} {day.day} {day:%b}",
        body=render_to_string("planning/digest.txt", context),
        to=[person.email],
    )
    message.attach_alternative(render_to_string("planning/digest.html", context), "text/html")
    return message


def _kinds(wish: DigestWish) -> frozenset[str]:
    wanted = {Alert.Kind.SHORTAGE.value: wish.shortages, Alert.Kind.SHELF.value: wish.shelves}
    return frozenset(kind for kind, is_wanted in wanted.items() if is_wanted)
