"""The as-built record: gathered, sealed, traced both ways; recalls and claims."""

from datetime import date
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.core.cache import cache
from django.db import ProgrammingError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bom.kernel.errors import ProblemError
from inventory.buying.models import Supplier
from inventory.stock import ledger
from inventory.stock.models import Location, Lot, Posting
from production.assembly.fitting import fit
from production.assembly.kits import pick_all_available
from production.dispatch import calling_back, inspecting, plating, recording, tracing
from production.dispatch.calling_back import Complaint
from production.dispatch.leaving import send_off
from production.dispatch.models import BuiltRow, Claim, Recall, Seal, Source
from production.dispatch.rates import rates
from production.orders.models import Customer, Hull, Order
from tests.production.dispatch.conftest import all_good
from tests.production.floor import finish, kit_of, released, welded

pytestmark = pytest.mark.django_db
TODAY = date(2026, 5, 12)


def text(response) -> str:
    return response.content.decode()


def bring(shop, code: str, lot: str, quantity: int = 2, cast: str = "") -> Lot:
    """So many of an item come in one lot."""
    made, _ = Lot.objects.get_or_create(item=shop.items[code], code=lot, defaults={"cast": cast})
    supplier, shelf = (Location.objects.get(code=name).pk for name in ("SUPPLIER", "A1"))
    pk = shop.items[code].pk
    ledger.post(
        key=f"in:{lot}:{Posting.objects.count()}",
        kind=Posting.Kind.RECEIPT,
        lines=[
            ledger.Line(pk, supplier, Decimal(-quantity)),
            ledger.Line(pk, shelf, Decimal(quantity), made.pk),
        ],
        by=shop.user,
    )
    return made


def gone(shop, lot: str = "R-1", cast: str = "") -> Order:
    """A trailer that left with red rollers of this lot."""
    order = welded(shop)
    bring(shop, "RO-RED", lot, cast=cast)
    shop.stock("RO-GREEN", "2")
    pick_all_available(kit=kit_of(order), by=shop.user)
    finish(shop, order, "galvanise", "assemble")
    inspecting.record(order=order, findings=all_good(order), by=shop.user)
    inspecting.sign(order=order, by=shop.user)
    plating.give_plate(order=order, by=shop.user)
    fit(order=order, item=shop.items["RO-GREEN"], text=f"g {order.number}", by=shop.user)
    return send_off(order=order, by=shop.user)


def test_a_record_holds_parts_by_lot_people_measurements_and_papers(shop):
    order = gone(shop, cast="C-9")

    rows = BuiltRow.objects.filter(order=order)
    by_kind = {kind: rows.filter(kind=kind) for kind in BuiltRow.Kind.values}

    assert by_kind["part"].get(source__code="R-1").quantity == 2
    assert by_kind["part"].filter(source__code=f"G {order.number}", source__kind="serial").exists()
    assert {"Weld", "Assemble", "Inspect"} <= set(by_kind["person"].values_list("words", flat=True))
    assert by_kind["measured"].filter(words__startswith="Wheel nuts", quantity=90, by=shop.user).exists()
    assert by_kind["document"].filter(words__contains="ZZ9BT000000ABC001").exists()
    assert {one.source.code for one in tracing.behind(order)} == {"R-1", f"G {order.number}", "C-9"}


def test_a_sealed_record_takes_nothing_more_and_seals_follow_each_other(shop):
    first, second = gone(shop), gone(shop, "R-2")
    assert recording.broken_seals() == []
    assert second.seal.previous == first.seal.digest
    assert recording.seal(order=first, by=shop.user) == first.seal
    with pytest.raises(ProblemError, match="sealed"):
        fit(order=first, item=shop.items["RO-GREEN"], text="late", by=shop.user)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL refuses the change itself")
