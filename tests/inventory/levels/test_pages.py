"""Pages of the levels: what they show, what they take, how few questions they ask."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.cache import cache
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from bom.items.models import Item
from inventory.buying.models import Supplier, SupplierItem, SupplierPrice
from inventory.levels import runs, verbs
from inventory.levels.models import DemandOneOff, ItemLevel, LevelProposal, LevelRules, LevelRun
from tests.inventory.levels.yearly import TODAY, post, use


def text_of(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


@pytest.fixture
def sold(room) -> SupplierItem:
    supplier = Supplier.objects.create(code="RUBBER", name="Rubber and Roll")
    sold = SupplierItem.objects.create(
        supplier=supplier, item=room.roller, price=Decimal(4), pack=10, lead_days=30
    )
    SupplierPrice.objects.create(
        sold=sold, from_quantity=Decimal(500), price=Decimal("3.50"), valid_from=TODAY - timedelta(days=99)
    )
    return sold


@pytest.fixture
def worked_out(room, sold) -> LevelRun:
    use(room, room.roller, [10 + 4 * (week * 7 % 5) for week in range(49)] + [300])
    Item.objects.filter(pk=room.roller.pk).update(standard_cost=Decimal(4))
    run = LevelRun.objects.create(today=TODAY)
    runs.carry_out(run.pk, fit=lambda training: {})
    run.refresh_from_db()
    assert run.outcome == "succeeded", run.failure
    return run


def test_an_item_shows_every_number_with_its_working(keeper, room, worked_out):
    shown = text_of(keeper.get("/levels/items/RLR-120-BLU/"))

    for words in (
        "Weeks not counted as they were",
        "less wrong than the naive forecast",
        "Safety, z × deviation",
        "Level, m × L + safety",
        "Economic quantity",
        "from 500",
        "Least total cost",
        "weeks between demands (cut-off 1.32)",
    ):
        assert words in shown


def test_an_item_never_seen_says_how_to_begin(keeper, room):
    assert "No whole week has been seen" in text_of(keeper.get("/levels/items/AXL-750/"))


def test_the_lists_show_what_they_promise(keeper, room, worked_out):
    assert "RLR-120-BLU" in text_of(keeper.get("/levels/?value_class=A"))
    assert "RLR-120-BLU" not in text_of(keeper.get("/levels/?value_class=C"))
    assert "Nothing waits" in text_of(keeper.get("/levels/proposals/"))
    assert "Levels that would change 0" in text_of(keeper.get(f"/levels/runs/{worked_out.pk}/"))


def test_a_level_is_set_by_hand_and_given_back_to_the_working(keeper, room, worked_out):
    form = {"reorder_point": "7", "service_level": "0.95", "lot_rule": "economic", "order_cost": "40"}
    keeper.post("/levels/items/RLR-120-BLU/", form)
    level = ItemLevel.objects.get(item=room.roller)
    room.roller.refresh_from_db()

    assert (level.reorder_point, level.is_manual, level.order_cost) == (7, True, 40)
    assert room.roller.lot_rule == "economic"

    keeper.post("/levels/items/RLR-120-BLU/", {**form, "reorder_point": "", "service_level": "0.99"})
    level.refresh_from_db()
    assert (level.is_manual, level.service_level) == (False, Decimal("0.99"))


def test_a_lot_rule_without_its_size_is_refused_with_words(keeper, room, worked_out):
    answer = keeper.post("/levels/items/RLR-120-BLU/", {"service_level": "0.95", "lot_rule": "fixed"})

    assert "needs a lot size above zero" in text_of(answer)
    assert Item.objects.get(pk=room.roller.pk).lot_rule == "as_needed"


def test_a_set_aside_week_is_counted_again_by_a_person(keeper, room, worked_out):
    one = DemandOneOff.objects.get()
    keeper.post(f"/levels/one-offs/{one.pk}/", {"counts": "yes"})
    one.refresh_from_db()

    assert (one.is_put_back, one.decided_by) == (True, room.keeper)


@pytest.fixture
def proposal(room, sold) -> LevelProposal:
    use(room, room.roller, [5] * 26 + [20] * 25)
    verbs.work_out_levels(today=TODAY - timedelta(weeks=25))
    verbs.work_out_levels(today=TODAY, propose=True)
    return LevelProposal.objects.get(item=room.roller)


def test_ticked_proposals_are_accepted_and_undone(keeper, room, proposal):
    answer = keeper.post("/levels/proposals/", {"proposal": [proposal.pk], "act": "accept"}, follow=True)
    assert "1 new level in force" in text_of(answer)
    assert ItemLevel.objects.get(item=room.roller).reorder_point == proposal.proposed

    answer = keeper.post(f"/levels/proposals/{proposal.pk}/undo/", follow=True)
    assert "the proposal waits again" in text_of(answer)
    assert ItemLevel.objects.get(item=room.roller).reorder_point == proposal.in_force


def test_ticked_proposals_are_kept_from_the_items_page(keeper, room, proposal):
    answer = keeper.post(
        "/levels/proposals/", {"proposal": [proposal.pk], "act": "keep", "code": "RLR-120-BLU"}
    )
    proposal.refresh_from_db()

    assert answer.url == "/levels/items/RLR-120-BLU/"
    assert proposal.state == "kept"


def test_a_second_undo_is_refused_with_words(keeper, proposal):
    answer = keeper.post(f"/levels/proposals/{proposal.pk}/undo/", follow=True)

    assert "Nothing was decided" in text_of(answer)


def test_idle_stock_is_slow_then_dead_with_its_value(keeper, room):
    today = timezone.localdate()
    Item.objects.update(standard_cost=Decimal("2.50"))
    post(room, room.roller, 40, "SUPPLIER", "A1", today - timedelta(days=300), "receipt")
    post(room, room.roller, 10, "A1", "CUSTOMER", today - timedelta(days=120), "dispatch")
    shown = text_of(keeper.get("/levels/idle/"))

    assert "RLR-120-BLU" in shown
    assert "£75.00" in shown
    assert "120 slow" in shown
    assert "RLR-120-BLU" not in text_of(keeper.get("/levels/idle/?state=dead"))

    LevelRules.objects.create(pk=1, dead_days=100, slow_days=50)
    assert "120 dead" in text_of(keeper.get("/levels/idle/"))


def test_rules_are_changed_and_nonsense_is_refused(keeper, db):
    form = {
        "a_share": "0.7",
        "b_share": "0.9",
        "order_cost": "25",
        "holding_rate": "0.2",
        "propose_share": "0.1",
        "slow_days": "60",
        "dead_days": "120",
    }
    keeper.post("/levels/rules/", form)
    assert LevelRules.current().slow_days == 60

    answer = keeper.post("/levels/rules/", {**form, "slow_days": "500"})
    assert "slow before it is dead" in text_of(answer)
    assert LevelRules.current().slow_days == 60


def test_working_out_is_queued_once_and_can_be_stopped(keeper, db):
    first = keeper.post("/levels/runs/start/").url

    assert keeper.post("/levels/runs/start/").url == first
    assert "waiting for the worker" in text_of(keeper.get(first))
    keeper.post(f"{first}stop/")
    assert "It was stopped" in text_of(keeper.get(first))


def test_pages_ask_few_questions_however_many_rows(keeper, room, worked_out):
    def questions(address):
        cache.clear()
        with CaptureQueriesContext(connection) as asked:
            assert keeper.get(address).status_code == 200
        return len(asked)

    LevelProposal.objects.create(item=room.roller, made_on=TODAY, in_force=1, proposed=9)
    addresses = ["/levels/", "/levels/proposals/", "/levels/idle/", "/levels/items/RLR-120-BLU/"]
    before = {address: questions(address) for address in addresses}
    for number in range(30):
        item = Item.objects.create(code=f"X{number}", name="x", kind="bought")
        post(room, item, 5, "SUPPLIER", "A1", TODAY - timedelta(days=300), "receipt")
        LevelProposal.objects.create(item=item, made_on=TODAY, in_force=1, proposed=number)
    verbs.work_out_levels(today=TODAY)

    assert {address: questions(address) for address in addresses} == before
    assert max(before.values()) <= 20
