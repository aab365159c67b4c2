"""The released bills of the whole workshop on one day, fetched once and handed to the arithmetic.

Where a revision holds from a trailer's number on, what was fetched is good for every trailer: `Loaded.for_trailer`
gives the bills of one, without a further query.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from functools import cached_property

from bom.items.models import Item
from bom.structure.effectivity import Issue, Start, in_force, may_hold
from bom.structure.expansion import BillLine, Catalogue, Structure
from bom.structure.models import BillLine as BillLineRow
from bom.structure.models import Revision

RAW = (Item.Kind.SHEET, Item.Kind.SECTION)


@dataclass(frozen=True)
class Loaded:
    """A catalogue of bills with what was read beside it, by item code: ids, names, masses of one (kg), kinds.

    `issues` are the revisions of items of which one begins with a trailer's number, `bills` the lines of each of these
    by revision. `trailer` is the trailer whose bills stand in the catalogue; none: those that need no number.
    """

    catalogue: Catalogue
    item_ids: Mapping[str, int]
    revision_ids: Mapping[str, int]
    names: Mapping[str, str]
    own_kg: Mapping[str, Decimal]
    made: frozenset[str]
    raw: frozenset[str]
    on: date
    issues: Mapping[str, tuple[Issue, ...]] = field(default_factory=dict)
    bills: Mapping[int, Structure] = field(default_factory=dict)
    trailer: int | None = None

    @cached_property
    def without_bill(self) -> frozenset[str]:
        """Codes of made items that have no released revision on the day."""
        return frozenset(self.made - self.catalogue.structures.keys())

    @cached_property
    def first_numbers(self) -> tuple[int, ...]:
        """The trailer numbers with which some revision begins, in order."""
        numbers = {one.start.number for issues in self.issues.values() for one in issues}
        return tuple(sorted(number for number in numbers if number is not None))

    @property
    def all_revision_ids(self) -> frozenset[int]:
        """Every revision that holds for some trailer on the day."""
        return frozenset({*self.revision_ids.values(), *self.bills})

    def step(self, trailer: int | None) -> int:
        """How many of these numbers a trailer has reached: two of the same step have the same bills."""
        return 0 if trailer is None else bisect_right(self.first_numbers, trailer)

    def for_trailer(self, trailer: int | None) -> "Loaded":
        """The same with the bills that this trailer is made by."""
        if self.step(trailer) == self.step(self.trailer):
            return self
        found = {code: in_force(issues, self.on, trailer) for code, issues in self.issues.items()}
        chosen = {code: one.pk for code, one in found.items() if one is not None}
        structures = {code: one for code, one in self.catalogue.structures.items() if code not in self.issues}
        revisions = {code: pk for code, pk in self.revision_ids.items() if code not in self.issues}
        return replace(
            self,
            catalogue=replace(
                self.catalogue,
                structures=structures | {code: self.bills[pk] for code, pk in chosen.items()},
            ),
            revision_ids=revisions | chosen,
            trailer=trailer,
        )


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
    issues = {item_id: may_hold(rows, on) for item_id, rows in issues_on(on).items()}
    revisions = _in_force(issues, on, None)
    numbered = {item_id: rows for item_id, rows in issues.items() if any(one.start.number for one in rows)}
    letters = {one.pk: one.letter for rows in numbered.values() for one in rows}
    lines = _lines({*letters, *(revision_id for revision_id, _ in revisions.values())})
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
        on=on,
        issues={codes[item_id]: tuple(rows) for item_id, rows in numbered.items()},
        bills={pk: Structure(letter, tuple(lines.get(pk, ()))) for pk, letter in letters.items()},
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


def issues_on(on: date) -> dict[int, list[Issue]]:
    """By item the released revisions that have begun by this day, by day or for some trailer. One query."""
    rows = Revision.objects.filter(state=Revision.State.RELEASED, effective_from__lte=on)
    found: dict[int, list[Issue]] = defaultdict(list)
    for pk, item_id, letter, day, number in rows.values_list(
        "pk", "item_id", "letter", "effective_from", "from_number"
    ):
        found[item_id].append(Issue(pk, letter, Start(day, number)))
    return dict(found)


def revisions_on(on: date, trailer: int | None = None) -> dict[int, tuple[int, str]]:
    """By item the id and letter of the released revision in force on this day, for this trailer. One query."""
    return _in_force(issues_on(on), on, trailer)


def _in_force(
    issues: Mapping[int, Iterable[Issue]], on: date, trailer: int | None
) -> dict[int, tuple[int, str]]:
    found = {item_id: in_force(rows, on, trailer) for item_id, rows in issues.items()}
    return {item_id: (one.pk, one.letter) for item_id, one in found.items() if one is not None}


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
