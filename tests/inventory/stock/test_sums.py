"""Sums worked out by the database carry no speck of binary arithmetic."""

from decimal import Decimal

from inventory.stock import ledger, reserving
from inventory.stock.queries import availability
from inventory.stores.queries import stock_list


def test_what_was_used_up_to_the_last_tenth_is_not_short(room):
    for quantity in ("0.1", "0.2", "0.7"):
        room.bring(room.roller, quantity)
    room.move(room.roller, "0.3", "A1", "A2")
    for quantity in ("0.3", "0.6", "0.1"):
        reserving.reserve(
            item=room.roller, purpose=room.purpose(), quantity=Decimal(quantity), by=room.keeper
        )

    assert availability([room.roller.pk])[room.roller.pk].available == 0
    assert stock_list().get(pk=room.roller.pk).condition == "none"


def test_a_ledger_of_tenths_audits_clean(room):
    for quantity in ("2.2635", "0.0257", "0.3"):
        room.bring(room.roller, quantity)
        room.move(room.roller, quantity, "A1", "SUPPLIER")
    room.bring(room.roller, "0.3")
    room.move(room.roller, "0.1", "A1", "SUPPLIER")
    room.move(room.roller, "0.2", "A1", "SUPPLIER")

    assert ledger.audit() == []
    assert ledger.rebuild_balances() == 0
