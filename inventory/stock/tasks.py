"""Background work of stock: keeping what it is worth."""

from contextlib import suppress

from celery import shared_task
from django.db import IntegrityError

from inventory.stock import cost_points


@shared_task(name="inventory.stock.tasks.keep_worth")  # type: ignore[untyped-decorator]
def keep_worth() -> None:
    # Refused where another worker keeps the same points just now.
    with suppress(IntegrityError):
        cost_points.keep_points()
