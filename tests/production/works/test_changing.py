"""Changing a confirmed order: what has begun holds, the rest follows, and what it was is kept."""

from dataclasses import replace
from decimal import Decimal

import pytest
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bom.catalogue.configuring import configuration_of, load_range
from bom.kernel.errors import ProblemError
from bom.structure.models import BillLine, Revision
from inventory.stock import ledger
from production.orders.drafting import answers_in
from production.orders.freezing import expand_bill, load_book
from production.orders.models import Order
from production.orders.version_models import OrderVersion
from production.works.changing import change_order, propose_change
from production.works.models import WorksOperation
from production.works.still_needed import still_needed
from tests.production.floor import finish, operation, released, welded
from tests.production.small_workshop import SmallWorkshop, build

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    return build()


def wish(shop, order, **changes):
    return shop.wish(**{"customer": order.customer, "model": order.model, **changes})


def changed(shop, order, key="change:1", scrapped=(), **changes) -> OrderVersion:
    asked = wish(shop, order, **changes)
    seen = propose_change(order=order, wish=asked).seen
    return change_order(
        order=order, wish=asked, by=shop.user, reason="asked by phone", key=key, seen=seen, scrapped=scrapped
    )


def totals(order: Order) -> dict[str, Decimal]:
    order.refresh_from_db()
    return dict(order.bill.totals.values_list("item__code", "quantity"))


def kept(order: Order) -> dict[str, Decimal]:
    return dict(order.purpose.reservations.values_list("item__code", "quantity"))


def revised(shop, code: str, *lines: tuple[str, str]) -> None:
    """A later revision of an item's bill, in force from today."""
    last = Revision.objects.get(item=shop.items[code])
    revision = Revision.objects.create(
        item=shop.items[code], letter="X", state="released", effective_from=timezone.localdate()
    )
    for position, (component, quantity) in enumerate(lines, start=1):
        BillLine.objects.create(
            revision=revision,
            position=10 * position,
            component=shop.items[component],
            quantity=quantity,
        )
    for row in last.operations.all():
        row.pk, row.revision = None, revision
        row.save()


def test_a_new_choice_gives_a_new_bill_and_the_old_one_is_kept_with_who_and_why(shop):
    order = released(shop)
    old_bill, old_price = order.bill_id, order.price

    version = changed(shop, order, choices={"winch": "electric"})

    assert totals(order)["BOX"] == 1
    assert order.price == old_price + 350
    assert (version.bill_id, version.reason, version.by) == (old_bill, "asked by phone", shop.user)
    assert [row.choice.code for row in version.choices.all()] == ["manual"]
    assert order.ratings.first().reason == "order changed: asked by phone"


def test_a_second_click_changes_nothing_more(shop):
    order = released(shop)
    asked = wish(shop, order, choices={"winch": "electric"})
    seen = propose_change(order=order, wish=asked).seen
    said = {"order": order, "wish": asked, "by": shop.user, "reason": "phone", "key": "k", "seen": seen}

    assert change_order(**said) == change_order(**said)
    order.refresh_from_db()
    assert order.versions.count() == 1
    assert order.price == 1000 + 400


def test_what_another_person_did_meanwhile_must_be_looked_at_first(shop):
    order = released(shop)
    mine = wish(shop, order, choices={"winch": "electric"})
    seen = propose_change(order=order, wish=mine).seen
    changed(shop, order, colours={"port": "green", "starboard": "green"})

    with pytest.raises(ProblemError, match="since you looked"):
        change_order(order=order, wish=mine, by=shop.user, reason="phone", key="b", seen=seen)
    assert order.versions.count() == 1


def test_a_new_coat_is_a_new_operation_and_one_not_wanted_goes(shop):
    order = released(shop)

    duplex = {"finish": "duplex", "colours": {"port": "red", "starboard": "green", "powder": "blue"}}
    changed(shop, order, **duplex)
    assert operation(order, "powder").state == "waiting"

    order.refresh_from_db()
    changed(shop, order, key="2")
    assert not WorksOperation.objects.filter(works_order__order=order, process__code="powder").exists()


def test_a_galvanised_chassis_cannot_be_ordered_without_zinc_nor_powder_go_below_assembly(shop):
    order = released(shop)
    WorksOperation.objects.filter(works_order__order=order, process__code="assemble").update(state="begun")

    with pytest.raises(ProblemError, match="powder would come before work that has begun"):
        changed(
            shop,
            order,
            finish="duplex",
            colours={"port": "red", "starboard": "green", "powder": "blue"},
        )


def test_what_is_welded_keeps_its_revision_and_the_rest_follows_today(shop):
    order = welded(shop)
    revised(shop, "CH", ("BM", "3"), ("PL", "4"))

    asked = wish(shop, order, choices={"winch": "electric"})
    assert propose_change(order=order, wish=asked).old_revisions == (("CH", "B", "X"),)
    changed(shop, order, choices={"winch": "electric"})

    assert totals(order)["BM"] == 2
    assert totals(order)["BOX"] == 1


def test_nothing_begun_means_all_by_the_bills_of_today(shop):
    order = released(shop)
    revised(shop, "CH", ("BM", "3"), ("PL", "4"))

    changed(shop, order)

    assert totals(order)["BM"] == 3
    assert operation(order, "saw").minutes == 5 + 3 * 3


