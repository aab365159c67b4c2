"""An alert that somebody has silenced, so that the demonstration shows one. After the first plan, when alerts exist."""

from datetime import timedelta

from django.utils import timezone

from bom.people.models import User
from production.planning.alert_models import Alert, Silence
from production.planning.alerting import watching
from production.site.demo.people import SIGN_INS
from production.site.roles import MANAGER

DAYS = 10
REASON = "the shelf is recounted next week; there is another box behind the rack"


def silence_one() -> Silence | None:
    """The manager wants to hear nothing of the least pressing shelf alert for some days."""
    names = [one.name for one in SIGN_INS if one.role == MANAGER]
    manager = User.objects.filter(username__in=names).first()
    shelves = Alert.objects.filter(kind=Alert.Kind.SHELF, gone_at__isnull=True)
    alert = shelves.order_by("-needed_on", "item__code").first()
    if manager is None or alert is None:
        return None
    until = timezone.localdate() + timedelta(days=DAYS)
    return watching.silence(alert=alert, by=manager, reason=REASON, until=until)
