"""The ledger under any order of postings, counts, reversals and reservations, against a plain model of it."""

from collections import Counter
from decimal import Decimal

import pytest
from django.db import transaction
from django.db.models import F
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    consumes,
    initialize,
    invariant,
    multiple,
    precondition,
    rule,
    run_state_machine_as_test,
)

from bom.kernel.errors import ProblemError
from inventory.stock import ledger, reserving
from inventory.stock.models import Balance, Lot, Movement, Posting, Reservation
from inventory.stock.queries import availability
from inventory.stock.sums import summed
from inventory.stores import handling
from tests.inventory.stock_room import PLACES, furnish

CODES = st.sampled_from([code for code, _, _ in PLACES])
HOUSE = st.sampled_from(["A1", "A2", "CUT", "KIT", "FLOOR", "DOOR"])
ITEMS = st.sampled_from(["roller", "axle"])
ORDERS = st.sampled_from(["1001", "1002"])
QUANTITIES = st.decimals(min_value=Decimal("0.0001"), max_value=20, places=4)
FLOORS = {code: floor for code, _, floor in PLACES}


class CrashError(Exception):
    """The process ends in the middle of its work."""


class Machine(RuleBasedStateMachine):
    """Each run begins with an empty store room: what it wrote is rolled back at its end."""

    def __init__(self):
        super().__init__()
        self.frame = transaction.atomic()
        self.frame.__enter__()

    def teardown(self):
        transaction.set_rollback(True)
        self.frame.__exit__(None, None, None)


