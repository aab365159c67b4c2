"""A load leaves signed, welded and within its limits, and is counted back."""

from decimal import Decimal

import pytest

from bom.geometry import sections
from bom.geometry.models import SectionProfile
from bom.geometry.vents import HoleDraft, record_holes
from bom.items.models import Item
from bom.kernel.errors import ProblemError
from inventory.buying.outside_models import OutsideClaim, OutsideLine
from inventory.buying.outside_queries import ledger_differences
from inventory.stock import ledger
from inventory.stock.models import Posting, Reservation
from production.coating.counting_back import Found, load_back, missing_part_back
from production.coating.loads import move_order, send_load, sign_vents, withdraw_signature
from production.coating.models import LoadLine
from production.orders.models import Order
from tests.production.floor import floor_shop, galvaniser, load, operation, released, signed, welded
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    return floor_shop()


def kept(order: Order) -> Decimal:
    row = Reservation.objects.filter(purpose=order.purpose, item__code="CH").first()
    return row.quantity if row else Decimal(0)


def test_a_load_without_signed_vents_may_not_leave(shop):
    order = welded(shop)
    made = load(shop, [order])

    with pytest.raises(ProblemError, match="can burst in the bath"):
        send_load(load=made, by=shop.user)

    assert shop.on("CH", "WELD") == 1
    assert operation(order, "galvanise").state == "waiting"


def test_one_unsigned_line_among_many_is_named(shop):
    first, second = welded(shop), welded(shop)
    made = load(shop, [first, second])
    sign_vents(line=made.lines.get(order=first), by=shop.user)

    with pytest.raises(ProblemError) as refusal:
        send_load(load=made, by=shop.user)

    assert f"order {second.number}" in str(refusal.value)
    assert f"order {first.number}" not in str(refusal.value)


def test_the_first_signature_stands_until_it_is_withdrawn(shop):
    line = load(shop, [welded(shop)]).lines.get()
    first = sign_vents(line=line, by=shop.user)

    assert sign_vents(line=line, by=shop.user).vents_checked_at == first.vents_checked_at
    assert withdraw_signature(line=line, by=shop.user).vents_checked_at is None


def test_a_signed_load_takes_its_frames_to_the_galvaniser_once(shop):
    order = welded(shop)
    made = signed(shop, load(shop, [order]))
    before = Posting.objects.count()

    for _ in range(2):
        send_load(load=made, by=shop.user)

    assert Posting.objects.count() == before + 1
    assert (shop.on("CH", "WELD"), shop.on("CH", "GALV")) == (0, 1)
    assert operation(order, "galvanise").state == "begun"


def test_a_load_that_is_back_finishes_galvanising_and_is_kept_for_its_order(shop):
    order = welded(shop)
    made = signed(shop, load(shop, [order]))
    send_load(load=made, by=shop.user)
    assert kept(order) == 0

    for _ in range(2):
        load_back(load=made, by=shop.user)

    assert (shop.on("CH", "WELD"), shop.on("CH", "GALV")) == (1, 0)
    assert kept(order) == 1
    assert operation(order, "galvanise").state == "done"
    assert ledger.audit() == []


def test_a_missing_part_is_named_on_its_order_and_finishes_when_it_turns_up(shop):
    order, whole = welded(shop), welded(shop)
    made = signed(shop, load(shop, [order, whole]))
    send_load(load=made, by=shop.user)
    line = made.lines.get(order=order)

    load_back(load=made, by=shop.user, faults={line.pk: Found(missing=Decimal(1))})

    assert operation(order, "galvanise").state == "begun"
    assert "1 × CH" in operation(order, "galvanise").problem
    assert operation(whole, "galvanise").state == "done"
    for _ in range(2):
        missing_part_back(line=line, by=shop.user)
    assert operation(order, "galvanise").state == "done"
    assert shop.on("CH", "WELD") == 2


def test_more_cannot_be_missing_than_was_sent(shop):
    made = signed(shop, load(shop, [welded(shop)]))
    send_load(load=made, by=shop.user)

    with pytest.raises(ProblemError, match="do not fit what was sent"):
        load_back(load=made, by=shop.user, faults={made.lines.get().pk: Found(missing=Decimal(2))})


