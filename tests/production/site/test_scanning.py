"""A scanned code opens what it names."""

import pytest

from bom.items.identifying import add_identifier
from bom.items.models import ItemIdentifier
from bom.kernel import gs1
from inventory.buying.models import PurchaseOrder
from inventory.stock.models import Lot
from production.assembly.kits import ensure_kits
from production.orders.models import Order


@pytest.fixture
def signed_in(workshop, client, django_user_model):
    client.force_login(django_user_model.objects.get(username="stores"))
    return client


def _opens(client, code):
    return client.get("/scan/", {"code": code}).headers.get("Location")


def test_labels_of_ours_open_their_pages(signed_in):
    order = Order.objects.filter(state__in=Order.OPEN, works_order__isnull=False).first()
    ensure_kits([order])
    lot = Lot.objects.select_related("item").first()
    purchase = PurchaseOrder.objects.filter(state="released").first()
    number = order.number

    assert _opens(signed_in, "PLACE:A1") == "/stores/?place=A1"
    assert _opens(signed_in, f"ITEM:{lot.item.code}") == f"/stores/items/{lot.item.code}/"
    assert _opens(signed_in, f"LOT:{lot.item.code}:{lot.code}") == f"/stores/items/{lot.item.code}/"
    assert _opens(signed_in, f"KIT:{number}") == f"/stores/hand/pick/{number}/"
    assert _opens(signed_in, f"ORDER:{number}") == f"/orders/{number}/"
    assert _opens(signed_in, f"WORKS:{order.works_order.number}") == f"/orders/{number}/"
    assert (
        _opens(signed_in, f"PURCHASE:{purchase.number}") == f"/stores/hand/goods-in/?order={purchase.number}"
    )


def test_typed_codes_and_suppliers_numbers_open_too(signed_in):
    lot = Lot.objects.select_related("item").first()
    add_identifier(item=lot.item, kind="gtin", code="4006381333931")
    address = f"/stores/items/{lot.item.code}/"

    assert _opens(signed_in, lot.item.code.lower()) == address
    assert _opens(signed_in, lot.code) == address
    assert _opens(signed_in, "(01)04006381333931(10)A7") == address


@pytest.mark.parametrize(
    ("code", "said"),
    [("4006381333932", "should end in 1"), ("Q-99", "Nothing here has the code"), ("KIT:", "cut short")],
)
def test_what_opens_nothing_is_said(signed_in, code, said):
    answer = signed_in.get("/scan/", {"code": code})

    assert answer.status_code == 404
    assert said in answer.content.decode()


def test_the_demonstration_has_numbers_on_its_boxes(signed_in):
    box = ItemIdentifier.objects.filter(kind="gtin", holds=10).select_related("item").first()

    assert gs1.gtin(box.code) == box.code
    assert _opens(signed_in, box.code) == f"/stores/items/{box.item.code}/"
