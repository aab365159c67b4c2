"""The released bills of the whole workshop on one day, fetched once and handed to the arithmetic."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cached_property

from django.db.models.functions import Length

from bom.items.models import Item
from bom.structure.expansion import BillLine, Catalogue, Structure
from bom.structure.models import BillLine as BillLineRow
from bom.structure.models import Revision

RAW = (Item.Kind.SHEET, Item.Kind.SECTION)


@dataclass(frozen=True)
class Loaded:
    """A catalogue of bills with what was read beside it, by item code: ids, names, masses of one (kg), kinds."""

    catalogue: Catalogue
    item_ids: Mapping[str, int]
    revision_ids: Mapping[str, int]
    names: Mapping[str, str]
    own_kg: Mapping[str, Decimal]
    made: frozenset[str]
    raw: frozenset[str]

    @cached_property
    def without_bill(self) -> frozenset[str]:
        """Codes of made items that have no released revision on the day."""
        return frozenset(self.made - self.catalogue.structures.keys())


def load_catalogue(on: date) -> Catalogue:
    """Everything an expansion may look at on this day. Three queries whatever the number of items."""
    return load(on).catalogue


def load(on: date) -> Loaded:
    """`load_catalogue`, with the ids that a frozen bill needs. Three queries whatever the number of items."""
    items = list(
        Item.objects.values_list(
            "pk", "code", "kind", "is_phantom", "family__code", "colour__code", "hand", "name", "mass_kg"
        )
    )
    codes = {pk: code for pk, code, *_ in items}
    revisions = revisions_on(on)
    lines = _lines(revision_id for revision_id, _ in revisions.values())
    catalogue = Catalogue(
        structures={
            codes[item_id]: Structure(letter, tuple(lines.get(revision_id, ())))
            for item_id, (revision_id, letter) in revisions.items()
        },
        members={
            (family, colour or "", hand): code
            for _, code, _, _, family, colour, hand, _, _ in items
            if family
        },
        phantoms=frozenset(code for _, code, _, is_phantom, *_ in items if is_phantom),
    )
    return Loaded(
        catalogue,
        item_ids={code: pk for pk, code in codes.items()},
        revision_ids={codes[item_id]: revision_id for item_id, (revision_id, _) in revisions.items()},
        names={code: name for _, code, *_, name, _ in items},
        own_kg={code: mass_kg for _, code, *_, mass_kg in items},
        made=frozenset(code for _, code, kind, *_ in items if kind == Item.Kind.MADE),
        raw=frozenset(code for _, code, kind, *_ in items if kind in RAW),
    )


def with_revisions(loaded: Loaded, revisions: Mapping[str, tuple[int, str]]) -> Loaded:
    """The same with other revisions of some items, by code their id and letter. At most one query."""
    others = {code: one for code, one in revisions.items() if loaded.revision_ids.get(code) != one[0]}
    if not others:
        return loaded
    lines = _lines(revision_id for revision_id, _ in others.values())
    structures = {
        code: Structure(letter, tuple(lines.get(revision_id, ())))
        for code, (revision_id, letter) in others.items()
    }
    return replace(
        loaded,
        catalogue=replace(loaded.catalogue, structures={**loaded.catalogue.structures, **structures}),
        revision_ids={**loaded.revision_ids, **{code: one[0] for code, one in others.items()}},
    )


def revisions_on(on: date) -> dict[int, tuple[int, str]]:
    """By item the id and letter of the released revision in force on this day: the latest; of two that begin on
    the same day the higher letter. One query."""
    rows = (
        Revision.objects.filter(state=Revision.State.RELEASED, effective_from__lte=on)
        .order_by("effective_from", Length("letter"), "letter")
        .values_list("item_id", "pk", "letter")
    )
    return {item_id: (pk, letter) for item_id, pk, letter in rows}


def _lines(revision_ids: Iterable[int]) -> dict[int, list[BillLine]]:
    rows = BillLineRow.objects.filter(revision_id__in=set(revision_ids)).order_by("revision_id", "position")
    found: dict[int, list[BillLine]] = defaultdict(list)
    for revision_id, position, component, family, colour, hand, quantity, condition in rows.values_list(
        "revision_id",
        "position",
        "component__code",
        "family__code",
        "colour_of",
        "hand_of",
        "quantity",
        "condition",
    ):
        found[revision_id].append(BillLine(position, component, family, colour, hand, quantity, condition))
    return found
