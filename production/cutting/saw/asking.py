"""Asking for the bar batches to be made: when a plan is released, when a piece went wrong, when somebody says so."""

from functools import partial

from django.db import transaction

from bom.items.models import Item
from bom.people.models import User
from production.cutting.saw.models import BarGather
from production.cutting.tasks import gather_bars
from production.planning.models import Plan


@transaction.atomic
def ask_to_gather(*, plan: Plan, item: Item | None = None, by: User | None = None) -> BarGather:
    """Queue the making of the bar batches of a section, or of all. What is queued already is enough."""
    queued = BarGather.objects.select_for_update().filter(state=BarGather.State.QUEUED)
    run = queued.filter(item__isnull=True).first() or (queued.filter(item=item).first() if item else None)
    if run is None:
        run = BarGather.objects.create(plan=plan, item=item, asked_by=by, step="waiting for the worker")
        transaction.on_commit(partial(gather_bars.delay, run.pk))
    return run


def last_gathering() -> BarGather | None:
    """The latest gathering, running or over."""
    return BarGather.objects.select_related("item").first()
