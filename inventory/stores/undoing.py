"""Taking a posting back with all that hangs on it, whichever room made it.

Each room says which postings are its own and how they are undone; the first that knows a posting undoes it. Rooms
above stores add theirs when the program starts (`inventory.apps`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from bom.people.models import User
from inventory.stock.models import Posting
from inventory.stores import bins, handling, issuing


class TakeBack(Protocol):
    def __call__(self, *, posting: Posting, by: User | None, reason: str) -> Posting: ...


@dataclass(frozen=True)
class Undoer:
    """Which postings a room made, and how it takes one back."""

    knows: Callable[[Posting], bool]
    take_back: TakeBack


def by_hand(posting: Posting) -> bool:
    return posting.key.startswith(f"{handling.KEY}:")


UNDOERS: list[Undoer] = [
    Undoer(lambda posting: by_hand(posting) and bins.is_bin(posting), bins.undo_bin),
    Undoer(
        lambda posting: (
            by_hand(posting) and posting.kind == Posting.Kind.ISSUE and posting.purpose_id is not None
        ),
        issuing.undo_issue,
    ),
    Undoer(by_hand, handling.take_back),
]


def can_take_back(posting: Posting) -> bool:
    """Whether the posting still stands and some room can take it back from here."""
    if posting.kind == Posting.Kind.REVERSAL or Posting.objects.filter(reverses=posting).exists():
        return False
    return any(undoer.knows(posting) for undoer in UNDOERS)


def take_back(*, posting: Posting, by: User | None, reason: str) -> Posting:
    """Reverse a posting with all that hangs on it: the purchase line, the signal, what is kept for the order.

    Raises:
        ProblemError: it was made at a station (undo it there), was reversed already, or the goods have moved on.
    """
    for undoer in UNDOERS:
        if undoer.knows(posting):
            return undoer.take_back(posting=posting, by=by, reason=reason)
    return handling.take_back(posting=posting, by=by, reason=reason)
