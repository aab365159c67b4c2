"""Changing a confirmed order on its pages: form, what it would do, acceptance, history."""

import re
import threading

import pytest
from django.contrib.auth.models import Group
from django.db import connection
from django.urls import reverse

from bom.kernel.errors import ProblemError
from production.assembly.kits import pick_all_available
from production.cutting.models import CutPlacement
from production.orders.models import Order
from production.site.orders.changing import accept, look_at
from production.site.roles import OFFICE
from production.works.tracking import begin_operation
from tests.production.floor import cut_batch, floor_shop, kit_of, operation, released


def posted(page: str) -> dict[str, str]:
    """The hidden fields of the page on which a change is accepted."""
    fields = {}
    for tag in re.findall(r"<input[^>]*type=\"hidden\"[^>]*>", page):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        fields[name.group(1)] = value.group(1) if value else ""
    return fields


def form(order: Order, **changes: str) -> dict[str, str]:
    return {
        "customer": order.customer.code,
        "model": order.model.code,
        "asked_for": order.asked_for.isoformat(),
        "finish": "galvanised",
        "option_winch": "manual",
        "colour_port": "red",
        "colour_starboard": "green",
        "hull_name": "Open boat",
        "hull_mass_kg": "300",
        "hull_length_mm": "4800",
        "hull_beam_mm": "1900",
        "hull_bow_to_transom_mm": "4500",
        "weight": "1",
        **changes,
    }


def looked(client, order, **changes) -> str:
    answer = client.post(reverse("orders:change", args=[order.number]), form(order, **changes))
    return answer.content.decode()


def test_the_difference_is_shown_with_price_and_parts_and_nothing_is_changed(shop, office):
    order = released(shop)

    page = looked(office, order, option_winch="electric")

    assert "Nothing is changed yet" in page
    assert ">BOX<" in page
    assert "350" in page
    order.refresh_from_db()
    assert order.versions.count() == 0


def test_accepting_twice_changes_once_and_the_history_says_who_and_why(shop, office):
    order = released(shop)
    fields = {**posted(looked(office, order, option_winch="electric")), "reason": "flat battery on the lake"}
    address = reverse("orders:accept_change", args=[order.number])

    first, second = office.post(address, fields), office.post(address, fields)

    assert first.status_code == second.status_code == 302
    assert order.versions.count() == 1
    order.refresh_from_db()
    assert order.bill.totals.filter(item__code="BOX").exists()
    seen = office.get(reverse("orders:order", args=[order.number])).content.decode()
    assert "flat battery on the lake" in seen
    before = office.get(reverse("orders:versions", args=[order.number])).content.decode()
    assert "hand winch" in before


def test_two_people_who_looked_at_the_same_order_do_not_overwrite_each_other(shop, office):
    order = released(shop)
    mine = {**posted(looked(office, order, option_winch="electric")), "reason": "mine"}
    theirs = {**posted(looked(office, order, colour_port="green")), "reason": "theirs"}
    address = reverse("orders:accept_change", args=[order.number])

    assert office.post(address, theirs).status_code == 302
    late = office.post(address, mine)

    assert late.status_code == 409
    assert "since you looked" in late.content.decode()
    assert order.versions.get().reason == "theirs"


def test_without_a_reason_it_is_refused_and_shown_again(shop, office):
    order = released(shop)
    fields = posted(looked(office, order, option_winch="electric"))

    answer = office.post(reverse("orders:accept_change", args=[order.number]), {**fields, "reason": " "})

    assert answer.status_code == 409
    assert "No reason is given" in answer.content.decode()


def test_begun_work_that_stands_against_it_is_named_in_the_form(shop, office):
    order = released(shop)
    begin_operation(operation=operation(order, "assemble"), by=shop.user)

    page = looked(office, order, option_winch="electric")

    assert "HT is begun or made already" in page
    assert "Show what this would do" in page


def test_who_may_not_confirm_may_not_change(shop, viewer):
    order = released(shop)
    assert viewer.get(reverse("orders:change", args=[order.number])).status_code == 403


def test_picked_parts_go_back_and_the_kit_follows_the_new_bill(db):
    shop = floor_shop()
    for code in ("RO-RED", "RO-GREEN"):
        shop.stock(code, "4")
    order = released(shop)
    kit = kit_of(order)
    pick_all_available(kit=kit, by=shop.user)
    wish = shop.wish(colours={"port": "red", "starboard": "red"}, customer=order.customer)
    look = look_at(order=order, wish=wish)
    assert {one.item.code: one.done for one in look.surplus} == {"RO-GREEN": "2 picked into the kit"}

    accept(order=order, wish=wish, by=shop.user, reason="r", key="k", seen=look.proposal.seen)

    assert shop.on("RO-GREEN", "A1") == 4
    lines = dict(kit.lines.values_list("item__code", "wanted"))
    assert lines == {"RO-RED": 4}
    assert kit.lines.get().picked == 2


def test_parts_still_to_be_cut_and_no_longer_wanted_lose_the_order_s_name(db):
    shop = floor_shop()
    order = released(shop)
    batch = cut_batch(shop, [order], sheets=2)
    wish = shop.wish(choices={"winch": "electric"}, customer=order.customer)
    seen = look_at(order=order, wish=wish).proposal.seen

    accept(order=order, wish=wish, by=shop.user, reason="r", key="k", seen=seen)

    # Eight lay on sheets, four are wanted.
    assert CutPlacement.objects.filter(sheet__batch=batch, order=order).count() == 4
    assert CutPlacement.objects.filter(sheet__batch=batch, order=None).count() == 4


@pytest.mark.skipif(connection.vendor != "postgresql", reason="two connections at once need PostgreSQL")
@pytest.mark.django_db(transaction=True)
def test_of_two_changes_at_the_same_moment_one_is_made_and_the_other_told():
    shop = floor_shop()
    Group.objects.get_or_create(name=OFFICE)
    order = released(shop)
    wishes = [
        shop.wish(choices={"winch": "electric"}),
        shop.wish(colours={"port": "green", "starboard": "red"}),
    ]
    seen = [look_at(order=order, wish=wish).proposal.seen for wish in wishes]
    said: list[str] = []
    start = threading.Barrier(2)

    def run(at: int) -> None:
        start.wait()
        try:
            accept(order=order, wish=wishes[at], by=shop.user, reason="r", key=f"k{at}", seen=seen[at])
            said.append("made")
        except ProblemError as refusal:
            said.append(refusal.problems[0].what)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(at,)) for at in (0, 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sorted(said)[1] == "made"
    assert "since you looked" in sorted(said)[0]
    assert order.versions.count() == 1
