"""Who gets what lies on the shelf: the order that needs it first, first. Pure arithmetic."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

NOTHING = Decimal(0)


@dataclass(frozen=True)
class Claim:
    """What one purpose wants of an item, in its stock unit, and when. `picked` of it lie in its kit already.

    What is picked stays where it is; no day means that it can wait for all the others.
    """

    purpose_id: int
    wanted: Decimal
    needed_on: date | None
    picked: Decimal = NOTHING


@dataclass(frozen=True)
class Given:
    """So much goes from one purpose (or from nobody) to another (or to nobody)."""

    source_id: int | None
    target_id: int | None
    quantity: Decimal


def share_out(stock: Decimal, claims: Sequence[Claim]) -> dict[int, Decimal]:
    """What is kept for each purpose, when `stock` is all there is for them, picked goods counted in.

    First needed, first served; on the same day in the order given. Nobody gets more than he wants, nobody less than
    he has picked, and together no more than the stock (unless more than that is picked already).
    """
    left = stock - sum((claim.picked for claim in claims), NOTHING)
    kept: dict[int, Decimal] = {}
    for claim in sorted(claims, key=lambda one: (one.needed_on is None, one.needed_on or date.max)):
        more = max(NOTHING, min(claim.wanted - claim.picked, left))
        kept[claim.purpose_id] = claim.picked + more
        left -= more
    return kept


def changes(before: Mapping[int, Decimal], after: Mapping[int, Decimal]) -> list[Given]:
    """From whom to whom: what some lose is told against what others gain, in the order of the purposes."""
    losses = {key: before[key] - after.get(key, NOTHING) for key in sorted(before)}
    gains = {key: after[key] - before.get(key, NOTHING) for key in sorted(after)}
    losing = [(key, quantity) for key, quantity in losses.items() if quantity > 0]
    found: list[Given] = []
    for target, gain in gains.items():
        while gain > 0:
            if not losing:
                found.append(Given(None, target, gain))
                break
            source, loss = losing.pop(0)
            part = min(loss, gain)
            found.append(Given(source, target, part))
            gain -= part
            if loss > part:
                losing.insert(0, (source, loss - part))
    return found + [Given(source, None, loss) for source, loss in losing]
