"""The ledger: balanced, never below a floor, never changed, and deaf to repeats."""

from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from inventory.stock import ledger
from inventory.stock.ledger import Draft, Line
from inventory.stock.models import Balance, Lot, Movement, Posting


def _refused(**kwargs) -> str:
    with pytest.raises(ProblemError) as refusal:
        ledger.post(**kwargs)
    return str(refusal.value)


def test_a_posting_moves_both_balances(room):
    room.bring(room.roller, 12)
    room.move(room.roller, 5, "A1", "KIT")

    assert (room.at(room.roller, "A1"), room.at(room.roller, "KIT")) == (7, 5)


def test_a_repeated_key_returns_the_first_posting_and_moves_nothing(room):
    first = room.move(room.roller, 3, "SUPPLIER", "A1", key="goods-in:1")
    again = room.move(room.roller, 3, "SUPPLIER", "A1", key="goods-in:1")

    assert again.pk == first.pk
    assert room.at(room.roller, "A1") == 3
    assert Movement.objects.count() == 2


def test_a_repeated_key_with_other_quantities_is_refused(room):
    room.move(room.roller, 3, "SUPPLIER", "A1", key="goods-in:1")
    said = _refused(
        key="goods-in:1", kind="receipt", lines=room.both(room.roller, 4, "SUPPLIER", "A1"), by=room.keeper
    )

    assert "already in the ledger with other quantities" in said
    assert room.at(room.roller, "A1") == 3


def test_movements_that_do_not_balance_are_refused_with_the_item_named(room):
    said = _refused(
        key="k",
        kind="move",
        lines=[room.line(room.roller, "SUPPLIER", -3), room.line(room.roller, "A1", 2)],
        by=room.keeper,
    )

    assert "RLR-120-BLU add up to -1, not to zero" in said
    assert not Posting.objects.exists()


def test_each_item_must_balance_by_itself(room):
    lines = [room.line(room.roller, "SUPPLIER", -1), room.line(room.axle, "A1", 1)]

    assert "AXL-750 add up to 1" in _refused(key="k", kind="move", lines=lines, by=room.keeper)


def test_a_shelf_never_gives_more_than_it_holds(room):
    room.bring(room.roller, 2)
    said = _refused(key="k", kind="issue", lines=room.both(room.roller, 3, "A1", "KIT"), by=room.keeper)

    assert "A1 holds 2 of RLR-120-BLU and 3 were asked for" in said
    assert room.at(room.roller, "A1") == 2


def test_a_posting_that_takes_twice_from_one_place_is_judged_by_the_sum(room):
    room.bring(room.roller, 3)
    lines = room.both(room.roller, 2, "A1", "KIT") + room.both(room.roller, 2, "A1", "CUT")

    assert "4 were asked for" in _refused(key="k", kind="issue", lines=lines, by=room.keeper)


def test_conversion_may_go_below_zero(room):
    room.move(room.roller, 4, "CONV", "CUT", kind="make")

    assert room.at(room.roller, "CONV") == -4


@pytest.mark.parametrize(
    ("quantity", "said"),
    [
        pytest.param("0", "is zero", id="zero"),
        pytest.param("0.00001", "is zero", id="nothing left after rounding"),
        pytest.param("NaN", "is not a quantity", id="no number"),
        pytest.param("1e11", "is not a quantity", id="too much to hold"),
    ],
)
def test_a_quantity_that_is_none_is_refused(room, quantity, said):
    lines = room.both(room.roller, quantity, "SUPPLIER", "A1")

    assert said in _refused(key="k", kind="receipt", lines=lines, by=room.keeper)


def test_unknown_items_places_and_lots_are_all_named_at_once(room):
    lines = [Line(99_999, room.places["A1"].pk, Decimal(1)), Line(room.roller.pk, 99_999, Decimal(1), 99_999)]
    said = _refused(key="k", kind="move", lines=lines, by=room.keeper)

    assert said.count("99999") == 3


def test_a_lot_of_another_item_is_refused(room):
    lot = Lot.objects.create(item=room.axle, code="S1", kind="serial")

    assert "is not a lot of RLR-120-BLU" in _refused(
        key="k", kind="receipt", lines=room.both(room.roller, 1, "SUPPLIER", "A1", lot), by=room.keeper
    )


@pytest.mark.parametrize(
    ("change", "said"),
    [
        pytest.param({"key": ""}, "needs a key", id="no key"),
        pytest.param({"key": "k" * 121}, "needs a key", id="key too long"),
        pytest.param({"kind": "gift"}, "'gift' is not a kind of posting", id="unknown kind"),
        pytest.param({"lines": []}, "at least two movements", id="no lines"),
        pytest.param({"happened_at": datetime(2026, 5, 12, 8)}, "no time zone", id="naive time"),
        pytest.param({"reason": "r" * 201}, "longer than 200", id="reason too long"),
    ],
)
def test_a_posting_without_sense_is_refused(room, change, said):
    payload = {
        "key": "k",
        "kind": "receipt",
        "lines": room.both(room.roller, 1, "SUPPLIER", "A1"),
        "by": room.keeper,
    }

    assert said in _refused(**(payload | change))


