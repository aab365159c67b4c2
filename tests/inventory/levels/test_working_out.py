"""Levels, classes and one-offs from a year of the ledger."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from bom.items.models import Item
from inventory.levels import queries, verbs
from inventory.levels.models import DemandOneOff, ItemClass, ItemLevel, LevelProposal, LevelRules
from inventory.stock import ledger
from tests.inventory.levels.yearly import THIS_MONDAY, TODAY, post, use


def level_of(item, **kwargs) -> ItemLevel:
    verbs.work_out_levels(today=TODAY, **kwargs)
    return ItemLevel.objects.get(item=item)


def test_a_week_out_of_all_proportion_is_listed_and_not_counted(room):
    use(room, room.roller, [20] * 30)
    before = level_of(room.roller)
    post(room, room.roller, 400, "A1", "KIT", THIS_MONDAY - timedelta(weeks=4, days=-1), "issue")
    after = level_of(room.roller)
    one = DemandOneOff.objects.get()

    assert (one.week, one.quantity, one.instead) == (THIS_MONDAY - timedelta(weeks=4), 420, 20)
    assert "usual is 20" in one.reason
    assert after.reorder_point == before.reorder_point


def test_a_week_put_back_by_a_person_counts_and_stays_put_back(room):
    use(room, room.roller, [20] * 29 + [420])
    calm = level_of(room.roller)
    verbs.put_back(one_off=DemandOneOff.objects.get(), counts=True, by=room.keeper)
    wild = level_of(room.roller)

    assert wild.daily_mean > calm.daily_mean
    assert wild.reorder_point > calm.reorder_point
    kept = DemandOneOff.objects.get()
    assert (kept.is_put_back, kept.decided_by) == (True, room.keeper)

    verbs.put_back(one_off=kept, counts=False, by=room.keeper)
    assert level_of(room.roller).reorder_point == calm.reorder_point


def test_a_reversed_week_is_no_one_off(room):
    postings = use(room, room.roller, [20] * 29 + [420])
    ledger.reverse(posting=postings[-1], by=room.keeper, reason="wrong shelf")
    level_of(room.roller)

    assert not DemandOneOff.objects.exists()


def test_weeks_with_an_empty_shelf_say_nothing_of_what_was_wanted(room):
    use(room, room.roller, [10] * 20 + [0] * 6, stock=200)
    level = level_of(room.roller)

    assert set(DemandOneOff.objects.values_list("reason", flat=True)) == {"the shelf was empty all week"}
    assert DemandOneOff.objects.count() == 6
    assert level.daily_mean == pytest.approx(Decimal(2), abs=Decimal("0.15"))


def test_weeks_without_use_count_where_there_was_stock(room):
    use(room, room.roller, [10] * 20 + [0] * 6)
    level_of(room.roller)

    assert not DemandOneOff.objects.exists()


def test_an_item_long_gone_from_the_shelf_is_taken_as_no_longer_used(room):
    use(room, room.roller, [10] * 20 + [0] * 20, stock=200)
    level_of(room.roller)

    assert not DemandOneOff.objects.exists()


def test_few_pieces_are_counted(room):
    use(room, room.roller, [0, 0, 1, 0, 0, 0, 2, 0, 0, 1] * 3)
    level = level_of(room.roller)
    working = queries.working(level)

    assert level.is_counted
    assert working.counted.chance >= 0.95
    assert level.reorder_point == working.counted.point + 1


def test_an_item_by_the_metre_is_measured(room):
    Item.objects.filter(pk=room.roller.pk).update(unit="m")
    use(room, room.roller, [0, 0, 1, 0, 0, 0, 2, 0, 0, 1] * 3)

    assert not level_of(room.roller).is_counted


def test_which_weekday_things_are_fetched_on_makes_no_difference(room):
    use(room, room.roller, [20] * 30)
    level = level_of(room.roller)

    assert level.weeks_seen == 30
    assert level.daily_deviation == 0


def test_classes_are_stored_with_their_day_and_figures(room):
    use(room, room.roller, [20] * 30)
    Item.objects.filter(pk=room.roller.pk).update(standard_cost=Decimal("2.50"))
    level_of(room.roller)
    found = ItemClass.objects.get(item=room.roller)

    assert (found.value_class, found.rank, found.regularity) == ("A", 1, "smooth")
    assert (found.computed_on, found.weeks_seen) == (TODAY, 30)
    assert found.yearly_value == (found.yearly_use * Decimal("2.5")).quantize(Decimal("0.01"))
    assert ItemClass.objects.get(item=room.axle).value_class == "C"
    assert ItemClass.objects.get(item=room.axle).regularity == "unused"


def test_holidays_are_no_working_days(room, settings):
    use(room, room.roller, [20] * 30)
    usual = level_of(room.roller).daily_mean
    settings.WORKING_DATES = "tests.inventory.levels.test_working_out.only_mondays"

    assert level_of(room.roller).daily_mean > usual * 4


def only_mondays(first: date, last: date):
    days = (date.fromordinal(day) for day in range(first.toordinal(), last.toordinal() + 1))
    return [day for day in days if day.weekday() == 0]


@pytest.fixture
def proposal(room) -> LevelProposal:
    """The roller's level was worked out when 5 a week were used; since then 20 a week were."""
    use(room, room.roller, [5] * 26 + [20] * 25)
    verbs.work_out_levels(today=TODAY - timedelta(weeks=25))
    verbs.work_out_levels(today=TODAY, propose=True)
    return LevelProposal.objects.get(item=room.roller)


