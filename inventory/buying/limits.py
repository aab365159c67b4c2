"""How much money a person may bind by a purchase order, alone and for others."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from bom.people.models import User
from inventory.buying.models import BuyingLimit

APPROVE = "inventory.approve_purchaseorder"


@dataclass(frozen=True)
class Reach:
    """What a person may release alone and approve for others, in money; none is without limit."""

    releases_up_to: Decimal | None
    approves_up_to: Decimal | None
    may_approve: bool

    def may_release(self, value: Decimal) -> bool:
        return self.releases_up_to is None or value <= self.releases_up_to

    def may_approve_value(self, value: Decimal) -> bool:
        return self.may_approve and (self.approves_up_to is None or value <= self.approves_up_to)


def reach_of(person: User) -> Reach:
    """A person's own row, else the highest of his roles, else nothing; no limits while nobody has a row.

    Two queries beside those of his permissions.
    """
    may_approve = person.has_perm(APPROVE)
    rows = list(BuyingLimit.objects.all())
    if not rows:
        return Reach(None, None, may_approve)
    own = [row for row in rows if row.person_id == person.pk]
    roles = set(person.groups.values_list("pk", flat=True))
    counting = own or [row for row in rows if row.role_id in roles]
    if not counting:
        return Reach(Decimal(0), Decimal(0), may_approve)
    ceilings = [row.approves_up_to for row in counting]
    known = [ceiling for ceiling in ceilings if ceiling is not None]
    return Reach(
        releases_up_to=max(row.releases_up_to for row in counting),
        approves_up_to=max(known) if len(known) == len(ceilings) else None,
        may_approve=may_approve,
    )