def test_a_serial_number_cannot_lie_on_a_shelf_twice(room):
    lot = Lot.objects.create(item=room.axle, code="S1", kind="serial")
    room.bring(room.axle, 1, lot=lot)
    said = _refused(
        key="k", kind="receipt", lines=room.both(room.axle, 1, "SUPPLIER", "A1", lot), by=room.keeper
    )

    assert "Serial number S1 of AXL-750 cannot lie at A1 2 times" in said


def test_two_lots_of_an_item_are_counted_apart(room):
    first, second = (Lot.objects.create(item=room.roller, code=code) for code in ("L1", "L2"))
    room.bring(room.roller, 2, lot=first)
    room.bring(room.roller, 3, lot=second)

    assert "A1 holds 2 of RLR-120-BLU, L1," in _refused(
        key="k", kind="issue", lines=room.both(room.roller, 3, "A1", "KIT", first), by=room.keeper
    )


def test_a_lot_may_begin_at_goods_in(room):
    lot = Lot.objects.create(item=room.roller, code="L1")
    lines = [room.line(room.roller, "SUPPLIER", -2), room.line(room.roller, "A1", 2, lot)]
    ledger.post(key="k", kind="receipt", lines=lines, by=room.keeper)

    assert room.at(room.roller, "A1", lot) == 2


def test_a_reversal_is_the_mirror_and_points_to_what_it_takes_back(room):
    room.bring(room.roller, 5)
    issue = room.move(room.roller, 3, "A1", "KIT")
    mirror = ledger.reverse(posting=issue, by=room.keeper, reason="wrong order")

    assert mirror.reverses == issue
    assert (room.at(room.roller, "A1"), room.at(room.roller, "KIT")) == (5, 0)


def test_a_posting_is_reversed_only_once(room):
    posting = room.bring(room.roller, 5)
    ledger.reverse(posting=posting, by=room.keeper, reason="sent back")
    with pytest.raises(ProblemError, match="already been reversed"):
        ledger.reverse(posting=posting, by=room.keeper, reason="sent back")

    assert room.at(room.roller, "A1") == 0


def test_a_reversal_cannot_be_reversed(room):
    mirror = ledger.reverse(posting=room.bring(room.roller, 5), by=room.keeper, reason="sent back")

    with pytest.raises(ProblemError, match="cannot be reversed"):
        ledger.reverse(posting=mirror, by=room.keeper, reason="no, kept")


def test_a_reversal_needs_a_reason(room):
    posting = room.bring(room.roller, 5)

    with pytest.raises(ProblemError, match="needs a reason"):
        ledger.reverse(posting=posting, by=room.keeper, reason="  ")


def test_goods_that_have_moved_on_cannot_be_taken_back(room):
    receipt = room.bring(room.roller, 5)
    room.move(room.roller, 5, "A1", "KIT")

    with pytest.raises(ProblemError, match="A1 holds 0 of RLR-120-BLU and 5 were asked for"):
        ledger.reverse(posting=receipt, by=room.keeper, reason="sent back")


def test_what_is_written_is_never_changed_or_removed(room):
    posting = room.bring(room.roller, 5)
    movement = posting.movements.first()
    for change in (posting.save, posting.delete, movement.save, movement.delete):
        with pytest.raises(ProblemError, match="never changed"):
            change()
    for rows in (Posting.objects.all(), Movement.objects.all()):
        with pytest.raises(ProblemError, match="never changed"):
            rows.delete()
    with pytest.raises(ProblemError, match="never changed"):
        Movement.objects.update(quantity=7)

    assert room.at(room.roller, "A1") == 5


def test_a_movement_of_nothing_is_refused_by_the_database(room):
    posting = room.bring(room.roller, 5)

    with pytest.raises(IntegrityError, match="movement_quantity_not_zero"):
        Movement.objects.create(posting=posting, item=room.roller, location=room.places["A1"], quantity=0)


def test_many_postings_are_written_together_or_not_at_all(room):
    good = Draft("k1", "receipt", room.both(room.roller, 5, "SUPPLIER", "A1"), room.keeper)
    bad = Draft("k2", "issue", room.both(room.roller, 6, "A1", "KIT"), room.keeper)
    with pytest.raises(ProblemError, match="posting k2: A1 holds 5"):
        ledger.post_many([good, bad])

    assert not Posting.objects.exists()


def test_many_postings_are_judged_in_their_order(room):
    bring = Draft("k1", "receipt", room.both(room.roller, 5, "SUPPLIER", "A1"), room.keeper)
    take = Draft("k2", "issue", room.both(room.roller, 5, "A1", "KIT"), room.keeper)
    with pytest.raises(ProblemError, match="A1 holds 0"):
        ledger.post_many([take, bring])

    assert [posting.key for posting in ledger.post_many([bring, take])] == ["k1", "k2"]