def test_a_level_that_changed_much_waits_for_a_person(room, proposal):
    level = ItemLevel.objects.get(item=room.roller)

    assert proposal.state == "waiting"
    assert level.reorder_point == proposal.in_force < proposal.proposed
    assert queries.working(level).point_rounded == proposal.proposed


def test_an_accepted_level_is_in_force_and_can_be_undone(room, proposal):
    assert verbs.accept_proposals(proposals=[proposal.pk], by=room.keeper) == 1
    assert ItemLevel.objects.get(item=room.roller).reorder_point == proposal.proposed
    assert verbs.accept_proposals(proposals=[proposal.pk], by=room.keeper) == 0

    proposal.refresh_from_db()
    verbs.undo_proposal(proposal=proposal, by=room.keeper)
    proposal.refresh_from_db()
    assert proposal.state == "waiting"
    assert ItemLevel.objects.get(item=room.roller).reorder_point == proposal.in_force


def test_a_hand_set_level_is_one_again_after_undoing(room, proposal):
    verbs.set_level(item=room.roller, reorder_point=Decimal(7))
    verbs.accept_proposals(proposals=[proposal.pk], by=room.keeper)
    verbs.undo_proposal(proposal=proposal, by=room.keeper)
    level = ItemLevel.objects.get(item=room.roller)

    assert (level.reorder_point, level.is_manual) == (7, True)


def test_what_was_kept_is_not_proposed_again(room, proposal):
    verbs.keep_proposals(proposals=[proposal.pk], by=room.keeper)
    verbs.work_out_levels(today=TODAY, propose=True)

    assert not LevelProposal.objects.filter(state="waiting", item=room.roller).exists()
    assert ItemLevel.objects.get(item=room.roller).reorder_point == proposal.in_force


def test_a_level_changed_since_is_not_undone(room, proposal):
    verbs.accept_proposals(proposals=[proposal.pk], by=room.keeper)
    verbs.set_level(item=room.roller, reorder_point=Decimal(99))

    with pytest.raises(verbs.ProblemError, match="changed since"):
        verbs.undo_proposal(proposal=proposal, by=room.keeper)


def test_nothing_decided_is_nothing_to_undo(room, proposal):
    with pytest.raises(verbs.ProblemError, match="Nothing was decided"):
        verbs.undo_proposal(proposal=proposal, by=room.keeper)


def test_a_later_working_out_overtakes_a_waiting_proposal(room, proposal):
    verbs.work_out_levels(today=TODAY + timedelta(weeks=4), propose=True)
    proposal.refresh_from_db()

    assert proposal.state == "overtaken"
    assert LevelProposal.objects.filter(item=room.roller, state="waiting").count() == 1


def test_small_changes_are_not_proposed(room, proposal):
    verbs.accept_proposals(proposals=[proposal.pk], by=room.keeper)
    post(room, room.roller, 1, "A1", "KIT", TODAY - timedelta(days=4), "issue")
    verbs.work_out_levels(today=TODAY, propose=True)

    assert not LevelProposal.objects.filter(item=room.roller, state="waiting").exists()


def test_rules_that_make_no_sense_are_refused(db):
    with pytest.raises(verbs.ValidationError, match="cuts rise"):
        verbs.change_rules(rules=LevelRules(a_share=Decimal("0.9"), b_share=Decimal("0.5")))

    verbs.change_rules(rules=LevelRules(order_cost=Decimal(30)))
    assert LevelRules.current().order_cost == 30
