"""How the bill of an item stands: the revision in force for the next trailer to be ordered, and the draft."""

from collections.abc import Collection

from django.db.models import Q
from django.http import Http404
from django.utils import timezone

from bom.items.models import Item
from bom.structure.effectivity import in_force
from bom.structure.models import Revision
from production.orders.numbers import next_number


def begun_now() -> Q:
    """Of revisions: those that have begun for the next trailer to be ordered. At most two queries, made at once."""
    has_begun = Q(from_number__isnull=True) | Q(from_number__lte=next_number())
    return has_begun & Q(effective_from__lte=timezone.localdate(), state=Revision.State.RELEASED)


def in_force_of(revisions: Collection[Revision]) -> Revision | None:
    """Of one item's revisions the one in force. At most two queries, none where no revision has a number."""
    released = {one.pk: one for one in revisions if one.state == Revision.State.RELEASED}
    trailer = next_number() if any(one.from_number for one in released.values()) else None
    found = in_force([one.issue for one in released.values()], timezone.localdate(), trailer)
    return released[found.pk] if found else None


def draft_of(item: Item) -> Revision | None:
    return item.revisions.filter(state=Revision.State.DRAFT).first()


def draft_or_404(code: str) -> Revision:
    revision = (
        Revision.objects.filter(item__code=code, state=Revision.State.DRAFT).select_related("item").first()
    )
    if revision is None:
        raise Http404(f"{code} has no draft. Open one from its bill.")
    return revision