def test_many_postings_return_what_is_already_there(room):
    first = Draft("k1", "receipt", room.both(room.roller, 5, "SUPPLIER", "A1"), room.keeper)
    second = Draft("k2", "receipt", room.both(room.roller, 1, "SUPPLIER", "A1"), room.keeper)
    before = ledger.post_many([first])[0]
    found = ledger.post_many([first, second, second])

    assert [posting.pk for posting in found][:1] == [before.pk]
    assert found[1].pk == found[2].pk
    assert room.at(room.roller, "A1") == 6


def test_a_thousand_postings_take_no_more_questions_than_fifty(room, django_assert_max_num_queries):
    def drafts(name: str, count: int) -> list[Draft]:
        lines = room.both(room.roller, 1, "SUPPLIER", "A1")
        return [Draft(f"{name}:{number}", "receipt", lines, room.keeper) for number in range(count)]

    with django_assert_max_num_queries(12):
        ledger.post_many(drafts("few", 50))
    # Inserts go in rows by the hundred, because SQLite bounds the values of one statement.
    with django_assert_max_num_queries(40):
        ledger.post_many(drafts("many", 1000))

    assert room.at(room.roller, "A1") == 1050


def test_balances_can_be_rebuilt_from_the_movements(room):
    room.bring(room.roller, 5)
    room.move(room.roller, 2, "A1", "KIT")
    Balance.objects.filter(location=room.places["A1"]).update(quantity=99)
    Balance.objects.filter(location=room.places["KIT"]).delete()
    assert len(ledger.audit()) == 2

    assert ledger.rebuild_balances() == 2
    assert (room.at(room.roller, "A1"), room.at(room.roller, "KIT")) == (3, 2)
    assert ledger.audit() == []


def test_the_audit_names_a_posting_that_does_not_balance(room):
    posting = room.bring(room.roller, 5)
    Movement.objects.create(posting=posting, item=room.roller, location=room.places["A1"], quantity=1)
    said = "\n".join(str(problem) for problem in ledger.audit())

    assert f"posting {posting.key}: Its movements of RLR-120-BLU add up to 1" in said


def test_movements_happened_when_their_posting_did(room):
    yesterday = timezone.now() - timedelta(days=1)
    for key in ("the balances are made", "they are there"):
        ledger.post(
            key=key,
            kind="receipt",
            lines=room.both(room.roller, 5, "SUPPLIER", "A1"),
            by=None,
            happened_at=yesterday,
        )

    assert set(Movement.objects.values_list("happened_at", flat=True)) == {yesterday}
    assert ledger.audit() == []


def test_the_audit_names_a_movement_of_another_moment_than_its_posting(room):
    posting = room.bring(room.roller, 5)
    late = {"posting": posting, "item": room.roller, "happened_at": timezone.now() + timedelta(days=1)}
    Movement.objects.bulk_create(
        [
            Movement(**late, location=room.places[place], quantity=quantity)
            for place, quantity in (("A1", 1), ("SUPPLIER", -1))
        ]
    )
    said = "\n".join(str(problem) for problem in ledger.audit())

    assert f"posting {posting.key}: Its movements happened at another moment" in said


def test_the_audit_names_a_reversal_that_is_no_mirror(room):
    posting = room.bring(room.roller, 5)
    mirror = ledger.reverse(posting=posting, by=room.keeper, reason="sent back")
    for place, quantity in (("A1", 1), ("SUPPLIER", -1)):
        Movement.objects.create(
            posting=mirror, item=room.roller, location=room.places[place], quantity=quantity
        )
    said = "\n".join(str(problem) for problem in ledger.audit())

    assert f"posting {posting.key}: Its reversal is not its mirror" in said


def test_the_audit_names_places_below_their_floor_and_doubled_serials(room):
    lot = Lot.objects.create(item=room.axle, code="S1", kind="serial")
    room.bring(room.axle, 1, lot=lot)
    Balance.objects.filter(lot=lot, location=room.places["A1"]).update(quantity=2)
    Balance.objects.create(item=room.roller, location=room.places["A2"], quantity=-1)
    said = "\n".join(str(problem) for problem in ledger.audit())

    assert "A2 holds -1 of RLR-120-BLU, under its floor" in said
    assert "Serial number S1 of AXL-750 lies at A1 2 times" in said


def test_a_posting_costs_the_same_questions_for_three_and_thirty_items(room, django_assert_max_num_queries):
    items = [Item(code=f"X{number}", name="x", kind="bought") for number in range(30)]
    Item.objects.bulk_create(items)
    for count in (3, 30):
        lines = [line for item in items[:count] for line in room.both(item, 1, "SUPPLIER", "A1")]
        # The first time balances are made; after that they are there.
        for time, most in (("first", 18), ("again", 6)):
            with django_assert_max_num_queries(most):
                ledger.post(key=f"k{count}:{time}", kind="receipt", lines=lines, by=room.keeper)

    assert Movement.objects.count() == 132
