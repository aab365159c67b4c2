"""A year of loads to the galvaniser, and two that lie with him now: one late, one just sent.

What went out in the past were frames that were welded, came back and were built into trailers, so that nothing of
them is left. What lies outside now are brackets and winch posts for the shelf. All of it is done by the verbs that
people use, with the days on which it happened.
"""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from random import Random

from django.utils import timezone

from bom.items.models import Item
from bom.people.models import User
from inventory.buying import outside, outside_claims
from inventory.buying.models import PurchaseOrder, Supplier
from inventory.buying.outside import Goods, Load
from inventory.buying.outside_models import OutsideAnswer, OutsideClaim, OutsideLine, OutsideService
from inventory.levels.arithmetic import after_working_days
from inventory.stock import ledger
from inventory.stock.models import Location, Posting

LOADS_BEFORE = 20
DAYS_BETWEEN = 14
STATED_DAYS = 4
# Working days that the past loads were away; the first promise was the stated time. Invented.
_AWAY = (4, 4, 5, 4, 6, 5, 4, 7, 5, 4)
# Kilograms of a frame where the item's mass is not known; invented.
_FRAMES = (("CH-B1300", 82), ("CH-B1500", 105), ("CH-B1000", 78), ("CH-U750", 53))
# Sent so many working days ago; code and how many.
_AWAY_NOW = (
    ("D-0231", 8, (("KB-160", 60), ("UB-M", 24))),
    ("D-0232", 2, (("WP-M", 12), ("KB-200", 16))),
)
_CLAIMED = {7: ("missing", 1), 13: ("damaged", 1)}