@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE production_builtrow SET quantity = 3 WHERE quantity = 2",
        "DELETE FROM production_builtrow WHERE kind = 'person'",
        "UPDATE production_seal SET digest = 'x'",
    ],
)
def test_what_is_changed_past_the_program_shows(screen, shop, statement):
    order = gone(shop)
    connection.cursor().execute(statement)

    assert recording.broken_seals() == [Seal.objects.get(order=order)]
    page = text(screen.get(reverse("dispatch:record", args=[order.number])))
    assert "not as it was sealed" in page


@pytest.mark.postgres
@pytest.mark.skipif(connection.vendor != "postgresql", reason="the trigger is PostgreSQL's")
@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE production_builtrow SET quantity = 3", "never changed"),
        ("DELETE FROM production_builtrow", "never changed"),
        ("UPDATE production_seal SET digest = 'x'", "never changed"),
        (
            "INSERT INTO production_builtrow (order_id, kind, words) SELECT order_id, 'part', '' FROM production_seal",
            "sealed",
        ),
    ],
)
def test_the_database_refuses_to_change_a_record(shop, statement, says):
    gone(shop)
    with pytest.raises(ProgrammingError, match=says), transaction.atomic():
        connection.cursor().execute(statement)


def test_forward_from_a_cast_to_the_trailer_and_its_owner(screen, shop):
    order, other = gone(shop, "R-1", cast="C-9"), gone(shop, "R-2")
    cast = Source.objects.get(kind="cast", code="C-9")
    calling_back.change_owner(order=order, name="N. Newholm", contact="Quay", since=TODAY, by=shop.user)

    [found] = tracing.trailers_with(cast)

    assert (found.number, found.vin, found.owner_name) == (
        order.number,
        plating.plate_of(order).vin,
        "N. Newholm",
    )
    page = text(screen.get(reverse("dispatch:source", args=[cast.pk])))
    assert "N. Newholm" in page
    assert other.number not in page


def test_a_recall_lists_its_trailers_once_and_says_who_was_told(screen, shop):
    shop.user.user_permissions.add(Permission.objects.get(codename="open_recall"))
    order, _ = gone(shop, "R-1"), gone(shop, "R-2")
    source = Source.objects.get(code="R-1")
    address = reverse("dispatch:recall_source", args=[source.pk])

    assert screen.post(address, {"reason": " "}).status_code == 409
    for _ in range(2):
        assert screen.post(address, {"reason": "bore cracks"}).status_code == 302

    recall = Recall.objects.get()
    assert [row.order for row in recall.trailers.all()] == [order]
    page = reverse("dispatch:recall", args=[recall.number])
    assert "1 owner still to be told" in text(screen.get(page))
    screen.post(reverse("dispatch:mark", args=[recall.number, order.number]), {"what": "done"})
    assert "Every owner was told; every trailer is put right" in text(screen.get(page))
    assert screen.get(page, {"as": "xlsx"}).status_code == 200


def test_a_claim_finds_its_batch_and_counts_against_what_is_on_the_road(screen, shop):
    shop.user.user_permissions.add(Permission.objects.get(codename="write_claim"))
    order, _ = gone(shop, "R-1"), gone(shop, "R-2")
    typed = {
        "item": "ro-red",
        "cause": "material",
        "words": "split",
        "reported_on": "2026-05-12",
        "cost": "30",
    }
    for _ in range(2):
        answer = screen.post(reverse("dispatch:claim", args=[order.number]), {**typed, "key": "claim:1"})
        assert answer.status_code == 302

    claim = Claim.objects.get()
    assert (claim.number, claim.source.code) == ("WC-0001", "R-1")
    [rate] = rates().by_part
    assert rates().by_supplier == []
    assert (rate.code, rate.claims, rate.on_the_road, rate.share) == ("RO-RED", 1, 4, Decimal("0.25"))
    assert "25.0" in text(screen.get(reverse("dispatch:claims")))


