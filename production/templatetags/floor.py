"""Small arithmetic and look-ups that the floor's drawings need in their templates."""

from collections.abc import Mapping
from typing import Any

from django.template import Library

register = Library()


@register.filter
def at(mapping: Mapping[Any, Any] | str, key: Any) -> Any:
    """The entry of a mapping, or "" where there is none."""
    return mapping.get(key, "") if isinstance(mapping, Mapping) else ""


@register.filter
def plus(value: float, more: float) -> str:
    return f"{value + more:g}"


@register.filter
def half(value: float) -> str:
    return f"{value / 2:g}"


@register.filter
def times(value: float, factor: float) -> str:
    """A product as SVG takes it."""
    return f"{min(value * factor, 1e6):g}"


@register.filter
def share(index: int, count: int) -> float:
    """Where the `index`-th of `count` equal stretches of a thousand begins."""
    return round(1000 * index / count, 1) if count else 0.0


@register.filter
def mid(x: float, width: float) -> str:
    """The middle of a stretch that begins at `x`."""
    return f"{x + width / 2:g}"
