"""A revision from a trailer's number on: each order is frozen with the revision that its number asks for."""

from decimal import Decimal

import pytest
from django.utils import timezone

from bom.structure.models import BillLine, Operation, Revision
from production.orders.freezing import load_book
from production.orders.models import FrozenTotal, Order
from production.orders.numbers import next_number, trailer_number
from production.site.bills.today import against_today
from production.works.changing import propose_change
from production.works.confirming import confirm_order, confirm_orders
from tests.production.small_workshop import SmallWorkshop, build


@pytest.fixture
def shop(db) -> SmallWorkshop:
    return build()


def from_trailer(shop: SmallWorkshop, number: int, beams: str = "3") -> Revision:
    """Revision C of the chassis, with so many beams, for trailers from this number on."""
    found = Revision.objects.create(
        item=shop.items["CH"],
        letter="C",
        state="released",
        effective_from=timezone.localdate(),
        from_number=number,
    )
    BillLine.objects.create(revision=found, position=10, component=shop.items["BM"], quantity=beams)
    before = Revision.objects.get(item=shop.items["CH"], letter="B")
    for one in before.operations.all():
        Operation.objects.create(
            revision=found, sequence=one.sequence, process=one.process, run_minutes=one.run_minutes * 2
        )
    return found


def beams(order: Order) -> Decimal:
    return FrozenTotal.objects.get(bill=order.bill_id, item__code="BM").quantity


def letter(order: Order, code: str = "CH") -> str:
    return FrozenTotal.objects.get(bill=order.bill_id, item__code=code).revision.letter


def test_orders_confirmed_together_are_made_each_by_its_own_revision(shop):
    drafts = [shop.draft() for _ in range(4)]
    from_trailer(shop, int(drafts[2].number))

    confirmed = confirm_orders(orders=drafts, by=shop.user)

    assert [letter(order) for order in confirmed] == ["B", "B", "C", "C"]
    assert [beams(order) for order in confirmed] == [2, 2, 3, 3]
    assert confirmed[0].bill_id == confirmed[1].bill_id != confirmed[2].bill_id == confirmed[3].bill_id
    weld = [one.works_order.operations.get(process__code="weld").minutes for one in confirmed]
    assert weld == [60, 60, 100, 100]


def test_the_number_of_queries_does_not_grow_with_the_orders(shop, django_assert_max_num_queries):
    drafts = [shop.draft() for _ in range(12)]
    from_trailer(shop, int(drafts[6].number))

    with django_assert_max_num_queries(60):
        confirm_orders(orders=drafts, by=shop.user)


def test_frozen_orders_keep_theirs_and_a_late_draft_of_a_low_number_gets_the_earlier_bill(shop):
    early, late = shop.draft(), shop.draft()
    frozen = confirm_order(order=late, by=shop.user)
    from_trailer(shop, int(late.number))

    assert letter(confirm_order(order=early, by=shop.user)) == "B"
    assert letter(frozen) == "B"


def test_a_changed_order_follows_its_number(shop):
    orders = [confirm_order(order=shop.draft(), by=shop.user) for _ in range(2)]
    from_trailer(shop, int(orders[1].number))

    after = [
        propose_change(order=order, wish=shop.wish(choices={"winch": "electric"})).after["BM"]
        for order in orders
    ]

    assert after == [2, 3]


def test_an_order_against_today_differs_only_from_its_first_trailer_on(shop):
    orders = [confirm_order(order=shop.draft(), by=shop.user) for _ in range(2)]
    from_trailer(shop, int(orders[1].number))

    below, above = (against_today(order.number) for order in orders)

    assert below.rows == []
    assert {"BM", "PL"} <= {one.row.item.code for one in above.rows}


def test_a_part_without_lines_is_frozen_with_its_revision_too(shop):
    """A flat part stands on no line of its own bill; orders of two revisions of it still have two frozen bills."""
    drafts = [shop.draft(), shop.draft()]
    Revision.objects.create(
        item=shop.items["PL"],
        letter="B",
        state="released",
        effective_from=timezone.localdate(),
        from_number=int(drafts[1].number),
    )

    one, other = confirm_orders(orders=drafts, by=shop.user)

    assert [letter(one, "PL"), letter(other, "PL")] == ["A", "B"]


def test_a_book_is_for_the_next_order_unless_a_trailer_is_named(shop):
    today = timezone.localdate()
    from_trailer(shop, next_number())
    assert load_book(today).loaded.catalogue.structures["CH"].revision == "C"
    assert load_book(today, next_number() - 1).loaded.catalogue.structures["CH"].revision == "B"

    Revision.objects.filter(letter="C").update(from_number=next_number() + 1)
    assert load_book(today).loaded.catalogue.structures["CH"].revision == "B"


def test_books_of_other_trailers_are_had_without_a_query(shop, django_assert_num_queries):
    from_trailer(shop, 2650)
    book = load_book(timezone.localdate(), 1)

    with django_assert_num_queries(0):
        later = book.for_trailer(2650)
        assert later.loaded.catalogue.structures["CH"].revision == "C"
        assert later.for_trailer(2649).loaded.catalogue.structures["CH"].revision == "B"
        assert book.for_trailer(9999) is later
        assert [one.run_minutes for one in later.work["CH"]] == [100, 0]


@pytest.mark.parametrize(("number", "found"), [("1001", 1001), ("007", 7), ("A-12", None), ("", None)])
def test_an_orders_number_is_its_trailers_number(number, found):
    assert trailer_number(number) == found


def test_the_next_number_is_not_taken_by_asking(shop):
    assert next_number() == 1001
    assert shop.draft().number == "1001"
    assert next_number() == 1002
