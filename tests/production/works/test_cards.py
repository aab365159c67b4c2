"""Job cards: made, split, joined, started, stopped, counted; rework loops back; nothing counts twice."""

from decimal import Decimal

import pytest
from django.utils import timezone

from bom.kernel.errors import ProblemError
from bom.people.models import User
from production.orders.models import Order
from production.works import card_making, cards
from production.works.cancelling import cancel_order
from production.works.card_making import join_cards, make_cards, split_card
from production.works.card_models import JobCard, WorkTime
from production.works.card_queries import against_the_bill, hours, standing
from production.works.tracking import begin_operation, finish_operation, undo_finish
from tests.production.floor import finish, floor_shop, operation, released
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    return floor_shop()


@pytest.fixture
def welder(shop) -> User:
    return User.objects.create_user("welder", password="-")


def with_cards(shop: SmallWorkshop) -> Order:
    order = released(shop)
    shop.stock("SEC", "12")
    shop.stock("PL", "8", "CUT")
    make_cards(works_orders=[order.works_order.pk])
    return order


def card_of(order: Order, process: str) -> JobCard:
    return JobCard.objects.filter(
        lines__operation__works_order__order=order, process__code=process, kind="usual"
    ).first()


def line_of(card: JobCard, code: str):
    return card.lines.get(item__code=code)


def test_every_operation_but_the_laser_gets_one_card_with_its_pieces_and_only_once(shop):
    order = with_cards(shop)
    assert make_cards(works_orders=[order.works_order.pk]) == 0

    held = {
        (card.process.code, line.item.code, line.pieces)
        for card in JobCard.objects.all()
        for line in card.lines.all()
    }
    assert {("saw", "BM", 2), ("weld", "CH", 1), ("galvanise", "CH", 1), ("inspect", "HT", 1)} <= held
    assert not JobCard.objects.filter(process__code="laser").exists()


def test_starting_twice_keeps_one_time_and_the_operation_is_begun(shop):
    order = with_cards(shop)
    card = card_of(order, "saw")

    cards.start(card=card, by=shop.user)
    cards.start(card=card, by=shop.user)

    assert WorkTime.objects.count() == 1
    assert operation(order, "saw").state == "begun"


def test_a_person_works_on_one_card_at_a_time_and_two_people_on_one_card(shop, welder):
    order = with_cards(shop)
    saw, weld = card_of(order, "saw"), card_of(order, "weld")

    cards.start(card=saw, by=shop.user)
    cards.start(card=saw, by=welder)
    cards.start(card=weld, by=shop.user)

    running = WorkTime.objects.filter(stopped_at__isnull=True)
    assert {(one.person_id, one.card_id) for one in running} == {(welder.pk, saw.pk), (shop.user.pk, weld.pk)}
    assert saw.times.get(person=shop.user).ended == "other"


def test_minutes_run_from_start_to_stop_and_are_added_up_by_person_and_station(shop):
    order = with_cards(shop)
    card, noon = card_of(order, "saw"), timezone.now() - timezone.timedelta(hours=3)

    cards.start(card=card, by=shop.user, at=noon)
    cards.stop(card=card, by=shop.user, at=noon + timezone.timedelta(minutes=25))
    cards.stop(card=card, by=shop.user)
    cards.start(card=card, by=shop.user, at=noon + timezone.timedelta(minutes=60))
    cards.finish(card=card, counts={}, by=shop.user, at=noon + timezone.timedelta(minutes=70))

    assert [one.minutes for one in card.times.order_by("pk")] == [25, 10]
    assert sum(row["total"] for row in hours()) == 35
    [saw] = against_the_bill(timezone.localdate() - timezone.timedelta(days=2))
    assert (saw["station"], saw["kept"], saw["planned"]) == ("Saw", 35, operation(order, "saw").minutes)


def test_finishing_the_only_card_finishes_the_operation_and_posts_once(shop):
    order = with_cards(shop)
    card = card_of(order, "saw")

    for _ in range(2):
        assert cards.finish(card=card, counts={}, by=shop.user) == []

    assert operation(order, "saw").state == "done"
    assert shop.on("BM", "CUT") == 2
    assert line_of(card, "BM").good == 2


def test_a_split_operation_is_done_with_its_last_card(shop):
    order = with_cards(shop)
    card = card_of(order, "saw")
    ahead = split_card(card=card, take={line_of(card, "BM").pk: Decimal(1)}, by=shop.user)

    cards.finish(card=ahead, counts={}, by=shop.user)
    assert (operation(order, "saw").state, shop.on("BM", "CUT")) == ("begun", 0) or operation(
        order, "saw"
    ).state == "waiting"
    cards.finish(card=card, counts={}, by=shop.user)

    assert operation(order, "saw").state == "done"
    assert shop.on("BM", "CUT") == 2


@pytest.mark.parametrize("pieces", ["0", "2", "3", "0.5"])
def test_a_split_leaves_and_takes_whole_pieces(shop, pieces):
    card = card_of(with_cards(shop), "saw")
    with pytest.raises(ProblemError):
        split_card(card=card, take={line_of(card, "BM").pk: Decimal(pieces)}, by=shop.user)


def test_joined_cards_finish_the_operations_of_both_orders(shop):
    first, second = with_cards(shop), with_cards(shop)
    kept, other = card_of(first, "saw"), card_of(second, "saw")

    join_cards(card=kept, other=other, by=shop.user)
    join_cards(card=kept, other=other, by=shop.user)
    cards.finish(card=kept, counts={}, by=shop.user)

    assert [operation(order, "saw").state for order in (first, second)] == ["done", "done"]
    other.refresh_from_db()
    assert other.state == "joined"
    with pytest.raises(ProblemError, match=kept.number):
        cards.start(card=other, by=shop.user)


