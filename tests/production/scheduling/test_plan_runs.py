"""A plan's run: queued once, claimed once, closed once; whatever stops it leaves nothing behind."""

from datetime import timedelta

import pytest
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.runs import SILENCE_ALLOWED
from production.planning.models import Plan, Suggestion
from production.scheduling import planning, runs
from production.scheduling.tasks import sweep as sweep_task
from tests.production.small_workshop import SmallWorkshop


def queued(**values: object) -> Plan:
    number = Plan.objects.count() + 1
    return Plan.objects.create(number=number, **values)  # type: ignore[misc]


def running(**values: object) -> Plan:
    return queued(state=Plan.State.RUNNING, heartbeat_at=timezone.now(), **values)


def test_a_second_press_shows_the_plan_that_waits(shop: SmallWorkshop) -> None:
    first = planning.start_plan(by=shop.user)
    assert planning.start_plan(by=shop.user) == first
    assert Plan.objects.count() == 1
    assert (first.asked_by, first.number) == (shop.user, 1)


@pytest.mark.parametrize(("seconds", "days"), [(0, 5), (601, 5), (20, 0), (20, 21)])
def test_nonsense_is_refused_and_queues_nothing(shop: SmallWorkshop, seconds: int, days: int) -> None:
    with pytest.raises(ProblemError):
        planning.start_plan(by=shop.user, seconds=seconds, batch_days=days)
    assert not Plan.objects.exists()


def test_a_queued_plan_is_claimed_by_one_worker_only(db: None) -> None:
    plan = queued()
    assert runs.claim(plan.pk) is not None
    assert runs.claim(plan.pk) is None


def test_a_waiting_plan_that_is_cancelled_is_never_claimed(shop: SmallWorkshop) -> None:
    plan = planning.cancel_plan(plan=queued(), by=shop.user)
    assert (plan.state, plan.outcome) == ("finished", "cancelled")
    assert runs.claim(plan.pk) is None


def test_work_that_is_asked_to_stop_ends_as_cancelled_and_keeps_nothing(shop: SmallWorkshop) -> None:
    def work(plan: Plan, pulse: runs.Pulse) -> None:
        planning.cancel_plan(plan=plan, by=shop.user)
        pulse.step(50, "halfway")
        Suggestion.objects.create(plan=plan)

    plan = queued()
    runs.carry_out(plan.pk, work)
    plan.refresh_from_db()
    assert (plan.state, plan.outcome, plan.step) == ("finished", "cancelled", "reading the order book")
    assert not plan.suggestions.exists()


def test_a_refusal_becomes_the_failure_sentence(db: None) -> None:
    def work(plan: Plan, pulse: runs.Pulse) -> None:
        raise ProblemError(Problem("There is no steel", "stock", "Buy some."))

    plan = queued()
    runs.carry_out(plan.pk, work)
    plan.refresh_from_db()
    assert (plan.outcome, plan.failure) == ("failed", "stock: There is no steel. Buy some.")


def test_a_fault_in_the_program_is_said_in_a_sentence(db: None, caplog: pytest.LogCaptureFixture) -> None:
    def work(plan: Plan, pulse: runs.Pulse) -> None:
        raise ZeroDivisionError("division by zero")

    plan = queued()
    runs.carry_out(plan.pk, work)
    plan.refresh_from_db()
    assert plan.outcome == "failed"
    assert "ZeroDivisionError" in plan.failure
    assert "Nothing was changed" in plan.failure
    assert "division by zero" in caplog.text


def test_progress_is_kept_and_never_reaches_a_hundred_before_the_end(db: None) -> None:
    plan = running()
    assert runs.Pulse(plan.pk).tell(100, "nearly", now=True)
    plan.refresh_from_db()
    assert (plan.percent, plan.step) == (99, "nearly")


def test_success_after_a_cancel_is_not_success(db: None) -> None:
    plan = running(cancel_asked=True)
    assert not runs.close(plan.pk, Plan.Outcome.SUCCEEDED)
    assert runs.close(plan.pk, Plan.Outcome.CANCELLED)


def test_the_sweeper_closes_silent_runs_and_leaves_the_others(db: None) -> None:
    silent = running()
    breathing = running()
    Plan.objects.filter(pk=silent.pk).update(
        heartbeat_at=timezone.now() - SILENCE_ALLOWED - timedelta(seconds=1)
    )
    sweep_task()
    silent.refresh_from_db()
    breathing.refresh_from_db()
    assert (silent.outcome, silent.failure) == ("failed", runs.SILENT)
    assert breathing.state == "running"
    assert not runs.Pulse(silent.pk).tell(10, "still here", now=True)


def test_a_workshop_without_orders_says_so(shop: SmallWorkshop) -> None:
    plan = planning.run_plan(planning.start_plan(by=shop.user).pk)
    assert (plan.outcome, "no confirmed order" in plan.failure) == ("failed", True)