def test_the_rate_of_a_supplier_counts_his_pieces_of_what_was_claimed_of_him(screen, shop):
    order, other = gone(shop, "R-1"), gone(shop, "R-2")
    supplier = Supplier.objects.create(code="RUBBER", name="Rubber Works")
    Source.objects.filter(code="R-1").update(supplier=supplier)
    for number, trailer in enumerate((order, other, other)):
        complaint = Complaint(shop.items["RO-RED"], "material", "split", TODAY, Decimal(10))
        calling_back.write_claim(order=trailer, complaint=complaint, key=f"k{number}", by=shop.user)

    [part], [theirs] = rates().by_part, rates().by_supplier

    assert (part.claims, part.on_the_road, part.cost) == (3, 4, 30)
    assert (theirs.code, theirs.claims, theirs.on_the_road, theirs.cost) == ("RUBBER", 1, 2, 10)
    listed = text(screen.get(reverse("dispatch:claims"), {"supplier": "rubber"}))
    assert ">1 row<" in listed
    assert rates(most=0).parts == 1


@pytest.mark.parametrize("words", ["number", "vin", "owner", "customer", "hull"])
def test_a_trailer_that_has_gone_is_found(screen, shop, words):
    order, other = gone(shop, "R-1"), gone(shop, "R-2")
    calling_back.change_owner(order=order, name="N. Newholm", contact="Quay", since=TODAY, by=shop.user)
    other.customer = Customer.objects.create(code="OTHER", name="Somebody else")
    other.hull = Hull.objects.create(
        name="Rowing boat", mass_kg=90, length_mm=4000, beam_mm=1500, bow_to_transom_mm=3900
    )
    other.save()
    asked = {
        "number": order.number,
        "vin": plating.plate_of(order).vin.lower(),
        "owner": "newholm",
        "customer": order.customer.name,
        "hull": order.hull.name,
    }

    found = text(screen.get(reverse("dispatch:records"), {"q": asked[words]}))

    assert order.number in found
    assert reverse("dispatch:record", args=[other.number]) not in found


def test_more_trailers_ask_no_more_questions(screen, shop):
    shop.user.user_permissions.add(Permission.objects.get(codename="open_recall"))
    gone(shop, "R-1", cast="C-9")
    cast = Source.objects.get(kind="cast", code="C-9")

    def asked() -> list[int]:
        recall = calling_back.open_recall(
            source=cast, by=shop.user, reason=f"reason {Recall.objects.count()}"
        )
        counts = []
        for name, args in (
            ("recall", [recall.number]),
            ("recalls", []),
            ("source", [cast.pk]),
            ("records", []),
        ):
            cache.clear()
            with CaptureQueriesContext(connection) as queries:
                assert screen.get(reverse(f"dispatch:{name}", args=args)).status_code == 200
            counts.append(len(queries))
        return counts

    before = asked()
    for lot in ("R-2", "R-3"):
        gone(shop, lot, cast="C-9")

    assert asked() == before


def test_nothing_is_claimed_or_sold_on_before_the_trailer_has_gone(shop):
    order = released(shop)
    complaint = Complaint(shop.items["BOX"], "unknown", "broken", TODAY)
    with pytest.raises(ProblemError, match="not gone"):
        calling_back.write_claim(order=order, complaint=complaint, key="k", by=shop.user)
    with pytest.raises(ProblemError, match="not gone"):
        calling_back.change_owner(order=order, name="N", contact="", since=TODAY, by=shop.user)


def test_the_pages_of_records_ask_few_questions(screen, shop, django_assert_max_num_queries):
    order, _ = gone(shop, "R-1"), gone(shop, "R-2")
    source = Source.objects.get(code="R-1")
    for name, args in (
        ("records", []),
        ("record", [order.number]),
        ("trace", []),
        ("source", [source.pk]),
        ("recalls", []),
        ("claims", []),
    ):
        with django_assert_max_num_queries(20):
            assert screen.get(reverse(f"dispatch:{name}", args=args)).status_code == 200
