"""Powder goes step by step over frames that are there, and each frame is measured and judged."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from bom.kernel.errors import ProblemError
from production.coating.judging import SPOTS, Read, judge, read_thickness, verdicts
from production.coating.models import PowderBatch, PowderLine
from production.coating.powder import begin_batch, end_step, finish_batch, undo_step
from production.coating.powder_models import Step, StepRule, ThicknessRule
from production.coating.recoating import batch_of_their_own, put_in_batch, to_coat_again
from production.shop.models import Calendar, Oven, WorkCentre
from production.works.models import WorksOperation
from tests.production.floor import finish, floor_shop, operation, powder_batch, welded
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db
DUPLEX = {"finish": "duplex", "colours": {"port": "red", "starboard": "green", "powder": "blue"}}
GOOD = [Read(spot, Decimal(160), Decimal(80)) for spot in SPOTS]


@pytest.fixture
def shop() -> SmallWorkshop:
    return floor_shop()


@pytest.fixture
def frame(shop):
    """An order whose frame is galvanised."""
    order = welded(shop, **DUPLEX)
    finish(shop, order, "galvanise")
    return order


@pytest.fixture
def rule(db) -> ThicknessRule:
    return ThicknessRule.objects.create(least_um=60, most_um=120, readings=5)


def through(shop: SmallWorkshop, batch: PowderBatch) -> PowderBatch:
    begin_batch(batch=batch, by=shop.user)
    for step in Step:
        end_step(batch=batch, step=step, by=shop.user)
    return batch


def test_a_batch_goes_through_its_steps_once_and_finishes_its_orders(shop, frame):
    batch = powder_batch(shop, [frame])

    for _ in range(2):
        begin_batch(batch=batch, by=shop.user)
    assert operation(frame, "powder").state == "begun"
    for step in Step:
        for _ in range(2):
            end_step(batch=batch, step=step, by=shop.user)
    for _ in range(2):
        finish_batch(batch=batch, by=shop.user)

    batch.refresh_from_db()
    assert batch.state == "done"
    assert [row.step for row in batch.steps.order_by("pk")] == list(Step)
    assert operation(frame, "powder").state == "done"


def test_a_step_is_not_ended_before_the_one_before_it(shop, frame):
    batch = begin_batch(batch=powder_batch(shop, [frame]), by=shop.user)

    with pytest.raises(ProblemError, match="De-gas is not under way: sweep blast is under way"):
        end_step(batch=batch, step=Step.DEGAS, by=shop.user)


def test_a_batch_is_not_done_before_every_step(shop, frame):
    batch = begin_batch(batch=powder_batch(shop, [frame]), by=shop.user)

    with pytest.raises(ProblemError) as refusal:
        finish_batch(batch=batch, by=shop.user)

    assert len(refusal.value.problems) == len(Step)


def test_a_step_has_a_least_time_unless_somebody_says_why(shop, frame):
    StepRule.objects.create(step=Step.SWEEP, least_minutes=20)
    start = timezone.now() - timedelta(minutes=12)
    batch = begin_batch(batch=powder_batch(shop, [frame]), by=shop.user, at=start)

    with pytest.raises(ProblemError, match="at least 20 min; 8 min are left"):
        end_step(batch=batch, step=Step.SWEEP, by=shop.user)
    row = end_step(batch=batch, step=Step.SWEEP, by=shop.user, why_sooner="two small frames")

    assert row.why_sooner == "two small frames"


def test_an_entry_that_waited_counts_from_when_it_was_made(shop, frame):
    StepRule.objects.create(step=Step.SWEEP, least_minutes=20)
    start = timezone.now() - timedelta(minutes=60)
    batch = begin_batch(batch=powder_batch(shop, [frame]), by=shop.user, at=start)

    row = end_step(batch=batch, step=Step.SWEEP, by=shop.user, at=start + timedelta(minutes=25))

    assert row.ended_at - row.began_at == timedelta(minutes=25)


@pytest.mark.parametrize(("measured", "word"), [(None, "is not written down"), (900, "cannot be 900 °C")])
def test_a_heated_step_asks_how_hot_the_metal_was(shop, frame, measured, word):
    StepRule.objects.create(step=Step.SWEEP, temperature_c=200)
    batch = begin_batch(batch=powder_batch(shop, [frame]), by=shop.user)

    with pytest.raises(ProblemError, match=word):
        end_step(batch=batch, step=Step.SWEEP, by=shop.user, temperature_c=measured)


def test_a_step_ended_by_mistake_is_taken_back(shop, frame):
    batch = begin_batch(batch=powder_batch(shop, [frame]), by=shop.user)
    end_step(batch=batch, step=Step.SWEEP, by=shop.user)

    undo_step(batch=batch, by=shop.user)

    row = batch.steps.get()
    assert (row.step, row.ended_at) == (Step.SWEEP, None)


def test_a_frame_at_the_galvaniser_holds_its_batch(shop):
    order = welded(shop, **DUPLEX)

    with pytest.raises(ProblemError, match=f"order {order.number} is not ready: galvanise"):
        begin_batch(batch=powder_batch(shop, [order]), by=shop.user)


def test_an_empty_batch_is_not_begun(shop):
    with pytest.raises(ProblemError, match="is empty"):
        begin_batch(batch=powder_batch(shop, []), by=shop.user)


def test_a_batch_that_is_not_begun_cannot_be_finished(shop):
    with pytest.raises(ProblemError, match="it is released"):
        finish_batch(batch=powder_batch(shop, []), by=shop.user)


def test_a_frame_within_its_limits_is_good_without_a_further_word(shop, frame, rule):
    batch = through(shop, powder_batch(shop, [frame]))
    line = batch.lines.get()
    with pytest.raises(ProblemError, match="5 more readings wanted"):
        finish_batch(batch=batch, by=shop.user)

    read_thickness(line=line, reads=GOOD, by=shop.user)
    finish_batch(batch=batch, by=shop.user)

    line.refresh_from_db()
    assert (line.outcome, line.judged_by) == ("good", shop.user)


def test_the_powder_is_what_the_gauge_reads_less_the_zinc_and_the_newest_reading_of_a_spot_counts(
    shop, frame, rule
):
    line = through(shop, powder_batch(shop, [frame])).lines.get()
    read_thickness(line=line, reads=[*GOOD[:4], Read("drawbar", Decimal(130), Decimal(85))], by=shop.user)
    verdict = verdicts([line.pk], rule)[line.pk]
    assert verdict.words == "45 µm drawbar"

    read_thickness(line=line, reads=[Read("drawbar", Decimal(150), Decimal(85))], by=shop.user)

    verdict = verdicts([line.pk], rule)[line.pk]
    assert verdict.is_good
    assert verdict.mean_um == Decimal(77)
    assert line.readings.count() == 6


def test_a_thin_frame_cannot_be_called_good_but_accepted_with_a_reason(shop, frame, rule):
    line = through(shop, powder_batch(shop, [frame])).lines.get()
    read_thickness(line=line, reads=[Read(spot, Decimal(100), Decimal(80)) for spot in SPOTS], by=shop.user)

    with pytest.raises(ProblemError, match="speak against it"):
        judge(line=line, outcome="good", by=shop.user)
    with pytest.raises(ProblemError, match="No reason"):
        judge(line=line, outcome="accepted", by=shop.user)

    assert judge(line=line, outcome="accepted", reason="inside only", by=shop.user).outcome == "accepted"


@pytest.mark.parametrize(
    "read", [Read("", Decimal(90)), Read("rear", Decimal(70), Decimal(80)), Read("rear", Decimal(-1))]
)
def test_readings_that_cannot_be_are_refused(shop, frame, read):
    line = through(shop, powder_batch(shop, [frame])).lines.get()

    with pytest.raises(ProblemError, match="cannot be"):
        read_thickness(line=line, reads=[read], by=shop.user)


def test_the_page_shows_what_was_done_last_with_its_readings(client, shop, frame, rule):
    batch = through(shop, powder_batch(shop, [frame]))
    read_thickness(line=batch.lines.get(), reads=GOOD, by=shop.user)
    finish_batch(batch=batch, by=shop.user)
    client.force_login(shop.user)

    said = client.get(reverse("coating:powder")).content.decode()

    assert "Done last" in said
    assert f"{len(GOOD)} readings" in said
    assert frame.number in said


def test_nothing_is_measured_before_the_cure(shop, frame):
    batch = begin_batch(batch=powder_batch(shop, [frame]), by=shop.user)

    with pytest.raises(ProblemError, match="not cured yet"):
        read_thickness(line=batch.lines.get(), reads=GOOD, by=shop.user)


def sent_again(shop: SmallWorkshop, order) -> PowderLine:
    batch = through(shop, powder_batch(shop, [order]))
    judge(line=batch.lines.get(), outcome="again", reason="pinholes along the rail", by=shop.user)
    finish_batch(batch=batch, by=shop.user)
    return batch.lines.get()


def oven(shop: SmallWorkshop) -> None:
    centre = WorkCentre.objects.create(
        code="powder",
        name="Powder",
        process=operation_process(),
        calendar=Calendar.objects.create(code="day", name="Day"),
    )
    Oven.objects.create(
        work_centre=centre,
        frames=4,
        rail_length_mm=6000,
        batch_minutes=90,
        change_to_darker_minutes=30,
        change_to_lighter_minutes=45,
    )


def operation_process():
    return WorksOperation.objects.filter(process__code="powder").first().process


def test_a_frame_to_be_coated_again_returns_to_the_queue_and_keeps_its_history(shop, frame):
    line = sent_again(shop, frame)
    work = operation(frame, "powder")
    assert (work.state, work.problem) == ("waiting", "coat again: pinholes along the rail")
    assert to_coat_again() == [line]
    second = powder_batch(shop, [], "PB-2")

    for _ in range(2):
        put_in_batch(line=line, batch=second, by=shop.user)
    assert to_coat_again() == []
    through(shop, second)
    finish_batch(batch=second, by=shop.user)

    assert operation(frame, "powder").state == "done"
    assert operation(frame, "powder").problem == ""
    history = PowderLine.objects.filter(order=frame).order_by("pk")
    assert [one.outcome for one in history] == ["again", "good"]
    assert history[1].repeats == line


def test_a_frame_to_be_coated_again_gets_a_batch_of_its_own(shop, frame):
    line = sent_again(shop, frame)
    oven(shop)

    batch = batch_of_their_own(lines=[line], by=shop.user)

    assert (batch.number, batch.state, batch.frames) == ("PB-1-R01", "released", 4)
    with pytest.raises(ProblemError, match="stands in batch PB-1-R01 already"):
        batch_of_their_own(lines=[line], by=shop.user)


def test_a_full_batch_takes_no_more_frames(shop, frame):
    line = sent_again(shop, frame)
    others = [welded(shop, **DUPLEX) for _ in range(4)]

    with pytest.raises(ProblemError, match="All 4 places are taken"):
        put_in_batch(line=line, batch=powder_batch(shop, others, "PB-2"), by=shop.user)
