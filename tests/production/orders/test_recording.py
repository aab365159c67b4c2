"""A confirmed order keeps its rating and set-up, and what put it there can be worked out again."""

from dataclasses import replace

import pytest

from bom.kernel.errors import ProblemError
from bom.people.models import User
from bom.ratings.models import ModelFrame
from bom.ratings.rulebook import adopt_shipped
from bom.ratings.set_up import set_up
from production.orders.models import Order
from production.orders.rating_models import RatingRecord, SetUpRecord, TowingVehicle
from production.orders.recording import (
    VehicleFigures,
    aim_of,
    frame_of,
    hull_of,
    rate_again,
    rate_orders,
    record_vehicle,
)
from production.works.confirming import confirm_order
from tests.production.small_workshop import build

CAR = VehicleFigures("car", max_mass_kg=1600, unladen_kg=1100, braked_kg=900, unbraked_kg=500, nose_kg=50)


@pytest.mark.django_db
def test_without_frames_and_rules_nothing_is_met_by_silence():
    shop = build()
    order = shop.draft()

    rated = rate_orders([order])[order.pk]

    assert rated.set_up is None
    assert rated.checks[0].says == "slots and winch post of model H1 are not on record"
    assert {check.outcome for check in rated.checks if check.code in ("dc", "tyre", "width")} == {
        "needs a person"
    }


@pytest.mark.django_db
def test_an_order_too_heavy_is_refused_by_name_unless_somebody_answers_for_it():
    shop = build()
    adopt_shipped(by=shop.user)
    order = shop.draft(hull=replace(shop.wish().hull, mass_kg=900))

    with pytest.raises(ProblemError, match=r"Maximum mass: \d+ kg of at most 750 kg"):
        confirm_order(order=order, by=shop.user)
    order.refresh_from_db()
    assert order.state == Order.State.DRAFT

    confirm_order(order=order, by=shop.user, note="A heavier axle is ordered.")
    record = order.ratings.get()
    assert (record.overall, record.note) == ("not met", "A heavier axle is ordered.")
    assert (record.rule_issue, record.market) == (1, "EU")


@pytest.mark.django_db
def test_a_stored_set_up_gives_its_working_again_to_the_same_figures(workshop):
    rows = SetUpRecord.objects.select_related("rating__order")
    assert rows.count() == Order.objects.filter(state__in=Order.OPEN).count()
    for row in rows:
        again = set_up(hull_of(row), frame_of(row), aim_of(row))

        assert float(row.nose_kg) == pytest.approx(again.nose_kg, abs=0.001)
        assert float(row.axle_mm) == again.axle_mm
        assert float(row.front_support_mm) == pytest.approx(again.front_support_mm)
        assert float(row.laden_kg) == pytest.approx(again.laden_kg, abs=0.001)


@pytest.mark.django_db
def test_every_confirmed_order_of_the_demonstration_is_rated_with_its_working(workshop):
    for record in RatingRecord.objects.prefetch_related("results").select_related("order__model"):
        results = {result.code: result for result in record.results.all()}
        assert {"mass", "axle", "tyre", "dc", "s", "nose_least", "category", "brakes", "width"} <= set(
            results
        )
        assert results["mass"].working.startswith("trailer ")
        assert not any(results[code].is_verified for code in ("nose_least", "category", "brakes", "width"))
        assert "legal" not in " ".join(result.says for result in results.values())


@pytest.mark.django_db
def test_a_towing_vehicle_makes_the_next_record_and_keeps_the_first(workshop):
    order = Order.objects.filter(state__in=Order.OPEN, vehicle__isnull=True).first()
    by = User.objects.first()

    record_vehicle(order=order, figures=CAR, by=by)

    first, second = order.ratings.order_by("number")
    assert (first.number, second.number, second.reason) == (1, 2, "towed by car")
    assert second.results.filter(code__in=["towed", "vehicle_nose"]).count() == 2
    assert not first.results.filter(code="towed").exists()
    record_vehicle(order=order, figures=None, by=by)
    assert not TowingVehicle.objects.filter(order=order).exists()
    assert order.ratings.count() == 3


@pytest.mark.django_db
def test_a_wanted_nose_load_is_set_up_for_and_stored(workshop):
    order = Order.objects.filter(state__in=Order.OPEN).first()
    usual = order.ratings.get().set_up

    record = rate_again(
        order=order, reason="the customer's car bears more", by=None, nose_kg=float(usual.nose_kg) + 8
    )

    assert float(record.set_up.wanted_kg) == pytest.approx(float(usual.nose_kg) + 8)
    assert record.set_up.axle_mm > usual.axle_mm
    with pytest.raises(ProblemError, match="reason"):
        rate_again(order=order, reason=" ", by=None)


@pytest.mark.django_db
def test_a_draft_keeps_no_rating(workshop):
    draft = Order.objects.filter(state="draft").first()

    with pytest.raises(ProblemError, match="only a confirmed order keeps its rating"):
        rate_again(order=draft, reason="why not", by=None)


@pytest.mark.django_db
def test_twin_axles_of_the_demonstration_are_sprung_apart_and_linked(workshop):
    springs = dict(ModelFrame.objects.values_list("model__code", "springs"))

    assert (springs["T2000"], springs["T2700"], springs["U400"]) == ("apart", "linked", "single")
