"""Delivery runs: planned by place and day, changed by hand, sent off whole, received."""

from datetime import date

import pytest
from django.contrib.auth.models import Permission
from django.urls import reverse

from bom.kernel.errors import ProblemError
from inventory.stock import reserving
from production.dispatch import delivering, inspecting, plating
from production.dispatch.distances import name_works, write_distances
from production.dispatch.models import DeliveryPlace, DeliveryRun, Lorry, PlaceDistance, Seal
from production.dispatch.round_sheets import legs_of
from production.orders.models import Customer, Order
from tests.production.dispatch.conftest import all_good
from tests.production.floor import assembled

pytestmark = pytest.mark.django_db
DAY = date(2026, 5, 12)


@pytest.fixture
def lorry(shop) -> Lorry:
    """The works at Fen; Harbour 10 km off, Ness 10 km beyond it, Quay 30 km the other way."""
    write_distances(text="Fen; Harbour; 10\nHarbour\tNess\t10 km\nFen; Quay; 30\n")
    name_works(name="fen")
    return Lorry.objects.create(name="flat bed", trailers=3)


def at_the_gate(shop, place: str = "Harbour", is_signed: bool = True) -> Order:
    order = assembled(shop)
    order.refresh_from_db()
    reserving.release_all(purpose=order.purpose)  # a bay does this when it finishes
    order.customer = Customer.objects.get_or_create(
        code=place, defaults={"name": f"{place} yard", "place": place}
    )[0]
    order.save(update_fields=["customer"])
    if is_signed:
        inspecting.record(order=order, findings=all_good(order), by=shop.user)
        inspecting.sign(order=order, by=shop.user)
        plating.give_plate(order=order, by=shop.user)
    order.refresh_from_db()
    return order


def planned(shop, orders, lorries) -> list[DeliveryRun]:
    return delivering.plan_day(day=DAY, orders=orders, lorries=lorries, by=shop.user)


def test_a_day_is_planned_by_place_along_the_shortest_round(shop, lorry):
    orders = [at_the_gate(shop, place) for place in ("Quay", "Ness", "Harbour")]
    [run] = planned(shop, orders, [lorry])

    sheet = legs_of(run)
    assert {leg.place for leg in sheet.legs} == {"Quay", "Ness", "Harbour"}
    assert sheet.km == 100
    assert run.is_shortest
    assert run.number == "DR-0001"


def test_what_stops_a_plan_is_said_all_at_once_and_nothing_is_written(shop, lorry):
    far, nowhere = at_the_gate(shop, "Skerry"), at_the_gate(shop, "")
    island = DeliveryPlace.objects.create(name="Skerry")
    with pytest.raises(ProblemError) as refusal:
        planned(shop, [far, nowhere], [lorry])
    told = str(refusal.value)
    assert "has no place" in told
    assert "No way is known from Fen to Skerry" in told
    assert DeliveryRun.objects.count() == 0
    assert island.is_works is False
    with pytest.raises(ProblemError, match="4 trailers, but room for 3"):
        planned(shop, [at_the_gate(shop, is_signed=False) for _ in range(4)], [lorry])
    with pytest.raises(ProblemError, match="No trailer was chosen"):
        planned(shop, [], [lorry])


def test_planning_a_day_again_gives_way_and_another_day_does_not_take_what_is_planned(shop, lorry):
    first, second = at_the_gate(shop), at_the_gate(shop, "Quay")
    [old] = planned(shop, [first], [lorry])
    [new] = planned(shop, [first, second], [lorry])
    old.refresh_from_db()
    assert (old.state, new.deliveries.count()) == ("cancelled", 2)
    with pytest.raises(ProblemError, match=f"on run {new.number} already"):
        delivering.plan_day(day=date(2026, 5, 13), orders=[first], lorries=[lorry], by=shop.user)


def test_a_stop_is_moved_by_hand_taken_off_and_the_last_one_gives_the_run_up(shop, lorry):
    orders = [at_the_gate(shop, place) for place in ("Harbour", "Ness")]
    [run] = planned(shop, orders, [lorry])
    first, second = run.deliveries.order_by("sequence")
    delivering.move(delivery=second, to=1)
    run.refresh_from_db()
    assert [row.pk for row in run.deliveries.order_by("sequence")] == [second.pk, first.pk]
    assert not run.is_shortest
    with pytest.raises(ProblemError, match="no place 3"):
        delivering.move(delivery=second, to=3)
    delivering.leave_out(delivery=second)
    delivering.leave_out(delivery=first)
    run.refresh_from_db()
    assert run.state == "cancelled"
    assert set(delivering.may_go(DAY)) == set(orders)