def test_a_frame_that_is_not_welded_holds_the_lorry(shop):
    made = signed(shop, load(shop, [released(shop)]))

    with pytest.raises(ProblemError, match="is not welded yet"):
        send_load(load=made, by=shop.user)


def test_an_empty_load_does_not_leave(shop):
    with pytest.raises(ProblemError, match="is empty"):
        send_load(load=load(shop, []), by=shop.user)


def test_an_order_moves_to_another_lorry_with_its_signature(shop):
    order = welded(shop)
    first, second = signed(shop, load(shop, [order])), load(shop, [], "GL-2")

    for _ in range(2):
        move_order(order=order, from_load=first, to_load=second, by=shop.user)

    line = LoadLine.objects.get(order=order)
    assert line.load == second
    assert line.vents_checked_by == shop.user


@pytest.mark.parametrize(
    ("limits", "sentence"),
    [({"max_kg": 200}, "lorry takes 200 kg"), ({"bath_length_mm": 4000}, "bath is 4000 mm")],
)
def test_an_order_is_not_moved_to_a_lorry_that_cannot_take_it(shop, limits, sentence):
    order, other = welded(shop), welded(shop)
    first, second = load(shop, [order]), load(shop, [other], "GL-2", **limits)

    with pytest.raises(ProblemError, match=sentence):
        move_order(order=order, from_load=first, to_load=second, by=shop.user)


def test_nothing_is_moved_off_a_lorry_that_has_left(shop):
    order = welded(shop)
    made = signed(shop, load(shop, [order]))
    send_load(load=made, by=shop.user)

    with pytest.raises(ProblemError, match="it has left"):
        move_order(order=order, from_load=made, to_load=load(shop, [], "GL-2"), by=shop.user)


def test_a_load_that_leaves_is_ordered_from_the_galvaniser(shop):
    galvaniser()
    made = signed(shop, load(shop, [welded(shop), welded(shop)]))

    for _ in range(2):
        send_load(load=made, by=shop.user)

    line = OutsideLine.objects.get()
    assert line.reference == made.number
    assert line.mass_kg == sum(row.mass_kg for row in made.lines.all())
    assert line.minimum_kg == made.minimum_charge_kg
    assert line.pieces.count() == 2
    assert ledger_differences() == []


def test_what_a_load_lacks_is_claimed_until_it_turns_up(shop):
    galvaniser()
    order = welded(shop)
    made = signed(shop, load(shop, [order, welded(shop)]))
    send_load(load=made, by=shop.user)
    line = made.lines.get(order=order)

    load_back(load=made, by=shop.user, faults={line.pk: Found(missing=Decimal(1))})

    claim = OutsideClaim.objects.get()
    assert (claim.state, claim.piece.label, claim.quantity) == ("open", order.number, 1)
    assert shop.on("CH", "GALV") == 1
    missing_part_back(line=line, by=shop.user)
    claim.refresh_from_db()
    assert claim.state == "found"
    assert OutsideLine.objects.get().is_closed
    assert ledger_differences() == []


def hollow_beam(shop: SmallWorkshop, *, ends: tuple[int, ...]) -> None:
    """The chassis' beam is of a square tube 60 × 60 × 3, with holes of 25 mm at these ends."""
    SectionProfile.objects.create(
        item=shop.items["SEC"], standard=sections.COLD, height_mm=60, breadth_mm=60, wall_mm=3
    )
    Item.objects.filter(code="SEC").update(is_hollow=True)
    Item.objects.filter(code="BM").update(is_hollow=True, length_mm=1500)
    drafts = [HoleDraft(end, purpose, Decimal(25), 1) for end in ends for purpose in ("vent", "drain")]
    record_holes(item=Item.objects.get(code="BM"), holes=drafts)


def test_a_chassis_with_a_member_that_is_not_vented_cannot_be_signed_for(shop):
    made = load(shop, [welded(shop)])
    hollow_beam(shop, ends=())

    with pytest.raises(ProblemError, match="BM"):
        sign_vents(line=made.lines.get(), by=shop.user)

    assert made.lines.get().vents_checked_at is None


def test_with_its_holes_recorded_the_same_chassis_is_signed_for(shop):
    made = load(shop, [welded(shop)])
    hollow_beam(shop, ends=(1, 2))

    assert sign_vents(line=made.lines.get(), by=shop.user).vents_checked_by == shop.user
