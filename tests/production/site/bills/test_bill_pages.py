"""Writing a bill at the desk: opened as a copy, checked while written, released from a day on."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bom.structure.models import BillLine, Revision
from production.site.bills.touching import touched_by
from production.site.roles import MANAGER
from production.works.confirming import confirm_order
from production.works.models import WorksOperation
from tests.production.site.conftest import signed_in
from tests.production.small_workshop import SmallWorkshop


@pytest.fixture
def manager(shop: SmallWorkshop) -> Client:
    return signed_in(MANAGER)


def rows(*lines: tuple[str, str, str]) -> dict[str, list[str]]:
    """A form with these lines: position, part, quantity."""
    columns = ("position", "part", "quantity")
    form = {name: [line[at] for line in lines] for at, name in enumerate(columns)}
    others = ("condition", "colour_of", "hand_of", "note", "centre_x_mm", "centre_y_mm", "centre_z_mm")
    return form | {name: [""] * len(lines) for name in (*others, "centre_basis")}


def opened(client: Client, code: str = "CH") -> Revision:
    assert client.post(reverse("bills:begin", args=[code])).status_code == 302
    return Revision.objects.get(item__code=code, state="draft")


def test_a_draft_is_opened_as_a_copy_and_a_second_click_shows_the_same(shop, manager):
    draft = opened(manager)

    assert draft.lines.count() == 2
    assert opened(manager) == draft


def test_lines_are_saved_as_written_and_empty_rows_left_out(shop, manager):
    draft = opened(manager)

    form = rows(("10", "BM", "3"), ("", "PL", "model.axles * 4"), ("", "", ""))
    manager.post(reverse("bills:draft", args=["CH"]), form)

    assert list(draft.lines.values_list("position", "component__code", "quantity")) == [
        (10, "BM", "3"),
        (20, "PL", "model.axles * 4"),
    ]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        pytest.param(("10", "NOWHERE", "1"), "There is no item and no family NOWHERE", id="unknown part"),
        pytest.param(("10", "BM", "model.axels"), "line 10, quantity, line 1, column 1", id="unknown name"),
        pytest.param(("10", "HT", "1"), "CH → HT → CH", id="circle"),
        pytest.param(("x", "BM", "1"), "is not a number", id="position"),
    ],
)
def test_what_would_be_refused_is_said_while_writing_and_nothing_is_saved(shop, manager, line, says):
    draft = opened(manager)
    before = list(draft.lines.values_list("component__code", "quantity"))

    looked = manager.post(reverse("bills:check", args=["CH"]), rows(line)).content.decode()
    saved = manager.post(reverse("bills:draft", args=["CH"]), rows(line))

    assert says in looked
    assert saved.status_code == 409
    assert list(draft.lines.values_list("component__code", "quantity")) == before


def test_a_released_draft_is_in_force_from_its_day(shop, manager):
    draft = opened(manager)
    day = timezone.localdate() + timedelta(days=7)

    manager.post(reverse("bills:release", args=["CH"]), {"effective_from": day.isoformat()})

    draft.refresh_from_db()
    assert (draft.state, draft.effective_from) == ("released", day)


def test_a_draft_that_begins_before_the_bill_in_force_is_not_released(shop, manager):
    opened(manager)

    answer = manager.post(reverse("bills:release", args=["CH"]), {"effective_from": date(2019, 1, 1)})

    assert answer.status_code == 409
    assert Revision.objects.filter(item__code="CH", state="draft").exists()


def test_the_office_looks_at_bills_but_does_not_write_them(shop, office):
    assert office.get(reverse("bills:bill", args=["CH"])).status_code == 200
    for name in ("begin", "draft", "release", "check"):
        assert office.post(reverse(f"bills:{name}", args=["CH"])).status_code == 403


def test_two_revisions_are_compared_line_by_line(shop, manager):
    opened(manager)
    manager.post(reverse("bills:draft", args=["CH"]), rows(("10", "BM", "3"), ("30", "RO-RED", "1")))

    page = manager.get(reverse("bills:difference", args=["CH"])).content.decode()

    assert page.count("added") == 1
    assert page.count("taken off") == 1
    assert page.count("<td>changed</td>") == 1


def test_where_a_part_is_used_goes_up_to_the_models_and_the_open_orders(shop, office):
    confirm_order(order=shop.draft(), by=shop.user)

    page = office.get(reverse("bills:uses", args=["PL"])).content.decode()

    assert "<b>4 pc</b> in 1 order" in page
    assert reverse("bills:bill", args=["HT"]) in page


def test_two_orders_are_compared_by_their_frozen_bills(shop, office):
    one = confirm_order(order=shop.draft(), by=shop.user)
    other = confirm_order(order=shop.draft(choices={"winch": "electric"}), by=shop.user)

    address = f"{reverse('bills:orders_difference')}?one={one.number}&other={other.number}"
    page = office.get(address).content.decode()

    assert "BOX" in page
    assert ">CH<" not in page


def test_a_centre_is_written_whole_or_not_at_all(shop, manager):
    opened(manager)
    form = rows(("10", "BM", "2")) | {"centre_x_mm": ["2500"]}

    looked = manager.post(reverse("bills:check", args=["CH"]), form).content.decode()

    assert "x, y, z and how it is known" in looked
    whole = form | {"centre_y_mm": ["-400"], "centre_z_mm": ["500"], "centre_basis": ["measured"]}
    manager.post(reverse("bills:draft", args=["CH"]), whole)
    line = BillLine.objects.get(revision__item__code="CH", revision__state="draft")
    assert (line.centre_x_mm, line.centre_y_mm, line.centre_basis) == (2500, -400, "measured")


def test_the_draft_says_which_orders_its_release_touches(shop, manager):
    waiting, begun, done = (confirm_order(order=shop.draft(), by=shop.user) for _ in range(3))
    WorksOperation.objects.filter(works_order__order=begun, process__code="weld").update(state="begun")
    WorksOperation.objects.filter(works_order__order=done, process__code__in=["weld", "galvanise"]).update(
        state="done"
    )
    shop.stock("CH", "2", "WELD")
    touched = touched_by(opened(manager))

    assert touched.not_begun == (waiting.number,)
    assert touched.begun == (begun.number,)
    assert touched.made == (done.number,)
    assert touched.on_hand == 2
    text = manager.get(reverse("bills:release", args=["CH"])).content.decode()
    assert "3 open orders hold an earlier bill of CH" in text
    assert reverse("bills:today", args=[waiting.number]) in text


def test_releasing_rewrites_no_bill_that_is_frozen(shop, manager):
    order = confirm_order(order=shop.draft(), by=shop.user)
    before = list(order.bill.lines.order_by("pk").values())
    opened(manager)
    manager.post(reverse("bills:draft", args=["CH"]), rows(("10", "BM", "5")))
    manager.post(reverse("bills:release", args=["CH"]), {"effective_from": timezone.localdate().isoformat()})

    assert Revision.objects.filter(item__code="CH", state="released").count() == 2
    assert list(order.bill.lines.order_by("pk").values()) == before