def test_a_choice_that_alters_what_is_welded_is_refused_with_the_part_named(shop):
    BillLine.objects.create(
        revision=Revision.objects.get(item=shop.items["CH"]),
        position=30,
        component=shop.items["PL"],
        quantity="1",
        condition="option.winch == 'electric'",
    )
    order = welded(shop)
    before = order.bill_id

    with pytest.raises(ProblemError, match=r"CH is begun or made already.*PL 4 to 5"):
        changed(shop, order, choices={"winch": "electric"})
    order.refresh_from_db()
    assert order.bill_id == before


def with_beams_by_winch(shop) -> None:
    """The trailer takes two loose beams with a hand winch only, three with an electric one."""
    top = Revision.objects.get(item=shop.items["HT"])
    for position, (winch, quantity) in enumerate((("manual", "2"), ("electric", "3")), start=60):
        BillLine.objects.create(
            revision=top,
            position=position,
            component=shop.items["BM"],
            quantity=quantity,
            condition=f"option.winch == '{winch}'",
        )


def test_surplus_sawn_parts_are_free_or_scrapped_as_chosen(shop):
    for scrapped, left in (((), 5), (("BM",), 4)):
        Revision.objects.filter(item=shop.items["HT"]).first().lines.filter(position__gte=60).delete()
        with_beams_by_winch(shop)
        shop.stock("SEC", "12")
        order = released(shop, choices={"winch": "electric"})
        finish(shop, order, "saw")
        lying = shop.on("BM", "CUT")

        changed(shop, order, key=f"c{len(scrapped)}", scrapped=scrapped)

        assert kept(order)["BM"] == 4
        assert shop.on("BM", "CUT") == lying - len(scrapped)
        assert shop.on("BM", "SCRAP") == len(scrapped)
        assert lying - len(scrapped) >= left
    assert ledger.audit() == []


def test_finished_sawing_with_more_to_saw_is_open_again_and_saws_only_what_is_added(shop):
    with_beams_by_winch(shop)
    shop.stock("SEC", "12")
    order = released(shop)
    finish(shop, order, "saw")

    changed(shop, order, choices={"winch": "electric"})

    saw = operation(order, "saw")
    assert (saw.state, saw.minutes) == ("waiting", Decimal(5 + 3))
    finish(shop, order, "saw")
    assert kept(order)["BM"] == 5
    assert shop.on("SEC", "A1") == 12 - Decimal("7.5")


def test_another_hull_is_a_new_row_and_the_version_keeps_the_old_one(shop):
    order = released(shop)
    old = order.hull_id

    version = changed(shop, order, hull=replace(shop.wish().hull, name="Longer boat", length_mm=5000))

    order.refresh_from_db()
    assert order.hull.name == "Longer boat"
    assert version.hull_id == old != order.hull_id
    assert version.hull.name == "Open boat"


@pytest.mark.parametrize("state", ["draft", "done", "gone", "cancelled"])
def test_only_an_open_order_is_changed(shop, state):
    order = released(shop)
    Order.objects.filter(pk=order.pk).update(state=state)
    order.refresh_from_db()

    with pytest.raises(ProblemError, match="cannot be changed"):
        propose_change(order=order, wish=wish(shop, order))


choices = st.fixed_dictionaries(
    {
        "winch": st.sampled_from(["manual", "electric"]),
        "port": st.sampled_from(["red", "green"]),
        "starboard": st.sampled_from(["red", "green"]),
        "finish": st.sampled_from(["galvanised", "duplex"]),
    }
)


def asked_for(drawn) -> dict[str, object]:
    colours = {"port": drawn["port"], "starboard": drawn["starboard"]}
    if drawn["finish"] == "duplex":
        colours["powder"] = "blue"
    return {"finish": drawn["finish"], "choices": {"winch": drawn["winch"]}, "colours": colours}


@given(before=choices, after=choices, done=st.sampled_from([(), ("saw",), ("laser", "saw", "weld")]))
@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_after_a_change_the_bill_is_the_expansion_of_what_is_asked_for_and_nothing_is_kept_in_vain(
    shop, before, after, done
):
    shop.stock("SEC", "6")
    shop.stock("PL", "4", "CUT")
    order = released(shop, **asked_for(before))
    finish(shop, order, *done)
    asked = wish(shop, order, **asked_for(after))

    changed(shop, order, key=f"change:{order.pk}", **asked_for(after))

    book = load_book(timezone.localdate())
    expansion = expand_bill(book.loaded, "HT", configuration_of(answers_in(asked), load_range()))
    assert totals(order) == dict(expansion.totals)
    edges = [(one.parent, one.component, one.quantity_per) for one in expansion.edges]
    assert still_needed("HT", edges, kept(order)).surplus(kept(order)) == {}
    wanted = {"weld", "assemble", "inspect", "galvanise", "laser", "saw"}
    wanted |= {"powder"} if after["finish"] == "duplex" else set()
    assert set(order.works_order.operations.values_list("process__code", flat=True)) == wanted
    assert ledger.audit() == []
