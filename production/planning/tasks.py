"""Background work of the parts plan: looking for alerts, mailing them."""

from celery import shared_task
from django.utils import timezone

from production.planning.alerting import digest, watching


@shared_task(name="production.planning.tasks.watch_alerts")  # type: ignore[untyped-decorator]
def watch_alerts() -> None:
    watching.watch()
    if timezone.localtime().hour >= digest.FIRST_HOUR:
        digest.send_digests()
