"""Background work of drawings: reading a file, and closing readings whose worker fell silent."""

from celery import shared_task

from bom.geometry import reading_runs


@shared_task(name="bom.geometry.tasks.read_drawing")  # type: ignore[untyped-decorator]
def read_drawing(read_id: int) -> None:
    reading_runs.carry_out(read_id)


@shared_task(name="bom.geometry.tasks.sweep")  # type: ignore[untyped-decorator]
def sweep() -> None:
    reading_runs.runner.sweep()
