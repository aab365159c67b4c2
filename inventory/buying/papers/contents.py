"""What stands on an order paper: texts only, made once and drawn as PDF and as workbook alike."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal

from django.utils import timezone

from bom.templatetags.workshop import money, quantity_text
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine
from inventory.buying.outside_models import OutsideLine
from inventory.buying.paper_models import Letterhead
from inventory.buying.pricing import value
from inventory.buying.queries import lines


@dataclass(frozen=True)
class PaperLine:
    """A line as the supplier reads it. Quantity and money are kept as numbers too, for the workbook."""

    position: int
    code: str
    name: str
    their_code: str
    quantity: Decimal
    quantity_text: str
    unit: str
    price: Decimal
    price_text: str
    value: Decimal
    value_text: str
    wanted_on: date
    wanted_text: str


@dataclass(frozen=True)
class Paper:
    """An order paper. Addresses are lists of lines."""

    title: str
    number: str
    copy: int
    ordered_text: str
    from_name: str
    from_address: tuple[str, ...]
    from_contact: tuple[str, ...]
    deliver_to: tuple[str, ...]
    to_name: str
    to_address: tuple[str, ...]
    released_by: str
    lines: tuple[PaperLine, ...]
    total: Decimal
    total_text: str
    terms: tuple[str, ...]

    def as_texts(self) -> dict[str, object]:
        """For the drawing: everything as texts and whole numbers."""
        texts = asdict(self)
        texts["total"] = str(self.total)
        texts["lines"] = [
            {name: entry if isinstance(entry, int) else str(entry) for name, entry in line.items()}
            for line in texts["lines"]
        ]
        return texts


def paper_of(order: PurchaseOrder, *, copy: int) -> Paper:
    """The paper of an order as it was released: what we asked for, not what was confirmed since."""
    head = Letterhead.current()
    asked = [_line(line) for line in lines(order) if line.rest_of_id is None]
    asked += [_work(line) for line in order.outside_lines.select_related("service").order_by("position")]
    total = sum((line.value for line in asked), Decimal(0))
    address = _lines(head.address)
    return Paper(
        title="Purchase order",
        number=order.number,
        copy=copy,
        ordered_text=long_day(order.ordered_on or timezone.localdate()),
        from_name=head.name,
        from_address=address,
        from_contact=tuple(text for text in (head.telephone, head.email) if text),
        deliver_to=_lines(head.deliver_to) or address,
        to_name=order.supplier.name,
        to_address=_lines(order.supplier.address),
        released_by=str(order.released_by or ""),
        lines=tuple(asked),
        total=total,
        total_text=money(total),
        terms=_lines(head.terms),
    )


def long_day(day: date) -> str:
    """ "Tue 12 May 2026, W20": a paper is read in other years too."""
    return f"{day:%a} {day.day} {day:%b %Y}, W{day.isocalendar().week:02d}"


def _line(line: PurchaseOrderLine) -> PaperLine:
    asked = _asked(line)
    worth = value(asked, line.price)
    wanted_on = line.wanted_on or line.due_on
    return PaperLine(
        position=line.position,
        code=line.item.code,
        name=line.item.name,
        their_code=line.their_code or "",  # type: ignore[attr-defined]
        quantity=asked,
        quantity_text=quantity_text(asked),
        unit=line.item.unit,
        price=line.price,
        price_text=_price(line.price),
        value=worth,
        value_text=money(worth),
        wanted_on=wanted_on,
        wanted_text=long_day(wanted_on),
    )


def _work(line: OutsideLine) -> PaperLine:
    """A load sent out for work: what is charged is its mass, at least the minimum."""
    least = f", at least {quantity_text(line.minimum_kg)} kg are charged" if line.minimum_kg else ""
    return PaperLine(
        position=line.position,
        code=line.reference,
        name=f"{line.service.name} of our load, {quantity_text(line.mass_kg)} kg{least}",
        their_code="",
        quantity=line.charged_kg,
        quantity_text=quantity_text(line.charged_kg),
        unit="kg",
        price=line.price_per_kg,
        price_text=_price(line.price_per_kg),
        value=line.value,
        value_text=money(line.value),
        wanted_on=line.wanted_on,
        wanted_text=long_day(line.wanted_on),
    )


def _asked(line: PurchaseOrderLine) -> Decimal:
    """What was ordered on the line, with the parts of it that the supplier brings later."""
    rests = sum((rest.asked_quantity or Decimal(0) for rest in line.rests.all()), Decimal(0))
    return (line.asked_quantity if line.asked_quantity is not None else line.quantity) + rests


def _price(price: Decimal) -> str:
    """Money with the fourth place where it is needed: screws cost parts of a penny."""
    text = money(price)
    exact = f"{price:.4f}"
    return text if exact.endswith("00") else f"{text.split('.')[0]}.{exact.split('.')[1].rstrip('0')}"


def _lines(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())
