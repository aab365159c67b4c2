"""Parts that join the next sheet: cut again or wanted sooner; a begun batch stays as it is."""

import pytest

from bom.kernel.errors import ProblemError
from inventory.stock import ledger
from production.cutting import renesting
from production.cutting.completing import owed_parts
from production.cutting.counting import begin_sheet, finish_sheet
from production.cutting.joining import hurry
from production.cutting.models import BatchRenest, CutBatch, CutPlacement
from production.orders.models import Order
from tests.production.floor import cut_batch, floor_shop, operation, released
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    shop = floor_shop()
    shop.stock("SH", "5")
    return shop


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    monkeypatch.setattr(renesting, "SECONDS", 0.5)


def cut_with_one_bad(shop: SmallWorkshop, batch: CutBatch) -> None:
    sheet = batch.sheets.get()
    bad = sheet.placements.first()
    finish_sheet(sheet=sheet, by=shop.user, scrapped={bad.pk: "burnt edge"})


def carried_out() -> BatchRenest:
    renesting.carry_out(BatchRenest.objects.first().pk)
    return BatchRenest.objects.first()


def laid(batch: CutBatch) -> dict[str, int]:
    """Waiting parts of a batch by order number."""
    numbers = CutPlacement.objects.filter(sheet__batch=batch).values_list("order__number", flat=True)
    return {number: list(numbers).count(number) for number in numbers}


def test_a_scrapped_part_joins_the_next_batch_at_once(shop):
    first, second = released(shop), released(shop)
    batch, following = cut_batch(shop, [first]), cut_batch(shop, [second], "CB-2")

    cut_with_one_bad(shop, batch)
    run = carried_out()

    assert run.outcome == "succeeded", run.failure
    assert laid(following) == {first.number: 1, second.number: 4}
    assert owed_parts([first]) == {first.pk: {}}
    sheet = following.sheets.get()
    finish_sheet(sheet=sheet, by=shop.user)
    assert operation(first, "laser").state == "done"
    assert ledger.audit() == []


def test_where_no_batch_waits_it_gets_one_of_its_own(shop):
    order = released(shop)
    cut_with_one_bad(shop, cut_batch(shop, [order]))

    run = carried_out()

    assert run.outcome == "succeeded", run.failure
    assert run.batch.number == "CB-1-J1"
    assert run.batch.state == "released"
    assert laid(run.batch) == {order.number: 1}


def test_a_begun_batch_is_frozen_and_the_one_after_it_is_taken(shop):
    orders = [released(shop) for _ in range(3)]
    batch, begun, after = (cut_batch(shop, [one], f"CB-{at}") for at, one in enumerate(orders, start=1))
    begin_sheet(sheet=begun.sheets.get(), by=shop.user)

    cut_with_one_bad(shop, batch)
    carried_out()

    assert sum(laid(begun).values()) == 4
    assert sum(laid(after).values()) == 5


def test_a_batch_begun_meanwhile_stays_as_it_is_and_the_run_says_so(shop, monkeypatch):
    first, second = released(shop), released(shop)
    batch, following = cut_batch(shop, [first]), cut_batch(shop, [second], "CB-2")
    cut_with_one_bad(shop, batch)
    lay_out = renesting.lay_out

    def begun_meanwhile(*args, **words):
        begin_sheet(sheet=following.sheets.get(), by=shop.user)
        return lay_out(*args, **words)

    monkeypatch.setattr(renesting, "lay_out", begun_meanwhile)
    run = carried_out()

    assert run.outcome == "failed"
    assert "begun or changed" in run.failure
    assert laid(following) == {second.number: 4}


def test_what_is_not_owed_any_more_does_not_join(shop):
    first, second = released(shop), released(shop)
    batch, following = cut_batch(shop, [first]), cut_batch(shop, [second], "CB-2")
    cut_with_one_bad(shop, batch)
    Order.objects.filter(pk=first.pk).update(state=Order.State.CANCELLED)

    run = carried_out()

    assert run.said.startswith("Nothing joins any more")
    assert laid(following) == {second.number: 4}


def test_an_order_wanted_sooner_leaves_its_later_batch(shop):
    first, second = released(shop), released(shop)
    near, far = cut_batch(shop, [first]), cut_batch(shop, [second], "CB-2")

    [run] = hurry(order=second, by=shop.user)
    assert run.batch == near
    assert carried_out().outcome == "succeeded"

    far.refresh_from_db()
    assert laid(near) == {first.number: 4, second.number: 4}
    assert (far.state, far.sheets.count()) == ("dropped", 0)


def test_an_order_that_is_cut_cannot_be_hurried(shop):
    order = released(shop)
    finish_sheet(sheet=cut_batch(shop, [order]).sheets.get(), by=shop.user)
    with pytest.raises(ProblemError, match="Nothing of this order waits"):
        hurry(order=order, by=shop.user)
