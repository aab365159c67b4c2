"""Scenes in which two people reach for the same box at the same moment, each on a thread and connection of his own.

Run by tests on PostgreSQL directly, and on a file of SQLite as `python -m tests.concurrency.same_box SCENE …`.
"""

import json
import os
import sys
import threading
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

if __name__ == "__main__":
    os.environ["DJANGO_SETTINGS_MODULE"] = "production.config.settings"
    import django

    django.setup()

from django.conf import settings
from django.core.cache import cache
from django.core.management import call_command
from django.db import connections

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from inventory.stock import ledger, reassigning
from inventory.stock.models import Balance, Reservation
from inventory.stores import bins, holding, issuing
from inventory.stores.rules import Handling, set_handling
from production.assembly.bays import begin_assembly
from production.assembly.kits import pick_all_available, pick_line
from production.assembly.models import Kit
from production.coating.counting_back import load_back
from production.coating.loads import send_load, sign_vents
from production.dispatch.models import Maker, SerialPlate
from production.dispatch.plating import give_plate, set_maker
from production.works.card_making import make_cards
from production.works.card_models import JobCard, WorkTime
from production.works.cards import start
from tests.inventory.stock_room import StockRoom, furnish
from tests.production.floor import finish, floor_shop, kit_of, load, operation, released, welded
from tests.production.small_workshop import SmallWorkshop

PEOPLE = 4
WAIT_SECONDS = 60

TAKEN, REFUSED = "taken", "refused"


def together(*works: Callable[[], object]) -> list[str]:
    """Do all of this at the same moment; for each "taken" or "refused". Anything else that fails is raised."""
    start = threading.Barrier(len(works))
    ends: list[str] = [""] * len(works)
    failures: list[Exception] = []

    def run(number: int, work: Callable[[], object]) -> None:
        try:
            start.wait(WAIT_SECONDS)
            ends[number] = REFUSED if work() is False else TAKEN
        except ProblemError:
            ends[number] = REFUSED
        except Exception as error:
            failures.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=entry) for entry in enumerate(works)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(WAIT_SECONDS)
    assert not any(thread.is_alive() for thread in threads), "people wait for each other"
    if failures:
        raise failures[0]
    return sorted(ends)


def control() -> dict[str, object]:
    """Without a lock: both see the last box, both take it."""
    room = _room(1)
    both_have_looked = threading.Barrier(2)

    def take() -> bool:
        shelf = Balance.objects.get(item=room.roller, location=room.places["A1"])
        both_have_looked.wait(WAIT_SECONDS)
        if shelf.quantity < 1:
            return False
        Balance.objects.filter(pk=shelf.pk).update(quantity=shelf.quantity - 1)
        return True

    return {"ends": together(take, take), "left": float(room.at(room.roller, "A1"))}


def keeping() -> dict[str, object]:
    """The last box is kept by hand for several orders."""
    room = _room(1)
    orders = [room.purpose(str(number)) for number in range(PEOPLE)]
    ends = together(
        *(
            lambda order=order: reassigning.keep(
                item=room.roller, purpose=order, quantity=Decimal(1), by=room.keeper
            )
            for order in orders
        )
    )
    return {"ends": ends, "kept": Reservation.objects.count()}


def giving() -> dict[str, object]:
    """What is kept for one order is given to several others."""
    room = _room(1)
    first = room.purpose("1000")
    reassigning.keep(item=room.roller, purpose=first, quantity=Decimal(1), by=room.keeper)
    others = [room.purpose(str(number)) for number in range(PEOPLE)]
    ends = together(
        *(
            lambda other=other: reassigning.reassign(
                item=room.roller,
                source=first,
                target=other,
                quantity=Decimal(1),
                by=room.keeper,
                reason="sooner",
            )
            for other in others
        )
    )
    return {"ends": ends, "kept": sum(float(row.quantity) for row in Reservation.objects.all())}


def sharing() -> dict[str, object]:
    """The shelf is shared out anew while somebody keeps the last box by hand."""
    room = _room(1)
    orders = [room.purpose(str(number)) for number in range(2)]
    need = reassigning.Need(room.roller.pk, orders[0].pk, Decimal(1), None)
    together(
        lambda: reassigning.share_out_anew(needs=[need], by=room.keeper),
        lambda: reassigning.keep(item=room.roller, purpose=orders[1], quantity=Decimal(1), by=room.keeper),
    )
    return {"kept": sum(float(row.quantity) for row in Reservation.objects.all())}