class Ledger(Machine):
    """The model: quantities by item and place in a counter, what is kept in another."""

    postings = Bundle("postings")

    @initialize()
    def furnish(self):
        self.room = furnish()
        self.items = {"roller": self.room.roller, "axle": self.room.axle}
        self.held: Counter[tuple[str, str]] = Counter()
        self.kept: Counter[tuple[str, str]] = Counter()
        self.sent = 0
        self.written: list[str] = []

    def _key(self) -> str:
        self.sent += 1
        return f"stores:{self.sent}"

    def _may_leave(self, item: str, place: str, quantity: Decimal) -> bool:
        return FLOORS[place] is None or self.held[item, place] - quantity >= FLOORS[place]

    def _free(self, item: str) -> Decimal:
        house = sum(
            (self.held[item, place] for place in ("A1", "A2", "CUT", "KIT", "FLOOR", "DOOR")), Decimal(0)
        )
        return house - sum(
            (quantity for (kept, _), quantity in self.kept.items() if kept == item), Decimal(0)
        )

    @rule(target=postings, item=ITEMS, source=CODES, to=CODES, quantity=QUANTITIES)
    def post(self, item, source, to, quantity):
        key = self._key()
        lines = self.room.both(self.items[item], quantity, source, to)
        if source != to and not self._may_leave(item, source, quantity):
            with pytest.raises(ProblemError, match=f"{source} holds"):
                ledger.post(key=key, kind="move", lines=lines, by=self.room.keeper)
            return multiple()
        posting = ledger.post(key=key, kind="move", lines=lines, by=self.room.keeper)
        self.written.append(key)
        self.held[item, source] -= quantity
        self.held[item, to] += quantity
        return (posting, item, source, to, quantity)

    @rule(done=postings)
    def post_again(self, done):
        posting, item, source, to, quantity = done
        lines = self.room.both(self.items[item], quantity, source, to)
        again = ledger.post(key=posting.key, kind="move", lines=lines, by=self.room.keeper)
        assert again.pk == posting.pk

    @rule(item=ITEMS, order=ORDERS, source=CODES, to=CODES, quantity=QUANTITIES)
    def crash(self, item, order, source, to, quantity):
        """What was posted and kept in a piece of work that then fails leaves no trace; its key is free again."""
        lines = self.room.both(self.items[item], quantity, source, to)
        want = {"item_id": self.items[item].pk, "purpose": self.room.purpose(order), "quantity": quantity}

        @transaction.atomic
        def work():
            ledger.post(key="crashed", kind="move", lines=lines, by=self.room.keeper)
            reserving.use(**want)
            raise CrashError

        with pytest.raises((CrashError, ProblemError)):
            work()

    @rule(done=consumes(postings))
    def take_back(self, done):
        posting, item, source, to, quantity = done
        if source != to and not self._may_leave(item, to, quantity):
            with pytest.raises(ProblemError, match=f"{to} holds"):
                ledger.reverse(posting=posting, by=self.room.keeper, reason="wrong")
            return
        mirror = ledger.reverse(posting=posting, by=self.room.keeper, reason="wrong")
        self.written.append(mirror.key)
        self.held[item, source] += quantity
        self.held[item, to] -= quantity
        with pytest.raises(ProblemError, match="already been reversed"):
            ledger.reverse(posting=posting, by=self.room.keeper, reason="wrong")

    @rule(item=ITEMS, place=HOUSE, counted=QUANTITIES)
    def count(self, item, place, counted):
        key = self._key()
        if counted != self.held[item, place]:
            self.written.append(key)
        handling.count_stock(
            item=self.items[item],
            location=self.room.places[place],
            counted=counted,
            reason="stocktake",
            by=self.room.keeper,
            key=key,
        )
        self.held[item, "COUNT"] -= counted - self.held[item, place]
        self.held[item, place] = counted

    @rule(item=ITEMS, order=ORDERS, quantity=QUANTITIES)
    def reserve(self, item, order, quantity):
        want = {"item": self.items[item], "purpose": self.room.purpose(order), "quantity": quantity}
        if quantity > self._free(item):
            with pytest.raises(ProblemError, match="were asked for"):
                reserving.reserve(**want, by=self.room.keeper)
            return
        reserving.reserve(**want, by=self.room.keeper)
        self.kept[item, order] += quantity

    @rule(item=ITEMS, order=ORDERS, quantity=QUANTITIES)
    def release(self, item, order, quantity):
        want = {"item": self.items[item], "purpose": self.room.purpose(order), "quantity": quantity}
        if quantity > self.kept[item, order]:
            with pytest.raises(ProblemError, match="cannot be let go"):
                reserving.release(**want)
            return
        assert reserving.release(**want) == quantity
        self.kept[item, order] -= quantity

    @rule(item=ITEMS, order=ORDERS, quantity=QUANTITIES)
    def use(self, item, order, quantity):
        reserving.use(item_id=self.items[item].pk, purpose=self.room.purpose(order), quantity=quantity)
        self.kept[item, order] -= min(quantity, self.kept[item, order])

    @rule(order=ORDERS)
    def release_all(self, order):
        reserving.release_all(purpose=self.room.purpose(order))
        for item in self.items:
            self.kept[item, order] = Decimal(0)

    @precondition(lambda self: self.sent)
    @rule(quantity=st.integers(1, 9))
    def spoil_and_rebuild(self, quantity):
        if Balance.objects.exists():
            Balance.objects.filter(pk=Balance.objects.first().pk).update(quantity=1000 + quantity)
        ledger.rebuild_balances()

    @invariant()
    def every_event_stands_once(self):
        assert sorted(Posting.objects.values_list("key", flat=True)) == sorted(self.written)

    @invariant()
    def no_balance_is_below_its_floor(self):
        assert not Balance.objects.filter(quantity__lt=F("location__floor")).exists()

    @invariant()
    def every_item_sums_to_zero_over_all_places(self):
        totals = Balance.objects.order_by().values_list("item").annotate(total=summed())
        assert all(total == 0 for _, total in totals)

    @invariant()
    def the_ledger_audits_clean(self):
        assert ledger.audit() == []

    @invariant()
    def balances_are_those_of_the_model(self):
        rows = Balance.objects.exclude(quantity=0).values_list("item__code", "location__code", "quantity")
        names = {item.code: name for name, item in self.items.items()}
        found = {(names[code], place): quantity for code, place, quantity in rows}
        assert found == {spot: quantity for spot, quantity in self.held.items() if quantity}

    @invariant()
    def replayed_movements_are_the_balances(self):
        replayed: Counter[tuple[int, int]] = Counter()
        for item, place, quantity in Movement.objects.values_list("item", "location", "quantity"):
            replayed[item, place] += quantity
        kept = {
            (item, place): quantity
            for item, place, quantity in Balance.objects.values_list("item", "location", "quantity")
        }
        assert {spot: total for spot, total in replayed.items() if total} == {
            spot: quantity for spot, quantity in kept.items() if quantity
        }

    @invariant()
    def what_is_kept_is_that_of_the_model(self):
        rows = Reservation.objects.values_list("item__code", "purpose__code", "quantity")
        names = {item.code: name for name, item in self.items.items()}
        found = {(names[code], order): quantity for code, order, quantity in rows}
        assert found == {spot: quantity for spot, quantity in self.kept.items() if quantity}

    @invariant()
    def available_is_on_hand_less_kept(self):
        stocks = availability([item.pk for item in self.items.values()])
        assert {name: stocks[item.pk].available for name, item in self.items.items()} == {
            name: self._free(name) for name in self.items
        }


class SerialNumbers(Machine):
    """One axle with a number of its own, carried anywhere: it is in one place of the house, or in none."""

    @initialize()
    def furnish(self):
        self.room = furnish()
        self.lot = Lot.objects.create(item=self.room.axle, code="S1", kind="serial")
        self.sent = 0

    @rule(source=CODES, to=CODES, quantity=st.sampled_from(["1", "2", "0.5"]))
    def carry(self, source, to, quantity):
        self.sent += 1
        lines = self.room.both(self.room.axle, quantity, source, to, self.lot)
        try:
            ledger.post(key=f"c:{self.sent}", kind="move", lines=lines, by=self.room.keeper)
        except ProblemError as refusal:
            said = str(refusal)
            assert "holds" in said or "cannot lie" in said

    @invariant()
    def each_place_holds_it_once_or_not_at_all(self):
        held = Balance.objects.filter(lot=self.lot, location__floor__isnull=False)
        assert set(held.values_list("quantity", flat=True)) <= {0, 1}
        assert Posting.objects.count() <= self.sent


_FEW = settings(
    max_examples=10,
    stateful_step_count=20,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


@pytest.mark.django_db
@pytest.mark.parametrize("machine", [Ledger, SerialNumbers])
def test_no_order_of_events_upsets_the_ledger(machine):
    """What is claimed stands in the machines: after every event their invariants must hold."""
    run_state_machine_as_test(machine, settings=_FEW)
