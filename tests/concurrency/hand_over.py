"""Trailers are handed over by a process that is killed in the middle; run as a module at a database of its own.

    python -m tests.concurrency.hand_over furnish | leave | look

`leave` says the number of each trailer once its hand-over was acknowledged. `look` says in words what is not whole.
"""

from __future__ import annotations

import os
import sys

TRAILERS = 8


def main() -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "production.config.settings")
    import django

    django.setup()
    for said in {"furnish": _furnish, "leave": _leave, "look": _look}[sys.argv[1]]():
        sys.stdout.write(f"{said}\n")
        sys.stdout.flush()
    return 0


def _furnish() -> list[str]:
    """Trailers at the gate, inspected, with plates."""
    from django.core.management import call_command

    from inventory.stock import reserving
    from production.dispatch import inspecting, plating
    from production.dispatch.models import Maker
    from production.dispatch.shipped_checks import add_shipped_lists
    from tests.production.dispatch.conftest import all_good
    from tests.production.floor import assembled, floor_shop

    call_command("migrate", verbosity=0)
    shop = floor_shop()
    add_shipped_lists()
    plating.set_maker(maker=Maker(name="Works", wmi="ZZ9", small_code="ABC", descriptor="BT000"))
    for _ in range(TRAILERS):
        order = assembled(shop)
        order.refresh_from_db()
        reserving.release_all(purpose=order.purpose)
        inspecting.record(order=order, findings=all_good(order), by=shop.user)
        inspecting.sign(order=order, by=shop.user)
        plating.give_plate(order=order, by=shop.user)
    return []


def _leave():
    """Every trailer that has not gone yet, one after the other."""
    from bom.people.models import User
    from production.dispatch.leaving import send_off
    from production.orders.models import Order

    by = User.objects.get()
    for order in Order.objects.filter(state=Order.State.DONE).order_by("number"):
        yield f"begins {order.number}"
        send_off(order=order, by=by)
        yield order.number


def _look():
    """What is gone in one place and not in another, by order; then ledger and seals; at last the numbers gone."""
    from inventory.stock import ledger
    from inventory.stock.models import Balance, Posting
    from production.dispatch.models import BuiltRow, Seal
    from production.dispatch.recording import broken_seals
    from production.orders.models import Order

    orders = list(Order.objects.select_related("purpose").order_by("number"))
    for order in orders:
        told = {
            "state": order.state == Order.State.GONE,
            "seal": Seal.objects.filter(order=order).exists(),
            "rows": BuiltRow.objects.filter(order=order).exists(),
            "posting": Posting.objects.filter(key=f"gate:{order.number}").exists(),
            "purpose": order.purpose is not None and not order.purpose.is_open,
        }
        if len(set(told.values())) > 1:
            yield f"fault: {order.number} is half gone: {told}"
    gone = [order.number for order in orders if order.state == Order.State.GONE]
    there = Balance.objects.filter(location__code="CUSTOMER", item__code="HT").values_list(
        "quantity", flat=True
    )
    if sum(there) != len(gone):
        yield f"fault: {sum(there)} trailers at customers, {len(gone)} gone"
    yield from (f"fault: {one}" for one in ledger.audit())
    yield from (f"fault: {one} is broken" for one in broken_seals())
    yield from (f"gone {number}" for number in gone)


if __name__ == "__main__":
    raise SystemExit(main())