def issuing_by_hand() -> dict[str, object]:
    """The last box is given out for several orders, by hand."""
    room = _room(1)
    orders = [room.purpose(str(number)) for number in range(PEOPLE)]
    ends = together(
        *(
            lambda number=number, order=order: issuing.issue_to_order(
                item=room.roller,
                quantity=Decimal(1),
                source=room.places["A1"],
                purpose=order,
                reason="split",
                by=room.keeper,
                key=f"stores:{number}",
            )
            for number, order in enumerate(orders)
        )
    )
    return {"ends": ends, "left": float(room.at(room.roller, "A1")), "audit": len(ledger.audit())}


def holding_and_issuing() -> dict[str, object]:
    """The last box is put on hold by one and given out by another."""
    room = _room(1)
    order = room.purpose("1000")
    ends = together(
        lambda: holding.put_on_hold(
            item=room.roller,
            quantity=Decimal(1),
            source=room.places["A1"],
            by=room.keeper,
            key="stores:h",
            remark="oval",
        ),
        lambda: issuing.issue_to_order(
            item=room.roller,
            quantity=Decimal(1),
            source=room.places["A1"],
            purpose=order,
            reason="split",
            by=room.keeper,
            key="stores:i",
        ),
    )
    return {"ends": ends, "left": float(room.at(room.roller, "A1"))}


def filling_bins() -> dict[str, object]:
    """The last full bin goes to work once."""
    room = _room(200)
    set_handling(item=room.roller, handling=Handling(bin_quantity=Decimal(200)), by=room.keeper)
    ends = together(
        *(
            lambda number=number: bins.issue_bin(item=room.roller, by=room.keeper, key=f"stores:{number}")
            for number in range(PEOPLE)
        )
    )
    return {"ends": ends, "left": float(room.at(room.roller, "FLOOR"))}


def telling_of_an_empty_bin() -> dict[str, object]:
    """Several people tell of the same empty bin."""
    room = _room(1)
    set_handling(item=room.roller, handling=Handling(bin_quantity=Decimal(200)), by=room.keeper)
    together(*(lambda: bins.raise_signal(item=room.roller, by=room.keeper) for _ in range(PEOPLE)))
    return {"signals": room.roller.bin_signals.count()}


def picking_two_kits() -> dict[str, object]:
    """Two pickers reach for the last two rollers, each for the kit of another order."""
    shop = floor_shop()
    kits = [kit_of(released(shop)) for _ in range(2)]
    shop.stock("RO-RED", "2")
    lines = [kit.lines.get(item__code="RO-RED") for kit in kits]
    ends = together(*(lambda line=line: pick_line(line=line, by=shop.user) for line in lines))
    return {"ends": ends, "in kits": float(shop.on("RO-RED", "KIT")), "audit": len(ledger.audit())}


def picking_one_kit() -> dict[str, object]:
    """Two pickers work on the same kit."""
    shop = floor_shop()
    kit = kit_of(released(shop))
    shop.stock("RO-RED", "9")
    together(*(lambda: pick_all_available(kit=kit, by=shop.user) for _ in range(2)))
    return {"in kits": float(shop.on("RO-RED", "KIT")), "audit": len(ledger.audit())}


def giving_plates() -> dict[str, object]:
    """Several trailers are given their plates at once."""
    shop = floor_shop()
    orders = [released(shop) for _ in range(PEOPLE)]
    set_maker(maker=Maker(name="Works", wmi="ZZ9", small_code="ABC", descriptor="BT000"))
    together(*(lambda order=order: give_plate(order=order, by=shop.user) for order in orders))
    return {"numbers": sorted(SerialPlate.objects.values_list("number", flat=True))}


def giving_one_plate() -> dict[str, object]:
    """Several people give the same trailer its plate."""
    shop = floor_shop()
    order = released(shop)
    set_maker(maker=Maker(name="Works", wmi="ZZ9", small_code="ABC", descriptor="BT000"))
    together(*(lambda: give_plate(order=order, by=shop.user) for _ in range(PEOPLE)))
    return {"numbers": sorted(SerialPlate.objects.values_list("number", flat=True))}


