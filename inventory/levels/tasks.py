"""Background work of the levels."""

from celery import shared_task


@shared_task(name="inventory.levels.tasks.work_out")  # type: ignore[untyped-decorator]
def work_out(run_id: int) -> None:
    # Imported here because it loads numpy and scipy, which the web process must not.
    from inventory.levels import runs, smoothing

    runs.carry_out(run_id, fit=smoothing.fitted)


@shared_task(name="inventory.levels.tasks.sweep")  # type: ignore[untyped-decorator]
def sweep() -> None:
    from inventory.levels import runs

    runs.sweep()