def test_the_lorry_leaves_whole_or_not_at_all(shop, lorry):
    fit, unfit = at_the_gate(shop), at_the_gate(shop, "Ness", is_signed=False)
    [run] = planned(shop, [fit, unfit], [lorry])
    with pytest.raises(ProblemError, match=unfit.number):
        delivering.lorry_leaves(run=run, by=shop.user)
    fit.refresh_from_db()
    assert fit.state == Order.State.DONE
    row = run.deliveries.get(order=unfit)
    with pytest.raises(ProblemError, match="has not left"):
        delivering.receive(delivery=row, name="N. Ness")
    delivering.leave_out(delivery=row)

    for _ in range(2):
        assert delivering.lorry_leaves(run=run, by=shop.user).state == "gone"
    fit.refresh_from_db()
    assert fit.state == Order.State.GONE
    assert Seal.objects.filter(order=fit).count() == 1
    row = run.deliveries.get(order=fit)
    delivering.receive(delivery=row, name=" H. Arbour ")
    assert delivering.receive(delivery=row, name="somebody else").received_by == "H. Arbour"
    with pytest.raises(ProblemError, match="is gone"):
        delivering.give_up(run=run)


def test_a_lorry_that_is_out_goes_no_second_time_that_day(shop, lorry):
    first, second = at_the_gate(shop), at_the_gate(shop)
    [run] = planned(shop, [first], [lorry])
    delivering.lorry_leaves(run=run, by=shop.user)
    with pytest.raises(ProblemError, match="room for 0"):
        planned(shop, [second], [lorry])


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("Fen; Harbour", "not place; place; km"),
        ("Fen; Harbour; far", "not a number of km"),
        ("Fen; Harbour; -3", "above 0"),
        ("Fen; fen; 3", "twice"),
        ("Fen; Harbour; 99999", "at most 5000"),
        (f"Fen; {'x' * 81}; 3", "80 letters"),
    ],
)
def test_a_line_of_distances_that_cannot_be_is_named_by_its_number_and_none_is_written(db, line, says):
    with pytest.raises(ProblemError) as refusal:
        write_distances(text=f"Fen; Quay; 30\n{line}")
    assert says in str(refusal.value)
    assert "line 2" in str(refusal.value)
    assert PlaceDistance.objects.count() == 0


def test_a_pair_written_again_the_other_way_gets_the_new_figure(db):
    write_distances(text="Fen; Quay; 30")
    write_distances(text="quay; FEN; 31,5")
    assert [str(row.km) for row in PlaceDistance.objects.all()] == ["31.5"]


def test_the_pages_plan_change_send_and_receive(screen, shop, lorry, django_assert_max_num_queries):
    order = at_the_gate(shop)
    page = reverse("dispatch:deliveries")
    asked = {"day": DAY.isoformat(), "order": [order.number], "lorry": [lorry.pk]}
    assert screen.post(page, asked).status_code == 403
    shop.user.user_permissions.add(Permission.objects.get(codename="plan_delivery"))
    assert screen.post(page, {**asked, "order": []}).status_code == 409
    screen.post(page, asked)
    run = DeliveryRun.objects.get()
    with django_assert_max_num_queries(20):
        assert "20 km" in screen.get(page, {"day": DAY.isoformat()}).content.decode()
    address = [run.number]
    change = reverse("dispatch:change_delivery", args=[run.number, order.number])
    assert screen.post(change, {"what": "received", "name": "x"}).status_code == 409
    screen.post(reverse("dispatch:lorry_leaves", args=address))
    screen.post(change, {"what": "received", "name": "H. Arbour"})
    with django_assert_max_num_queries(20):
        shown = screen.get(reverse("dispatch:run", args=address)).content.decode()
    assert "received by H. Arbour" in shown
    places = reverse("dispatch:distances")
    assert "line 1" in screen.post(places, {"what": "distances", "text": "nonsense"}).content.decode()
    screen.post(places, {"what": "lorry", "name": "drawbar", "trailers": "4", "is_active": "on"})
    screen.post(places, {"what": "lorry", "name": "drawbar", "trailers": "2", "is_active": "on"})
    assert "drawbar: 2 trailers" in screen.get(places).content.decode()
    assert screen.post(places, {"what": "lorry", "name": "huge", "trailers": "40"}).status_code == 409