def test_split_and_joined_again_a_card_is_what_it_was(shop):
    card = card_of(with_cards(shop), "saw")
    ahead = split_card(card=card, take={line_of(card, "BM").pk: Decimal(1)}, by=shop.user)

    join_cards(card=card, other=ahead, by=shop.user)

    assert line_of(card, "BM").pieces == 2


def test_cards_of_two_stations_are_not_joined(shop):
    order = with_cards(shop)
    with pytest.raises(ProblemError, match="Weld"):
        join_cards(card=card_of(order, "saw"), other=card_of(order, "weld"), by=shop.user)


def test_pieces_to_mend_come_back_on_a_rework_card_that_holds_the_operation_open(shop):
    order = with_cards(shop)
    card = card_of(order, "saw")
    counts = {line_of(card, "BM").pk: cards.Count(to_mend=Decimal(1))}

    [rework] = cards.finish(card=card, counts=counts, by=shop.user, reason="mitre the wrong way")
    assert operation(order, "saw").state != "done"
    with pytest.raises(ProblemError, match=rework.number):
        finish_operation(operation=operation(order, "saw"), by=shop.user)
    cards.finish(card=rework, counts={}, by=shop.user)

    assert operation(order, "saw").state == "done"
    assert (rework.follows_id, rework.reason) == (card.pk, "mitre the wrong way")


def test_spoilt_pieces_scrap_what_they_used_and_are_made_again(shop):
    order = with_cards(shop)
    card = card_of(order, "saw")
    counts = {line_of(card, "BM").pk: cards.Count(spoilt=Decimal(1))}

    [again] = cards.finish(card=card, counts=counts, by=shop.user, reason="cut too short")
    assert shop.on("SEC", "SCRAP") == Decimal("1.5")
    cards.finish(card=again, counts={}, by=shop.user)

    assert (shop.on("BM", "CUT"), shop.on("SEC", "A1")) == (2, Decimal("7.5"))


def test_bad_pieces_need_a_reason_and_stay_within_the_card(shop):
    card = card_of(with_cards(shop), "saw")
    line = line_of(card, "BM").pk
    with pytest.raises(ProblemError, match="reason"):
        cards.finish(card=card, counts={line: cards.Count(spoilt=Decimal(1))}, by=shop.user)
    with pytest.raises(ProblemError, match="more than"):
        cards.finish(card=card, counts={line: cards.Count(spoilt=Decimal(3))}, by=shop.user, reason="x")


def test_parts_sent_back_hold_the_later_station_until_they_are_right(shop):
    order = with_cards(shop)
    finish(shop, order, "laser", "saw", "weld")
    card = card_of(order, "galvanise")

    back = cards.send_back(
        card=card, process="weld", take={line_of(card, "CH").pk: Decimal(1)}, reason="spatter", by=shop.user
    )
    with pytest.raises(ProblemError, match=back.number):
        finish_operation(operation=operation(order, "galvanise"), by=shop.user)
    cards.finish(card=back, counts={}, by=shop.user)
    finish_operation(operation=operation(order, "galvanise"), by=shop.user)

    assert operation(order, "galvanise").state == "done"
    card.refresh_from_db()
    assert card.state == "done"


def test_parts_cannot_be_sent_back_to_a_later_station(shop):
    card = card_of(with_cards(shop), "saw")
    with pytest.raises(ProblemError, match="another station"):
        cards.send_back(
            card=card, process="weld", take={line_of(card, "BM").pk: Decimal(1)}, reason="x", by=shop.user
        )


def test_done_taken_back_opens_the_card_again(shop):
    order = with_cards(shop)
    card = card_of(order, "saw")
    cards.finish(card=card, counts={}, by=shop.user)
    finish_operation(operation=operation(order, "saw"), by=shop.user)

    undo_finish(operation=operation(order, "saw"), by=shop.user)

    card.refresh_from_db()
    assert card.state == "begun"


def test_a_cancelled_order_stops_the_time_on_its_cards(shop):
    order = with_cards(shop)
    cards.start(card=card_of(order, "saw"), by=shop.user)

    cancel_order(order=order, by=shop.user, reason="not wanted")

    assert not WorkTime.objects.filter(stopped_at__isnull=True).exists()
    assert not JobCard.objects.exclude(state="cancelled").exists()


def test_inspection_is_not_passed_by_its_card(shop):
    card = card_of(with_cards(shop), "inspect")
    with pytest.raises(ProblemError, match="every check"):
        cards.finish(card=card, counts={}, by=shop.user)


def test_what_stands_where_says_since_when(shop):
    order = with_cards(shop)
    finish(shop, order, "laser", "saw")

    [row] = standing()

    assert (row.done_last, row.comes_next, row.begun_at_station) == ("Saw", "Weld", None)
    assert row.since == operation(order, "saw").finished_at


def test_numbers_of_cards_follow_one_another(shop):
    first = card_making.take_card_numbers(2)
    assert card_making.take_card_numbers(1)[0] > first[1] > first[0]


def test_coating_and_assembly_are_not_begun_by_a_card_alone(shop):
    order = with_cards(shop)
    finish(shop, order, "laser", "saw", "weld")
    card = card_of(order, "galvanise")
    with pytest.raises(ProblemError, match="when its load leaves"):
        cards.start(card=card, by=shop.user)
    assert operation(order, "galvanise").state == "waiting"

    begin_operation(operation=operation(order, "galvanise"), by=shop.user)
    cards.start(card=card, by=shop.user)

    assert card.times.count() == 1