def taking_one_kit() -> dict[str, object]:
    """Two bays take the same kit."""
    shop = floor_shop()
    kit = _complete_kit(shop)
    ends = together(
        *(lambda bay=bay: begin_assembly(kit=kit, bay=bay, by=shop.user) for bay in range(1, PEOPLE + 1))
    )
    return {"ends": ends, "begun": operation(kit.order, "assemble").state}


def filling_one_bay() -> dict[str, object]:
    """Several kits are taken into the same bay."""
    shop = floor_shop()
    kits = [_complete_kit(shop) for _ in range(PEOPLE)]
    ends = together(*(lambda kit=kit: begin_assembly(kit=kit, bay=1, by=shop.user) for kit in kits))
    return {"ends": ends, "in the bay": Kit.objects.filter(bay=1).count()}


def scanning_one_card() -> dict[str, object]:
    """One person's scan of a card arrives several times at once."""
    shop = floor_shop()
    (card,) = _weld_cards(shop, 1)
    together(*(lambda: start(card=card, by=shop.user) for _ in range(PEOPLE)))
    return {"times": WorkTime.objects.count(), "card": JobCard.objects.get(pk=card.pk).state}


def scanning_two_cards() -> dict[str, object]:
    """One person scans different cards at two stations at once: his minutes count on one of them at a time."""
    shop = floor_shop()
    cards = _weld_cards(shop, PEOPLE)
    ends = together(*(lambda card=card: start(card=card, by=shop.user) for card in cards))
    running = WorkTime.objects.filter(stopped_at__isnull=True).count()
    return {"ends": ends, "running": running, "kept": WorkTime.objects.count()}


def sending_one_load() -> dict[str, object]:
    """Two people say that the lorry has the load, then two count it back."""
    shop = floor_shop()
    order = welded(shop)
    made = load(shop, [order])
    sign_vents(line=made.lines.get(), by=shop.user)
    together(*(lambda: send_load(load=made, by=shop.user) for _ in range(2)))
    away = float(shop.on("CH", "GALV"))
    together(*(lambda: load_back(load=made, by=shop.user) for _ in range(2)))
    return {"away": away, "back": float(shop.on("CH", "WELD")), "audit": len(ledger.audit())}


SCENES: dict[str, Callable[[], dict[str, object]]] = {
    scene.__name__: scene
    for scene in (
        control,
        keeping,
        giving,
        sharing,
        issuing_by_hand,
        holding_and_issuing,
        filling_bins,
        telling_of_an_empty_bin,
        picking_two_kits,
        picking_one_kit,
        giving_plates,
        giving_one_plate,
        taking_one_kit,
        filling_one_bay,
        scanning_one_card,
        scanning_two_cards,
        sending_one_load,
    )
}


def _complete_kit(shop: SmallWorkshop) -> Kit:
    order = welded(shop)
    finish(shop, order, "galvanise")
    shop.stock("RO-RED", "2")
    shop.stock("RO-GREEN", "2")
    kit = kit_of(order)
    pick_all_available(kit=kit, by=shop.user)
    return kit


def _weld_cards(shop: SmallWorkshop, count: int) -> list[JobCard]:
    orders = [released(shop) for _ in range(count)]
    make_cards(works_orders=[order.works_order.pk for order in orders])
    return list(JobCard.objects.filter(process__code="weld").order_by("number"))


def _room(quantity: int) -> StockRoom:
    room = furnish()
    room.bring(room.roller, quantity)
    assert Item.objects.count() == 2
    return room


def _each_on_a_file_of_its_own(scenes: list[str]) -> dict[str, dict[str, object]]:
    call_command("migrate", verbosity=0)
    connections.close_all()
    file = Path(settings.DATABASES["default"]["NAME"])
    empty = file.read_bytes()
    found = {}
    for scene in scenes:
        for journal in file.parent.glob(f"{file.name}-*"):
            journal.unlink()
        file.write_bytes(empty)
        found[scene] = SCENES[scene]()
        connections.close_all()
        cache.clear()
    return found


if __name__ == "__main__":
    sys.stdout.write(json.dumps(_each_on_a_file_of_its_own(sys.argv[1:])))
