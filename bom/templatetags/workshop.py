"""How the workshop writes dates, quantities, money, lengths and lateness."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.conf import settings
from django.template import Library
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.kernel.quantities import format_quantity

register = Library()

NARROW = "\u202f"


def _grouped(number: Decimal, places: int) -> str:
    return f"{number:,.{places}f}".replace(",", NARROW).replace("-", "\u2212")


def day_text(value: date | datetime | None) -> str:
    """ "Tue 12 May, W20"; another year than this one is named."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        value = timezone.localtime(value).date() if value.tzinfo else value.date()
    year = "" if value.year == timezone.localdate().year else f" {value.year}"
    return f"{value:%a} {value.day} {value:%b}{year}, W{value.isocalendar().week:02d}"


def late_text(days: int | None) -> str:
    """ "3 days late", or nothing."""
    if not days or days < 1:
        return ""
    return "1 day late" if days == 1 else f"{days} days late"


def quantity_text(value: Decimal | int | float | None) -> str:
    """A stock quantity without needless zeros: 4, 2.5, 1 200."""
    if value is None:
        return ""
    number = Decimal(str(value)).quantize(Decimal("0.001")).normalize()
    places = max(0, -int(number.as_tuple().exponent))
    return _grouped(number, places)


@register.filter
def day(value: date | datetime | None) -> str:
    return day_text(value)


@register.filter
def short_day(value: date | datetime | None) -> str:
    """ "Tue 12 May", where the week is clear from its surroundings."""
    return day_text(value).split(",")[0]


@register.filter
def moment(value: datetime | None) -> str:
    if value is None:
        return ""
    local = timezone.localtime(value)
    return f"{local:%a} {local.day} {local:%b %H:%M}"


@register.filter
def late(days: int | None) -> str:
    return late_text(days)


@register.filter
def quantity(value: Any) -> str:
    return quantity_text(value)


@register.filter
def figure(value: Any) -> str:
    """A quantity as a form field takes it: no grouping, no needless zeros."""
    return format_quantity(value)


@register.filter
def typed(value: Any) -> str:
    """A quantity as a person would type it into a field: no grouping, no needless zeros."""
    return "" if value is None else format_quantity(Decimal(str(value)))


@register.filter
def money(value: Any) -> str:
    """Money with its sign before it: £1 250.00."""
    if value is None:
        return ""
    number = Decimal(str(value))
    sign = "\u2212" if number < 0 else ""
    return f"{sign}{settings.CURRENCY}{_grouped(abs(number), 2)}"


def _with_unit(value: Any, places: int, unit: str) -> SafeString | str:
    if value is None or value == "":
        return ""
    return format_html('{} <span class="unit">{}</span>', _grouped(Decimal(str(value)), places), unit)


@register.filter
def mm(value: Any) -> SafeString | str:
    return _with_unit(value, 0, "mm")


@register.filter
def kg(value: Any, places: int = 1) -> SafeString | str:
    return _with_unit(value, places, "kg")


@register.filter
def minutes(value: Any) -> str:
    """ "45 min" or "3 h 20"."""
    if value is None:
        return ""
    whole = round(float(value))
    return f"{whole} min" if whole < 90 else f"{whole // 60} h {whole % 60:02d}"


@register.filter
def hours(value: Any) -> str:
    """Minutes as hours with one place: 31.2 h without its unit."""
    return "" if value is None else _grouped(Decimal(str(value)) / 60, 1)


@register.filter
def unlocalised(value: Any) -> str:
    """A number as style sheets and scripts read it."""
    return f"{float(value):.3f}"


@register.filter
def local_input(value: datetime | None) -> str:
    """A moment as a form's field of date and time takes it."""
    return "" if value is None else f"{timezone.localtime(value):%Y-%m-%dT%H:%M}"


@register.filter
def percent(value: Any, places: int = 0) -> str:
    """A share from 0 to 1 as "83 %"."""
    if value is None:
        return ""
    return f"{float(value) * 100:.{places}f}{NARROW}%".replace("-", "\u2212")


@register.simple_tag(takes_context=True)
def address_with(context: dict[str, Any], **changes: Any) -> str:
    """This page's address with some of its query changed; an empty value drops the key."""
    query = context["request"].GET.copy()
    for key, value in changes.items():
        query.pop(key, None)
        if value not in (None, ""):
            query[key] = str(value)
    text = query.urlencode()
    return f"?{text}" if text else "?"
