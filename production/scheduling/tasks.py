"""Background work of the week: making a plan, and closing plans whose worker fell silent."""

from celery import shared_task

from production.planning.models import Plan
from production.scheduling import runs
from production.scheduling.notices import paper_runs
from production.scheduling.promises import offer_runs
from production.scheduling.reasons import trial_runs
from production.scheduling.windows import window_runs


@shared_task(name="production.scheduling.tasks.make")  # type: ignore[untyped-decorator]
def make(plan_id: int) -> None:
    # Imported here because it loads the solvers, which the web process must not.
    from production.scheduling.board.repairing import make_changed_plan
    from production.scheduling.making.making import make_plan

    is_changed = Plan.objects.filter(pk=plan_id, way=Plan.Way.CHANGED).exists()
    runs.carry_out(plan_id, make_changed_plan if is_changed else make_plan)


@shared_task(name="production.scheduling.tasks.try_windows")  # type: ignore[untyped-decorator]
def try_windows(trial_id: int) -> None:
    # Imported here because it loads the nesting, which the web process must not.
    from production.scheduling.windows.windows import carry_out

    carry_out(trial_id)


@shared_task(name="production.scheduling.tasks.draw_week")  # type: ignore[untyped-decorator]
def draw_week(paper_id: int) -> None:
    # Imported here because it loads the typesetter, which the web process must not.
    from production.scheduling.notices.papers.making import make_paper

    make_paper(paper_id)


@shared_task(name="production.scheduling.tasks.try_cures")  # type: ignore[untyped-decorator]
def try_cures(trial_id: int) -> None:
    # Imported here because it loads the solvers, which the web process must not.
    from production.scheduling.reasons.curing_all import carry_out

    carry_out(trial_id)


@shared_task(name="production.scheduling.tasks.offer_date")  # type: ignore[untyped-decorator]
def offer_date(run_id: int) -> None:
    # Imported here because it loads numpy, which the web process need not.
    from production.scheduling.promises.quoting import carry_out

    carry_out(run_id)


@shared_task(name="production.scheduling.tasks.sweep")  # type: ignore[untyped-decorator]
def sweep() -> None:
    runs.sweep()
    for room in (window_runs, trial_runs, offer_runs, paper_runs):
        room.RUNNER.sweep()