def add_outside_before(
    items: Mapping[str, Item], places: Mapping[str, Location], today: date, history_weeks: int, by: User
) -> Supplier:
    """The galvaniser with his terms, and the loads of the past, as far as the history goes back."""
    supplier = Supplier.objects.create(
        code="MARLBECK",
        name="Marlbeck Zinc Baths",
        lead_days=STATED_DAYS,
        confirm_days=2,
        address="Marlbeck Zinc Baths\nKettle Lane\nTiddersleigh Fen",
        email="loads@marlbeck.example",
    )
    service = OutsideService.objects.create(
        work="galvanise",
        name="hot-dip galvanising",
        supplier=supplier,
        place=places["GALV"],
        price_per_kg=Decimal("0.68"),
        minimum_kg=Decimal(400),
        days_away=STATED_DAYS,
    )
    random = Random("galvaniser")
    for number in reversed(range(min(LOADS_BEFORE, (history_weeks - 2) * 7 // DAYS_BETWEEN))):
        left_on = _working(today - timedelta(days=DAYS_BETWEEN * (number + 1) + 10))
        _past_load(service, number, left_on, _past_goods(items, random), items, places, by)
    return supplier


def send_some_now(
    items: Mapping[str, Item], places: Mapping[str, Location], today: date, by: User
) -> list[OutsideLine]:
    """Two loads that are away: one is past its day and has been asked about, one is promised."""
    service = outside.service_for("galvanise")
    assert service is not None  # made by `add_outside_before`
    made = []
    for reference, days_ago, wanted in _AWAY_NOW:
        goods = [Goods(items[code].pk, Decimal(count)) for code, count in wanted if code in items]
        left_on = _back(today, days_ago)
        line = _send(service, reference, goods, left_on, items, places, by)
        made.append(line)
    late, fresh = made
    _answer(late, late.wanted_on, _noon(late.wanted_on - timedelta(days=3)), by)
    OutsideAnswer.objects.create(
        line=late,
        key=f"demo:chase:{late.pk}",
        by=by,
        at=_noon(_back(today, 1)),
        words="the kettle stood still for a day; on the lorry tomorrow",
        again_on=today,
    )
    _answer(fresh, fresh.wanted_on, _noon(_back(today, 1)), by)
    return made


def _past_load(
    service: OutsideService,
    number: int,
    left_on: date,
    goods: Sequence[Goods],
    items: Mapping[str, Item],
    places: Mapping[str, Location],
    by: User,
) -> None:
    line = _send(service, f"D-{230 - number:04d}", goods, left_on, items, places, by)
    _answer(line, line.wanted_on, _noon(after_working_days(left_on, 1)), by)
    came = _noon(after_working_days(left_on, _AWAY[number % len(_AWAY)]))
    pieces = list(line.pieces.order_by("pk"))
    kind, short = _CLAIMED.get(number, ("", 0))
    back = {piece.pk: piece.sent for piece in pieces}
    if kind == "missing":
        back[pieces[0].pk] -= short
    line = outside.bring_back(
        key=f"demo:load:{number}:back",
        line=line,
        back=back,
        target=places["WELD"],
        by=by,
        rest_is_missing=True,
        happened_at=came,
    )
    gone = {piece.item_id: back[piece.pk] for piece in pieces}
    if kind == "damaged":
        outside_claims.claim_damaged(
            key=f"demo:claim:{number}",
            piece=pieces[0],
            quantity=Decimal(short),
            reason="bare spots under the drawbar, bent at the rear",
            is_scrap=True,
            by=by,
        )
        gone[pieces[0].item_id] -= short
    for claim in OutsideClaim.objects.filter(piece__line=line, state=OutsideClaim.State.OPEN, kind="missing"):
        outside_claims.settle_claim(
            claim=claim,
            is_made_good=True,
            credit=Decimal("140.00"),
            answer="lost in the bath, credited",
            by=by,
        )
    _change(f"demo:load:{number}:built", places["WELD"], places["CONV"], gone, came, Posting.Kind.MAKE, by)
    PurchaseOrder.objects.filter(pk=line.order_id).update(made_at=_noon(left_on))


def _send(
    service: OutsideService,
    reference: str,
    goods: Sequence[Goods],
    left_on: date,
    items: Mapping[str, Item],
    places: Mapping[str, Location],
    by: User,
) -> OutsideLine:
    """Welded that morning, sent at noon."""
    totals = {one.item_id: one.quantity for one in goods}
    morning = _noon(left_on) - timedelta(hours=4)
    _change(
        f"demo:{reference}:welded", places["CONV"], places["WELD"], totals, morning, Posting.Kind.MAKE, by
    )
    masses = {item.pk: item.mass_kg for item in items.values()}
    frames = {items[code].pk: Decimal(mass) for code, mass in _FRAMES if code in items}
    mass = sum(
        ((masses[pk] or frames.get(pk, Decimal(2))) * count for pk, count in totals.items()), Decimal(0)
    )
    return outside.send(
        key=f"demo:{reference}:out",
        service=service,
        load=Load(reference, goods, mass.quantize(Decimal("0.01")), after_working_days(left_on, STATED_DAYS)),
        source=places["WELD"],
        by=by,
        happened_at=_noon(left_on),
    )


def _past_goods(items: Mapping[str, Item], random: Random) -> list[Goods]:
    return [
        Goods(items[code].pk, Decimal(random.randint(2, 4)))
        for code, _ in random.sample(_FRAMES, 3)
        if code in items
    ]


def _change(
    key: str,
    source: Location,
    target: Location,
    quantities: Mapping[int, Decimal],
    at: datetime,
    kind: Posting.Kind,
    by: User,
) -> None:
    lines = [
        line
        for item_id, quantity in sorted(quantities.items())
        if quantity
        for line in (
            ledger.Line(item_id, source.pk, -quantity),
            ledger.Line(item_id, target.pk, quantity),
        )
    ]
    ledger.post(key=key, kind=kind, lines=lines, by=by, happened_at=at, reason="demonstration")


def _answer(line: OutsideLine, promised_on: date, at: datetime, by: User) -> None:
    """The demonstration writes the past; verbs write today."""
    OutsideAnswer.objects.create(
        line=line, key=f"demo:{line.pk}", by=by, at=at, promised_on=promised_on, before_on=line.due_on
    )
    line.confirmed_on = promised_on
    line.save(update_fields=["confirmed_on"])


def _working(day: date) -> date:
    """The day, or the Friday before it."""
    return day - timedelta(days=max(0, day.weekday() - 4))


def _back(today: date, working_days: int) -> date:
    day = today
    while working_days:
        day -= timedelta(days=1)
        working_days -= day.weekday() < 5
    return day


def _noon(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time(12)))
