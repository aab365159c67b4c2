"""Goods of ours go out for work, are bought for by the kilogram, counted back, and claimed where they are not."""

from datetime import datetime, time, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from inventory.buying import chasing, ordering, outside, outside_asking, outside_claims, record
from inventory.buying.models import PurchaseOrder, Supplier
from inventory.buying.outside import Goods, Load, Terms
from inventory.buying.outside_models import OutsideClaim, OutsideLine, OutsideService
from inventory.buying.outside_queries import ledger_differences, lying_outside
from inventory.buying.papers.contents import paper_of
from inventory.buying.queries import order_list, order_value
from inventory.levels.arithmetic import after_working_days
from inventory.stock.models import Location, Posting
from inventory.stock.queries import availability
from inventory.stores import undoing
from tests.inventory.stock_room import StockRoom, furnish


class Yard:
    """A galvaniser, and brackets that go to him."""

    def __init__(self, room: StockRoom) -> None:
        self.room = room
        self.today = timezone.localdate()
        room.places["BATH"] = Location.objects.create(code="BATH", name="at the galvaniser", kind="outside")
        self.supplier = Supplier.objects.create(code="ZINC", name="Zinc Bath", confirm_days=2)
        self.service = OutsideService.objects.create(
            work="galvanise",
            name="hot-dip galvanising",
            supplier=self.supplier,
            place=room.places["BATH"],
            price_per_kg=Decimal("0.68"),
            minimum_kg=Decimal(500),
            days_away=4,
        )
        self.bracket = Item.objects.create(code="BRK", name="Bracket", kind="part")

    def send(self, quantity=10, *, key="send:1", mass_kg=620, back_in=4, stock=None, **more) -> OutsideLine:
        if stock != 0:
            self.room.bring(self.bracket, stock or quantity, "A1")
        load = Load(
            "L-1",
            [Goods(self.bracket.pk, Decimal(quantity), "1001")],
            Decimal(mass_kg),
            after_working_days(self.today, back_in),
        )
        return outside.send(
            key=key,
            service=self.service,
            load=load,
            source=self.room.places["A1"],
            by=self.room.keeper,
            **more,
        )

    def back(self, line: OutsideLine, quantity, *, key="back:1", **more) -> OutsideLine:
        return outside.bring_back(
            key=key,
            line=line,
            back={line.pieces.get().pk: Decimal(quantity)},
            target=self.room.places["A2"],
            by=self.room.keeper,
            **more,
        )

    def at(self, place: str) -> Decimal:
        return self.room.at(self.bracket, place)


@pytest.fixture
def yard(room) -> Yard:
    return Yard(room)


@pytest.mark.parametrize(
    ("mass", "minimum", "price", "money"),
    [
        pytest.param("620", "500", "0.68", "421.60", id="above the minimum"),
        pytest.param("120", "500", "0.68", "340.00", id="the minimum is charged"),
        pytest.param("500", "500", "0.68", "340.00", id="at the minimum"),
        pytest.param("333.33", "0", "0.685", "228.33", id="to the penny"),
    ],
)
def test_a_load_costs_its_mass_or_the_minimum(mass, minimum, price, money):
    found = outside.charge(mass_kg=Decimal(mass), price_per_kg=Decimal(price), minimum_kg=Decimal(minimum))
    assert found == Decimal(money)


def test_sending_orders_the_work_and_moves_the_goods_once(yard):
    first = yard.send()
    again = yard.send(stock=0)

    assert again == first
    assert (yard.at("A1"), yard.at("BATH")) == (0, 10)
    assert first.order.state == PurchaseOrder.State.RELEASED
    assert order_value(first.order).value == Decimal("421.60")


def test_goods_out_for_work_are_not_on_order(yard):
    yard.send()
    known = availability([yard.bracket.pk])[yard.bracket.pk]
    assert (known.on_hand, known.on_order) == (0, 0)


def test_terms_of_the_load_stand_before_those_of_the_supplier(yard):
    line = yard.send(mass_kg=620, terms=Terms(Decimal("0.50"), Decimal(1000)))
    assert line.value == Decimal("500.00")


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        pytest.param({"mass_kg": 0}, "kg cannot be sent", id="no mass"),
        pytest.param({"quantity": 0, "stock": 1}, "Nothing goes along", id="nothing"),
        pytest.param({"quantity": 10, "stock": 9}, "holds 9", id="more than lies there"),
    ],
)
def test_what_cannot_go_is_refused_and_nothing_is_ordered(yard, more, sentence):
    with pytest.raises(ProblemError, match=sentence):
        yard.send(**more)
    assert not PurchaseOrder.objects.exists()


