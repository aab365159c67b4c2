"""Follow-up: plan against actual, figures with their rows, times corrected with a person's consent."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.core.cache import cache
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from bom.kernel.errors import ProblemError
from bom.structure.models import Process
from production.orders.models import Order
from production.scheduling.follow.following import corrections, period
from production.scheduling.follow.history import ratios_by_station, took
from production.scheduling.models import PlannedOperation
from production.works import standard_times
from production.works.card_models import CardLine, JobCard, WorkTime
from production.works.confirming import confirm_order
from production.works.models import WorksOperation
from production.works.time_models import TimeCorrection
from tests.production.floor import operation, released
from tests.production.scheduling.test_week_pages import plan_with
from tests.production.small_workshop import SmallWorkshop

RATIO = Decimal("1.25")


def welded_on_card(shop: SmallWorkshop, number: int, ratio: Decimal = RATIO) -> WorksOperation:
    """An order whose welding took `ratio` times its minutes by the job card."""
    row = operation(released(shop), "weld")
    now = timezone.now() - timedelta(hours=5)
    row.state, row.began_at, row.finished_at = WorksOperation.State.DONE, now, now + timedelta(hours=2)
    row.save()
    card = JobCard.objects.create(number=f"JC-{number}", process=row.process, state=JobCard.State.DONE)
    CardLine.objects.create(card=card, operation=row, item=shop.items["CH"], pieces=1)
    WorkTime.objects.create(
        card=card,
        person=shop.user,
        started_at=now,
        stopped_at=now + timedelta(hours=2),
        ended="done",
        minutes=row.minutes * ratio,
    )
    return row


@pytest.fixture
def signed_in(shop: SmallWorkshop, client: Client) -> Client:
    shop.user.user_permissions.add(Permission.objects.get(codename="correct_times"))
    client.force_login(shop.user)
    return client


def test_history_is_what_job_cards_say_by_station(shop: SmallWorkshop) -> None:
    for number in range(3):
        welded_on_card(shop, number)
    assert ratios_by_station() == {"weld": [pytest.approx(1.25)] * 3}


def test_a_card_that_orders_share_is_nobodys_history(shop: SmallWorkshop) -> None:
    first = welded_on_card(shop, 1)
    other = operation(released(shop), "weld")
    CardLine.objects.create(
        card=JobCard.objects.get(number="JC-1"), operation=other, item=shop.items["CH"], pieces=1
    )
    assert first.pk not in {one.order for one in took()}
    assert took() == []


def test_five_times_that_agree_propose_a_correction_and_consent_changes_what_waits(
    shop: SmallWorkshop,
) -> None:
    rows = [welded_on_card(shop, number) for number in range(5)]
    waiting = operation(released(shop), "weld")
    [(process, proposal)] = corrections(took())
    assert (process.code, proposal.operations, round(proposal.factor, 3)) == ("weld", 5, 1.25)
    standard_times.correct_times(process=process, factor=RATIO, operations=5, by=shop.user)
    before = waiting.minutes
    waiting.refresh_from_db()
    assert waiting.minutes == before * RATIO
    rows[0].refresh_from_db()
    assert rows[0].minutes == before  # what is done keeps what it was planned with
    assert corrections(took()) == []


def test_an_order_confirmed_later_is_planned_with_the_corrected_time(shop: SmallWorkshop) -> None:
    weld = Process.objects.get(code="weld")
    usual = operation(confirm_order(order=shop.draft(), by=shop.user), "weld").minutes
    standard_times.correct_times(process=weld, factor=RATIO, operations=9, by=shop.user)
    assert operation(confirm_order(order=shop.draft(), by=shop.user), "weld").minutes == usual * RATIO


def test_a_correction_taken_back_gives_the_minutes_back(shop: SmallWorkshop) -> None:
    waiting = operation(released(shop), "weld")
    made = standard_times.correct_times(process=waiting.process, factor=RATIO, operations=9, by=shop.user)
    for _ in range(2):
        standard_times.undo_correction(correction=made, by=shop.user)
    before = waiting.minutes
    waiting.refresh_from_db()
    assert waiting.minutes == before
    assert standard_times.factors_in_force() == {}


@pytest.mark.parametrize("factor", [Decimal(0), Decimal(-1), Decimal(11)])
def test_a_correction_that_makes_no_sense_is_refused(shop: SmallWorkshop, factor: Decimal) -> None:
    with pytest.raises(ProblemError):
        standard_times.correct_times(
            process=Process.objects.get(code="weld"), factor=factor, operations=5, by=shop.user
        )
    assert not TimeCorrection.objects.exists()


def test_an_operation_is_held_against_the_plan_that_was_released_when_it_began(shop: SmallWorkshop) -> None:
    plan = plan_with(shop, 1, is_current=True, released_at=timezone.now() - timedelta(days=3))
    row = PlannedOperation.objects.get(plan=plan)
    began = row.starts_at + timedelta(minutes=90)
    WorksOperation.objects.filter(pk=row.operation_id).update(state="begun", began_at=began)
    # A plan released only after the work had begun says nothing of it.
    later = plan_with(shop, 0, number=2, released_at=timezone.now() + timedelta(days=3))
    row.pk, row.plan, row.starts_at = None, later, began
    row.save()
    [one] = period(28, []).against
    assert (one.off_minutes, one.is_on_its_day) == (
        90,
        began.date() == (began - timedelta(minutes=90)).date(),
    )


def test_a_finished_order_counts_with_its_execution_time(shop: SmallWorkshop) -> None:
    row = welded_on_card(shop, 1)
    order = row.works_order.order
    assert order is not None
    WorksOperation.objects.filter(works_order=row.works_order).exclude(pk=row.pk).delete()
    Order.objects.filter(pk=order.pk).update(
        state=Order.State.DONE, promised_on=timezone.localdate() - timedelta(days=9)
    )
    found = period()
    [one] = found.executions
    assert one.execution_minutes == 120
    assert found.allocation == pytest.approx(float(row.minutes * RATIO) / 120)
    assert found.on_time == 0.0
    assert found.throughput == pytest.approx(0.5)


@pytest.mark.parametrize("show", ["adherence", "on_time", "set_up", "in_progress"])
def test_every_figure_opens_into_its_rows_with_few_questions(
    shop: SmallWorkshop, signed_in: Client, show: str, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(6):
        welded_on_card(shop, number)
    cache.clear()
    with django_assert_max_num_queries(20):
        text = signed_in.get(f"/week/follow-up/?show={show}").content.decode()
    assert "1.250" in text


def test_correcting_by_button_takes_what_is_proposed_and_only_from_who_may(
    shop: SmallWorkshop, signed_in: Client
) -> None:
    for number in range(5):
        welded_on_card(shop, number)
    signed_in.post("/week/follow-up/weld/correct/")
    assert TimeCorrection.objects.get().factor == Decimal("1.250")
    assert (
        "Nothing is proposed" in signed_in.post("/week/follow-up/weld/correct/", follow=True).content.decode()
    )
    shop.user.user_permissions.clear()
    assert signed_in.post("/week/follow-up/weld/correct/").status_code == 403
