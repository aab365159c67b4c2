"""What is news about an alert. Pure: compares what is seen now with the worst that was ever told.

News of a dated shortage: it is needed on an earlier day, or there on a later one, than was told; or more is short
than was told. News of a shelf: it runs out at least two days earlier than was told, or the quantity to buy has grown
by more than a tenth (the daily use moves both a little; common practice, no source). Another order that is stopped
is an alert of its own, and so news by itself. What gets better is never news, and getting as bad as it was before
is none either.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

SHELF_DAYS = timedelta(days=2)
SHELF_GROWTH = Decimal("1.1")


class What(StrEnum):
    """What got worse."""

    DATE = "date"
    LARGER = "larger"


@dataclass(frozen=True)
class Standing:
    """How bad it is: how much is short (above zero), since when it is needed, when it is there (None: not known)."""

    quantity: Decimal
    needed_on: date | None
    there_on: date | None


@dataclass(frozen=True)
class News:
    """Something worse than was told, before and now."""

    what: What
    field: str
    before: date | Decimal | None
    now: date | Decimal | None


def news_of_shortage(told: Standing, now: Standing) -> list[News]:
    """What is worse about a dated shortage than was ever told."""
    found = []
    if _is_earlier(now.needed_on, told.needed_on):
        found.append(News(What.DATE, "needed_on", told.needed_on, now.needed_on))
    if _is_later(now.there_on, told.there_on):
        found.append(News(What.DATE, "there_on", told.there_on, now.there_on))
    if now.quantity > told.quantity:
        found.append(News(What.LARGER, "quantity", told.quantity, now.quantity))
    return found


def news_of_shelf(told: Standing, now: Standing) -> list[News]:
    """What is worse about a shelf than was ever told. When it could be there is not: that moves with every day."""
    found = []
    before, runs_out = told.needed_on, now.needed_on
    if runs_out is not None and (before is None or runs_out <= before - SHELF_DAYS):
        found.append(News(What.DATE, "needed_on", before, runs_out))
    if now.quantity > told.quantity * SHELF_GROWTH:
        found.append(News(What.LARGER, "quantity", told.quantity, now.quantity))
    return found


def worst(told: Standing, news: list[News]) -> Standing:
    """What has been told once the news is out: only what was news is moved."""
    changed = {one.field: one.now for one in news}
    return Standing(
        changed.get("quantity", told.quantity),  # type: ignore[arg-type]
        changed.get("needed_on", told.needed_on),  # type: ignore[arg-type]
        changed.get("there_on", told.there_on),  # type: ignore[arg-type]
    )


def _is_earlier(now: date | None, told: date | None) -> bool:
    return now is not None and (told is None or now < told)


def _is_later(now: date | None, told: date | None) -> bool:
    """Not known when is later than any day."""
    return told is not None and (now is None or now > told)