def test_all_back_closes_the_order(yard):
    line = yard.back(yard.send(), 10)

    assert line.is_closed
    assert line.complete_at
    assert line.order.state == PurchaseOrder.State.DONE
    assert (yard.at("BATH"), yard.at("A2")) == (0, 10)
    assert lying_outside() == []


def test_counting_back_twice_with_one_form_counts_once(yard):
    line = yard.send()
    yard.back(line, 4)
    yard.back(line, 4)
    assert (yard.at("BATH"), yard.at("A2")) == (6, 4)


def test_no_more_comes_back_than_lies_outside(yard):
    with pytest.raises(ProblemError, match="11 of BRK were counted back and 10 lie outside"):
        yard.back(yard.send(), 11)


def test_what_is_counted_short_is_claimed_and_stays_at_the_supplier(yard):
    line = yard.back(yard.send(), 8, rest_is_missing=True)

    claim = OutsideClaim.objects.get()
    assert (claim.kind, claim.quantity, claim.state) == ("missing", 2, "open")
    assert yard.at("BATH") == 2
    assert not line.is_closed


def test_a_load_of_which_nothing_came_is_claimed_whole_once(yard):
    line = yard.send()
    for _ in range(2):
        yard.back(line, 0, rest_is_missing=True)
    assert OutsideClaim.objects.get().quantity == 10


def test_what_turns_up_closes_its_claim(yard):
    line = yard.back(yard.send(), 8, rest_is_missing=True)
    yard.back(line, 1, key="back:2")
    assert OutsideClaim.objects.get().state == "open"

    line = yard.back(line, 1, key="back:3")

    assert OutsideClaim.objects.get().state == "found"
    assert line.is_closed
    assert line.complete_at


def test_a_settled_claim_writes_what_is_lost_off_and_closes_the_load(yard):
    line = yard.back(yard.send(), 8, rest_is_missing=True)
    claim = outside_claims.settle_claim(
        claim=OutsideClaim.objects.get(), is_made_good=True, credit=Decimal("84"), answer="sunk", by=None
    )

    line.refresh_from_db()
    assert (yard.at("BATH"), yard.at("SCRAP")) == (0, 2)
    assert line.is_closed
    assert line.complete_at is None
    assert (claim.state, claim.credit) == ("made_good", 84)
    assert PurchaseOrder.objects.get().state == PurchaseOrder.State.DONE
    assert record.load_records()[0].complete_on is None


def test_a_refused_claim_gets_no_credit(yard):
    yard.back(yard.send(), 8, rest_is_missing=True)
    with pytest.raises(ProblemError, match="credit does not fit"):
        outside_claims.settle_claim(
            claim=OutsideClaim.objects.get(), is_made_good=False, credit=Decimal(1), answer="", by=None
        )


@pytest.mark.parametrize(("is_scrap", "left"), [(True, 7), (False, 10)], ids=["scrapped", "kept"])
def test_what_came_back_spoilt_is_claimed(yard, is_scrap, left):
    line = yard.back(yard.send(), 10)
    piece = line.pieces.get()
    for _ in range(2):
        outside_claims.claim_damaged(
            key="claim:1", piece=piece, quantity=Decimal(3), reason="bare spots", is_scrap=is_scrap, by=None
        )

    assert OutsideClaim.objects.get().quantity == 3
    assert yard.at("A2") == left
    with pytest.raises(ProblemError, match="7 came back"):
        outside_claims.claim_damaged(
            key="claim:2", piece=piece, quantity=Decimal(8), reason="bent", is_scrap=False, by=None
        )


def test_goods_never_counted_back_can_be_claimed_with_a_reason(yard):
    line = yard.back(yard.send(), 6)
    piece = line.pieces.get()
    with pytest.raises(ProblemError, match="needs a reason"):
        outside_claims.claim_missing(key="m:1", piece=piece, reason=" ", by=None)
    assert outside_claims.claim_missing(key="m:1", piece=piece, reason="lost", by=None).quantity == 4
    with pytest.raises(ProblemError, match="unclaimed"):
        outside_claims.claim_missing(key="m:2", piece=piece, reason="lost", by=None)


