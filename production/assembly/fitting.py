"""Numbers read off axle, coupling, tyres while the trailer is built: which are wanted, read, taken back, excused."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from bom.items.models import Item
from bom.kernel import scans
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock.models import Balance, Location, Lot, Movement, Posting
from production.assembly.models import FittedNumber, KitLine, NotRead, NumberRule
from production.assembly.numbers import Form, checked
from production.orders.models import Order


@dataclass(frozen=True)
class Wanted:
    """A part of this trailer whose number is read off: how many, those read, and what the stores picked for it."""

    item: Item
    pieces: int
    form: Form
    mask: str
    read: tuple[FittedNumber, ...]
    picked: tuple[str, ...]
    excuse: NotRead | None
    is_due: bool = True

    @property
    def room(self) -> int:
        """How many numbers may still be read."""
        return max(0, self.pieces - len(self.read))

    @property
    def missing(self) -> int:
        """How many must still be read before the trailer leaves."""
        return self.room if self.is_due and self.excuse is None else 0

    @property
    def is_shared(self) -> bool:
        return self.form is Form.TYRE

    @property
    def looks(self) -> str:
        """What the number looks like, in few words; "" where anything may be."""
        words = {Form.TYRE: "behind DOT, the last four week and year", Form.MASK: f"like {self.mask}"}
        return words.get(self.form, "")


def wanted_of(orders: Collection[Order], also: Item | None = None) -> dict[int, list[Wanted]]:
    """By order, every part of its kit whose number is read off, or was, or is asked for by `also`. Four queries."""
    read: dict[tuple[int, int], list[FittedNumber]] = defaultdict(list)
    for one in FittedNumber.objects.filter(order__in=orders, taken_back_at__isnull=True).select_related("by"):
        read[one.order_id, one.item_id].append(one)
    lines = (
        KitLine.objects.filter(
            Q(item__tracking=Item.Tracking.SERIAL)
            | Q(item__number_rule__isnull=False)
            | Q(item__in=[item for _, item in read])
            | Q(item=also),
            kit__order__in=orders,
            wanted__gt=0,
        )
        .select_related("kit", "item__number_rule")
        .order_by("item__group", "item__code")
    )
    picked = _picked_lots(orders)
    excuses = {
        (one.order_id, one.item_id): one
        for one in NotRead.objects.filter(order__in=orders).select_related("by")
    }
    found: dict[int, list[Wanted]] = {order.pk: [] for order in orders}
    for line in lines:
        key = (line.kit.order_id, line.item_id)
        if key in read or _is_due(line.item) or line.item == also:
            found[line.kit.order_id].append(
                _wanted(line, tuple(read.get(key, ())), tuple(picked.get(key, ())), excuses.get(key))
            )
    return found


def wanted_numbers(order: Order, also: Item | None = None) -> list[Wanted]:
    """The parts of one trailer whose numbers are read off."""
    return wanted_of([order], also)[order.pk]


def _is_due(item: Item) -> bool:
    return item.tracking == Item.Tracking.SERIAL or hasattr(item, "number_rule")


def _wanted(
    line: KitLine, read: tuple[FittedNumber, ...], picked: tuple[str, ...], excuse: NotRead | None
) -> Wanted:
    rule: NumberRule | None = getattr(line.item, "number_rule", None)
    return Wanted(
        line.item,
        int(line.wanted),
        Form(rule.form) if rule else Form.ANY,
        rule.mask if rule else "",
        read,
        picked,
        excuse,
        _is_due(line.item),
    )


def missing_numbers(order: Order) -> list[Problem]:
    """What keeps a trailer at the gate because nobody could later say what is on it."""
    return [
        Problem(
            f"{one.missing} of {one.pieces} numbers of {one.item.code} {one.item.name} not read off",
            f"order {order.number}",
            "Read them off the parts on the page of its numbers; where one cannot be read, the manager says why.",
        )
        for one in wanted_numbers(order)
        if one.missing
    ]


@transaction.atomic
def fit(*, order: Order, text: str, by: User, item: Item | None = None) -> FittedNumber:
    """Write down the number read off a part. `text` is a scan or typed; where it names its part, or where one part
    alone can bear it, `item` may be left out. A serial number read twice changes nothing.

    Raises:
        ProblemError: no such part in the kit, the number cannot be right, is on another trailer, or is not what the
            stores picked; all numbers of the part are read; the trailer has gone.
    """
    where = f"order {order.number}"
    order = Order.objects.select_for_update(of=("self",)).select_related("purpose").get(pk=order.pk)
    _refuse_when_gone(order)
    item, text = _scanned(text, item)
    wanted = wanted_numbers(order, item)
    one, code = _which(wanted, item, text, where)
    again = next((row for row in one.read if row.code == code), None)
    if again is not None and not one.is_shared:
        return again
    if not one.room:
        mend = "Take one back if it was read wrongly."
        raise ProblemError(
            Problem(f"All {one.pieces} numbers of {one.item.code} are read already", where, mend)
        )
    if not one.is_shared:
        _refuse_elsewhere(one.item, code, where)
        _refuse_not_picked(one, code, order)
    made: FittedNumber = FittedNumber.objects.create(
        order=order, item=one.item, code=code, is_shared=one.is_shared, by=by
    )
    return made


@transaction.atomic
def take_back(*, number: FittedNumber, by: User) -> FittedNumber:
    """The number was read wrongly, or the part was changed. Once taken back it stays so.

    Raises:
        ProblemError: the trailer has gone.
    """
    order = Order.objects.select_for_update(of=("self",)).get(pk=number.order_id)
    number = FittedNumber.objects.get(pk=number.pk)
    if number.taken_back_at is not None:
        return number
    _refuse_when_gone(order)
    number.taken_back_by, number.taken_back_at = by, timezone.now()
    number.save(update_fields=["taken_back_by", "taken_back_at"])
    return number


@transaction.atomic
def excuse(*, order: Order, item: Item, reason: str, by: User) -> NotRead:
    """A permitted person says why the number of a part cannot be read. The first reason stays.

    Raises:
        ProblemError: no reason, or the trailer has gone.
    """
    order = Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    _refuse_when_gone(order)
    if not reason.strip():
        raise ProblemError(
            Problem(
                "No reason was given", f"{item.code} of order {order.number}", "Say why it cannot be read."
            )
        )
    made, _ = NotRead.objects.get_or_create(
        order=order, item=item, defaults={"reason": reason.strip()[:200], "by": by}
    )
    return made


def _refuse_when_gone(order: Order) -> None:
    if order.state == Order.State.GONE:
        raise ProblemError(
            Problem(
                "The trailer has gone and its record is sealed",
                f"order {order.number}",
                "Write a claim if a part was changed later.",
            )
        )


def _scanned(text: str, item: Item | None) -> tuple[Item | None, str]:
    """The part that a label names, and the number on it; a plain number is left as it is."""
    try:
        scan = scans.read(text)
    except ProblemError:
        return item, text
    if scan.kind is scans.Kind.LOT:
        return Item.objects.filter(code__iexact=scan.code).first() or item, scan.lot
    return item, scan.serial or text


def _which(wanted: list[Wanted], item: Item | None, text: str, where: str) -> tuple[Wanted, str]:
    """The part that this number belongs to, and the number as it is kept."""
    today = timezone.localdate()
    if item is not None:
        for one in wanted:
            if one.item.pk == item.pk:
                return one, checked(text, one.form, one.mask, where=f"{item.code}, {where}", today=today)
        raise ProblemError(
            Problem(f"{item.code} is no part of this kit", where, "Look at the list of its parts.")
        )
    able = []
    for one in wanted:
        try:
            able.append(
                (one, checked(text, one.form, one.mask, where=f"{one.item.code}, {where}", today=today))
            )
        except ProblemError as refusal:
            if len(wanted) == 1:
                raise refusal
    by_lot = [pair for pair in able if pair[1] in pair[0].picked]
    still = [pair for pair in able if pair[0].room]
    for few in (by_lot, still, able):
        if len(few) == 1:
            return few[0]
    raise ProblemError(
        Problem(
            f"“{text.strip()}” could be a number of {', '.join(one.item.code for one, _ in able)}"
            if able
            else f"“{text.strip()}” is no number of any part here",
            where,
            "Choose the part, then read the number again.",
        )
    )


def _refuse_elsewhere(item: Item, code: str, where: str) -> None:
    row = (
        FittedNumber.objects.filter(item=item, code=code, taken_back_at__isnull=True)
        .select_related("order")
        .first()
    )
    if row is not None:
        raise ProblemError(
            Problem(
                f"{item.code} {code} is on the trailer of order {row.order.number}",
                where,
                "Read it again; if it is right here, take it back there first.",
            )
        )


def _refuse_not_picked(one: Wanted, code: str, order: Order) -> None:
    """The ledger knows which serial number was picked; another one in the hand means that two were mixed up."""
    if (
        not one.picked
        or code in one.picked
        or not Lot.objects.filter(item=one.item, code__iexact=code).exists()
    ):
        return
    on = (
        Balance.objects.filter(item=one.item, lot__code__iexact=code, quantity__gt=0)
        .select_related("location")
        .first()
    )
    lies = f"; by the books {code} lies on {on.location.code}" if on else ""
    raise ProblemError(
        Problem(
            f"The stores picked {', '.join(one.picked)} for this trailer, not {code}{lies}",
            f"{one.item.code}, order {order.number}",
            "Fetch the one that was picked, or put it back on the kit's page and pick the other.",
        )
    )


def _picked_lots(orders: Collection[Order]) -> dict[tuple[int, int], list[str]]:
    """Serial numbers that stand as picked into the kit, or used up from it, by order and item. One query."""
    purposes = {order.purpose_id: order.pk for order in orders if order.purpose_id}
    counts: dict[tuple[int, int, str], int] = defaultdict(int)
    moves = Movement.objects.filter(
        posting__purpose__in=purposes,
        posting__kind__in=[Posting.Kind.ISSUE, Posting.Kind.RETURN],
        location__kind=Location.Kind.SHELF,
        lot__kind=Lot.Kind.SERIAL,
    ).order_by("pk")
    for purpose, item, code, quantity in moves.values_list(
        "posting__purpose_id", "item_id", "lot__code", "quantity"
    ):
        counts[purposes[purpose], item, code.upper()] += 1 if quantity < 0 else -1
    found: dict[tuple[int, int], list[str]] = defaultdict(list)
    for (order, item, code), count in counts.items():
        if count > 0:
            found[order, item].append(code)
    return found
