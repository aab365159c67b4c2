"""Background work of laser and saw."""

from celery import shared_task


@shared_task(name="production.cutting.tasks.renest")  # type: ignore[untyped-decorator]
def renest(run_id: int) -> None:
    # Imported here because it loads the nesting, which the web process must not.
    from production.cutting import renesting

    renesting.carry_out(run_id)


@shared_task(name="production.cutting.tasks.gather_bars")  # type: ignore[untyped-decorator]
def gather_bars(run_id: int) -> None:
    from production.cutting.saw import gathering

    gathering.carry_out(run_id)


@shared_task(name="production.cutting.tasks.sweep")  # type: ignore[untyped-decorator]
def sweep() -> None:
    from production.cutting import renesting
    from production.cutting.saw import gathering

    renesting.sweep()
    gathering.sweep()
