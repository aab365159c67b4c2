"""The released plan as a calendar (RFC 5545), at addresses that can be given away and taken back."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import Count, Sum
from django.utils import timezone
from icalendar import Calendar, Event

from bom.people.models import User
from bom.templatetags.workshop import day_text
from production.coating.models import GalvanisingLoad
from production.planning.models import Plan
from production.scheduling.models import OrderForecast, PlannedOperation
from production.scheduling.notices.feed_models import CalendarAddress
from production.shop.models import WorkCentre

DAYS_BACK, DAYS_AHEAD = 14, 60
MOST_EVENTS = 1500


@transaction.atomic
def give_address(*, work_centre: WorkCentre | None, by: User) -> tuple[CalendarAddress, str]:
    """A new address, for one work centre or (none) for dispatch; and its token, which is told only now."""
    token = secrets.token_urlsafe(24)
    row = CalendarAddress.objects.create(
        digest=_digest(token), begins=token[:6], work_centre=work_centre, made_by=by
    )
    return row, token


@transaction.atomic
def take_back(*, address: CalendarAddress) -> CalendarAddress:
    """Serve nothing at this address any more. One that was taken back stays so."""
    if address.revoked_at is None:
        address.revoked_at = timezone.now()
        address.save(update_fields=["revoked_at"])
    return address


def address_of(token: str) -> CalendarAddress | None:
    """The address with this token, if it still serves; that it was read is written down."""
    row = (
        CalendarAddress.objects.filter(digest=_digest(token), revoked_at__isnull=True)
        .select_related("work_centre__process", "work_centre__oven")
        .first()
    )
    if row is not None:
        CalendarAddress.objects.filter(pk=row.pk).update(read_at=timezone.now())
    return row


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def calendar_text(work_centre: WorkCentre | None) -> bytes:
    """The calendar of a work centre, or (none) of dispatch, by the released plan. At most four queries."""
    plan = Plan.current()
    calendar = Calendar()
    calendar.add("prodid", "-//workshop//week//EN")
    calendar.add("version", "2.0")
    name = work_centre.name if work_centre else "dispatch"
    calendar.add("x-wr-calname", f"{name[:1].upper()}{name[1:]}, the week")
    for event in () if plan is None else _station(plan, work_centre) if work_centre else _dispatch(plan):
        calendar.add_component(event)
    text: bytes = calendar.to_ical()
    return text


def _station(plan: Plan, work_centre: WorkCentre) -> Iterable[Event]:
    """An event an operation; the frames of one oven batch are one."""
    rows = (
        PlannedOperation.objects.filter(plan=plan, work_centre=work_centre, **_near("starts_at"))
        .exclude(operation__state="cancelled")
        .select_related("order__model", "batch")
        .order_by("starts_at", "pk")
    )
    is_oven = hasattr(work_centre, "oven")
    together: dict[tuple[datetime, int], list[PlannedOperation]] = {}
    for row in rows[:MOST_EVENTS]:
        together.setdefault((row.starts_at, 0 if is_oven else row.pk), []).append(row)
    for members in together.values():
        first = members[0]
        what = ", ".join(_what(row) for row in members)
        yield _event(
            f"operation-{first.pk}",
            plan,
            first.starts_at,
            first.ends_at,
            f"{work_centre.process.name}: {what}",
            f"{sum(row.minutes for row in members):.0f} min of work, plan {plan.number}",
        )


def _what(row: PlannedOperation) -> str:
    if row.order is not None:
        return f"{row.order.number} {row.order.model.code}"
    return row.batch.number if row.batch else "cut batch"


def _dispatch(plan: Plan) -> Iterable[Event]:
    """Lorries leaving and coming back, and the day each trailer is finished."""
    loads = (
        GalvanisingLoad.objects.filter(plan=plan, **_near("leaves_at"))
        .annotate(kg=Sum("lines__mass_kg"), orders=Count("lines__order", distinct=True))
        .order_by("leaves_at")
    )
    for load in loads:
        what = f"{load.number}: {load.orders} orders, {load.kg or 0:.0f} of {load.max_kg} kg"
        half = timedelta(minutes=30)
        yield _event(
            f"leaves-{load.pk}", plan, load.leaves_at, load.leaves_at + half, f"Lorry leaves, {what}", ""
        )
        yield _event(f"back-{load.pk}", plan, load.back_at, load.back_at + half, f"Lorry back, {what}", "")
    forecasts = OrderForecast.objects.filter(plan=plan, **_near("finishes_at")).select_related(
        "order__model", "order__customer"
    )
    for row in forecasts.order_by("finishes_at")[:MOST_EVENTS]:
        event = Event()
        day = timezone.localtime(row.finishes_at).date()
        late = f", {row.days_late} days late" if row.days_late > 0 else ""
        event.add("uid", f"trailer-{row.order_id}@workshop")
        event.add("dtstamp", plan.released_at or timezone.now())
        event.add("summary", f"Trailer {row.order.number} {row.order.model.code} finished{late}")
        event.add("description", f"{row.order.customer.name}, held to {day_text(row.due_on)}")
        event.add("dtstart", day)
        # A whole day ends before the date given here (RFC 5545, 3.6.1).
        event.add("dtend", day + timedelta(days=1))
        event.add("url", f"{settings.SITE_ADDRESS}/orders/{row.order.number}/")
        yield event


def _near(field: str) -> dict[str, datetime]:
    now = timezone.now()
    return {
        f"{field}__gte": now - timedelta(days=DAYS_BACK),
        f"{field}__lt": now + timedelta(days=DAYS_AHEAD),
    }


def _event(uid: str, plan: Plan, starts: datetime, ends: datetime, summary: str, words: str) -> Event:
    event = Event()
    event.add("uid", f"{uid}@workshop")
    event.add("dtstamp", plan.released_at or timezone.now())
    event.add("dtstart", starts.astimezone(UTC))
    event.add("dtend", ends.astimezone(UTC))
    event.add("summary", summary)
    if words:
        event.add("description", words)
    return event
