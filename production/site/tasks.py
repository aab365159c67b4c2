"""Background work of the desk: keeping what orders and models cost."""

from celery import shared_task

from production.site.costs import keeping


@shared_task(name="production.site.tasks.keep_costs")  # type: ignore[untyped-decorator]
def keep_costs() -> None:
    keeping.keep_costs()