def test_a_promise_moves_the_day_and_the_first_one_judges(yard):
    line = yard.send(back_in=4)
    first, second = after_working_days(yard.today, 5), after_working_days(yard.today, 9)
    outside_asking.confirm_back(line=line, promised_on=first, by=None, key="c:1")
    outside_asking.confirm_back(line=line, promised_on=second, by=None, key="c:2", note="kettle down")

    line.refresh_from_db()
    assert (line.due_on, line.confirmed_on) == (second, second)
    assert record.load_records()[0].promised_on == first


def test_a_load_past_its_day_is_chased_and_then_rests(yard):
    line = yard.send()
    assert chasing.loads_to_chase() == []
    later = yard.today + timedelta(days=14)
    assert [(one.line, one.is_unconfirmed) for one in chasing.loads_to_chase(today=later)] == [(line, True)]

    outside_asking.chase_back(
        line=line, answer="on Friday", again_on=later + timedelta(days=1), by=None, key="k:1"
    )

    assert chasing.loads_to_chase(today=later) == []


def test_one_answer_serves_a_whole_order(yard):
    line = yard.send()
    tomorrow = yard.today + timedelta(days=1)
    for _ in range(2):
        kept = chasing.chase_order(order=line.order, answer="soon", again_on=tomorrow, by=None, key="o:1")
        assert kept == 1
    assert line.answers.count() == 1
    yard.back(line, 10)
    with pytest.raises(ProblemError, match="cannot be chased"):
        chasing.chase_order(order=line.order, answer="soon", again_on=tomorrow, by=None, key="o:2")


def test_an_order_whose_load_has_left_is_not_cancelled(yard):
    with pytest.raises(ProblemError, match="has left for outside work"):
        ordering.cancel_order(order=yard.send().order, by=None, reason="no")


def test_the_time_away_is_planned_by_once_it_is_measured(yard):
    assert record.time_away("plate") is None
    for number, days in enumerate((5, 6, 6, 7, 8)):
        left_on = after_working_days(yard.today - timedelta(days=60), 1)
        left = timezone.make_aware(datetime.combine(left_on, time(12)))
        line = yard.send(key=f"send:{number}", back_in=60, happened_at=left)
        came = left + (after_working_days(left_on, days) - left_on)
        yard.back(line, 10, key=f"back:{number}", happened_at=came)

    lead = record.time_away("galvanise")

    assert lead is not None
    assert lead.is_measured
    assert lead.record.lead_days == [5, 6, 6, 7, 8]
    assert lead.days == 7
    assert record.supplier_records()[yard.supplier.pk].deliveries == 5


def test_the_list_of_orders_counts_a_load_as_a_line(yard):
    line = yard.send()
    row = order_list().get(pk=line.order_id)
    assert (row.value, row.line_count, row.lines_to_come, row.next_due) == (
        Decimal("421.60"),
        1,
        1,
        line.due_on,
    )


def test_the_paper_states_the_mass_that_is_charged(yard):
    paper = paper_of(yard.send(mass_kg=120).order, copy=1)
    assert paper.total == Decimal("340.00")
    assert "at least 500 kg" in paper.lines[0].name


def test_a_loads_posting_is_not_taken_back_from_the_stores(yard):
    assert not undoing.can_take_back(yard.send().posting)


def test_the_page_of_stores_says_where_ledger_and_loads_differ(yard):
    yard.send()
    assert ledger_differences() == []
    yard.room.bring(yard.bracket, 3, "BATH")
    assert [(one.item_code, one.ledger, one.loads) for one in ledger_differences()] == [("BRK", 13, 10)]


class EveryCountAgrees(TestCase):
    """However a load is counted, found, lost and settled: the ledger holds at the supplier what the loads say."""

    @settings(max_examples=12)
    @given(
        st.lists(st.tuples(st.sampled_from(["back", "short", "settle"]), st.integers(0, 6)), max_size=6),
        st.integers(1, 12),
    )
    def test_ledger_and_loads_agree(self, steps, sent):
        yard = Yard(furnish())
        line = yard.send(sent)
        for number, (step, quantity) in enumerate(steps):
            piece = line.pieces.get()
            if step == "settle":
                for claim in OutsideClaim.objects.filter(state="open")[:1]:
                    outside_claims.settle_claim(
                        claim=claim, is_made_good=False, credit=Decimal(0), answer="", by=None
                    )
            elif 0 < quantity <= piece.outside:
                yard.back(line, quantity, key=f"back:{number}", rest_is_missing=step == "short")
        piece = line.pieces.get()
        assert ledger_differences() == []
        assert yard.at("BATH") == piece.outside
        assert yard.at("BATH") + yard.at("A2") + yard.at("SCRAP") == sent
        assert Posting.objects.count() >= 2
