"""Background work of the gate."""

from celery import shared_task


@shared_task(name="production.dispatch.tasks.make_papers")  # type: ignore[untyped-decorator]
def make_papers(run_id: int) -> None:
    # Imported here because it loads the typesetter, which the web process must not.
    from production.dispatch.papers import press, running

    running.carry_out(run_id, press=press.Press)


@shared_task(name="production.dispatch.tasks.sweep")  # type: ignore[untyped-decorator]
def sweep() -> None:
    from production.dispatch.papers import running

    running.sweep()
