"""Vent and drain holes of hollow parts: recorded, judged by a person, and asked for by coating."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from bom.geometry import venting
from bom.geometry.models import HouseRule, SectionProfile, VentHole, VentNote
from bom.geometry.venting import RULES, Hole, HollowMember, VentRule
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from bom.structure.effectivity import may_hold
from bom.structure.loading import issues_on, revisions_on
from bom.structure.models import BillLine
from bom.templatetags.workshop import quantity_text

SOLID = "solid"
SOLID_WORDS = "nothing hollow"
# A bill is never this deep; the walk stops here even if one were.
DEEPEST = 12


@dataclass(frozen=True)
class HoleDraft:
    """Holes of one diameter at one end, as asked for."""

    end: int
    purpose: str
    diameter_mm: Decimal
    count: int


@transaction.atomic
def record_holes(*, item: Item, holes: Sequence[HoleDraft], ends_stay_open: bool = False) -> Item:
    """Say which vent and drain holes a hollow part has, in place of those recorded; a judgement made on the old ones
    is taken away. The same again changes nothing.

    Raises:
        ProblemError: the item is not hollow, or a hole is wider than the section.
    """
    item = Item.objects.select_for_update().get(pk=item.pk)
    if not item.is_hollow:
        raise ProblemError(Problem(f"{item.code} is not hollow", "vent holes", "Mark it as hollow first"))
    _refuse_too_wide(item, holes)
    before = sorted(item.vent_holes.values_list("end", "purpose", "diameter_mm", "count"))
    after = sorted((one.end, one.purpose, one.diameter_mm, one.count) for one in holes)
    note = VentNote.objects.filter(item=item).first()
    if before == after and ends_stay_open == bool(note and note.ends_stay_open):
        return item
    item.vent_holes.all().delete()
    VentHole.objects.bulk_create(
        VentHole(item=item, end=one.end, purpose=one.purpose, diameter_mm=one.diameter_mm, count=one.count)
        for one in holes
    )
    VentNote.objects.update_or_create(
        item=item, defaults={"ends_stay_open": ends_stay_open, "outcome": "", "reason": "", "by": None}
    )
    return item


@transaction.atomic
def judge_vents(*, item: Item, is_met: bool, reason: str, by: User) -> VentNote:
    """A person's judgement, where the rule in force is silent.

    Raises:
        ProblemError: the rule is not silent on this part, or no reason was given.
    """
    Item.objects.select_for_update().get(pk=item.pk)
    if not reason.strip():
        raise ProblemError(Problem("A judgement needs its reason", "reason", "Say what you looked at"))
    own = own_verdict(item)
    if own != venting.PERSON:
        mend = "Record other holes, or choose another rule for the workshop"
        raise ProblemError(Problem(f"The rule says “{venting.WORDS[own]}” of {item.code}", "vents", mend))
    outcome = VentNote.Outcome.MET if is_met else VentNote.Outcome.NOT_MET
    note, _ = VentNote.objects.update_or_create(
        item=item, defaults={"outcome": outcome, "reason": reason.strip()[:200], "by": by}
    )
    return note


def own_verdict(item: Item) -> str:
    """What the rule says of the item's own cavity, a person's judgement left aside."""
    state = vent_state([item.pk])[item.pk]
    if not state.is_assembly:
        return state.members[0].by_rule if state.members else venting.PERSON
    return venting.worst([member.outcome for member in state.members])


def _refuse_too_wide(item: Item, holes: Sequence[HoleDraft]) -> None:
    section = sections_of([item.pk]).get(item.pk)
    narrowest = min(section.height_mm, section.breadth_mm or section.height_mm) if section else None
    problems = [
        Problem(
            f"A hole of {quantity_text(one.diameter_mm)} mm does not go into a section of {section}",
            f"end {one.end}",
            "Give a smaller diameter, or several holes",
        )
        for one in holes
        if narrowest is not None and one.diameter_mm > narrowest
    ]
    if problems:
        raise ProblemError(*problems)


@dataclass(frozen=True)
class MemberVents:
    """One hollow member: what the rule asks of it, what it has, the outcome and who decided."""

    item_id: int
    code: str
    name: str
    size: str
    length_mm: Decimal | None
    holes: tuple[str, ...]
    asked: str
    why: str
    by_rule: str
    outcome: str
    judged_by: str = ""
    section: SectionProfile | None = None
    ends_stay_open: bool = False

    @property
    def words(self) -> str:
        return venting.WORDS[self.outcome]


@dataclass(frozen=True)
class VentState:
    """Whether an item may go into the zinc bath as far as its holes tell: met, not met, person, or solid."""

    item_id: int
    outcome: str
    rule: VentRule
    is_assembly: bool = False
    members: tuple[MemberVents, ...] = ()
    judged_by: str = ""

    @property
    def words(self) -> str:
        return SOLID_WORDS if self.outcome == SOLID else venting.WORDS[self.outcome]

    @property
    def open_members(self) -> tuple[MemberVents, ...]:
        """The members that keep it from being met."""
        return tuple(member for member in self.members if member.outcome != venting.MET)


def vent_state(item_ids: Collection[int]) -> dict[int, VentState]:
    """For each item the outcome under the rule of the workshop, member by member.

    An assembly is as good as its worst hollow member; every line of its bill counts, whatever its condition, because
    a member that is sometimes there must be vented when it is. An item marked hollow without any hollow member known
    needs a person. The number of queries grows with the depth of the bills, not with the number of items.
    """
    walk = _Walk.down_from(set(item_ids), timezone.localdate())
    rule = RULES[HouseRule.in_force().vent_rule]
    notes = {row.item_id: row for row in VentNote.objects.filter(item__in=walk.items).select_related("by")}
    members = _members(walk, rule, notes)
    return {pk: _state(pk, walk, members, notes, rule) for pk in item_ids if pk in walk.items}


def solid_state(item: Item) -> VentState:
    """The state of an item that has nothing hollow in it. One query."""
    return VentState(item.pk, SOLID, RULES[HouseRule.in_force().vent_rule])


def sections_of(item_ids: Collection[int]) -> dict[int, SectionProfile]:
    """The section that an item is sawn from, by item. Two queries."""
    revisions = revisions_on(timezone.localdate())
    wanted = [revisions[pk][0] for pk in item_ids if pk in revisions]
    lines = BillLine.objects.filter(revision__in=wanted, component__section__isnull=False)
    return {
        line.revision.item_id: line.component.section
        for line in lines.select_related("revision", "component__section").order_by("-position")
        if line.component
    }


@dataclass
class _Walk:
    """The bills below some items: every item met, and the items directly below each."""

    items: dict[int, Item] = field(default_factory=dict)
    below: dict[int, set[int]] = field(default_factory=dict)

    @classmethod
    def down_from(cls, item_ids: set[int], on: date) -> "_Walk":
        # A revision by trailer number holds for some trailers only; what it brings must be vented too.
        walk, revisions = cls(), {pk: may_hold(rows, on) for pk, rows in issues_on(on).items()}
        level = Item.objects.in_bulk(item_ids)
        for _ in range(DEEPEST):
            walk.items.update(level)
            parents = {
                one.pk: pk for pk, item in level.items() if item.is_made for one in revisions.get(pk, ())
            }
            if not parents:
                break
            level = walk._step(parents)
        return walk

    def _step(self, parents: Mapping[int, int]) -> dict[int, Item]:
        """The items below these, by revision, that were not met before. Two queries."""
        lines = list(
            BillLine.objects.filter(revision__in=parents).values_list(
                "revision_id", "component_id", "family_id"
            )
        )
        asked = Q(pk__in={pk for _, pk, _ in lines if pk}) | Q(family__in={pk for *_, pk in lines if pk})
        found = {item.pk: item for item in Item.objects.filter(asked)}
        members: dict[int, set[int]] = {}
        for item in found.values():
            members.setdefault(item.family_id or 0, set()).add(item.pk)
        for pk in parents.values():
            self.below.setdefault(pk, set())
        for revision, component, family in lines:
            self.below[parents[revision]] |= {component} if component else members.get(family or 0, set())
        return {pk: item for pk, item in found.items() if pk not in self.items}

    def all_below(self, pk: int) -> set[int]:
        """The item and everything in it, at any depth."""
        found, ahead = {pk}, [pk]
        while ahead:
            for child in self.below.get(ahead.pop(), ()):
                if child not in found:
                    found.add(child)
                    ahead.append(child)
        return found


def _members(walk: _Walk, rule: VentRule, notes: Mapping[int, VentNote]) -> dict[int, MemberVents]:
    """The hollow made items of the walk that are sawn from a hollow section. Two queries."""
    profiles = {
        row.item_id: row
        for row in SectionProfile.objects.filter(item__in=walk.items)
        if row.profile.is_hollow
    }
    sawn = {
        pk: next(profiles[child] for child in sorted(children) if child in profiles)
        for pk, children in walk.below.items()
        if walk.items[pk].is_hollow and any(child in profiles for child in children)
    }
    unknown = _without_section(walk, sawn)
    holes: dict[int, list[VentHole]] = {}
    for hole in VentHole.objects.filter(item__in=sawn):
        holes.setdefault(hole.item_id, []).append(hole)
    known = {
        pk: _member(walk.items[pk], profile, holes.get(pk, []), notes.get(pk), rule)
        for pk, profile in sawn.items()
    }
    return known | {pk: _unknown(walk.items[pk], notes.get(pk)) for pk in unknown}


def _without_section(walk: _Walk, sawn: Mapping[int, SectionProfile]) -> list[int]:
    """Hollow made items of which neither a section nor a hollow part below is known."""
    return [
        pk
        for pk, item in walk.items.items()
        if item.is_hollow
        and item.is_made
        and pk not in sawn
        and not any(
            walk.items[child].is_hollow and walk.items[child].is_made for child in walk.below.get(pk, ())
        )
    ]


def _unknown(item: Item, note: VentNote | None) -> MemberVents:
    judged = note if note and note.outcome else None
    return MemberVents(
        item_id=item.pk,
        code=item.code,
        name=item.name,
        size="not known",
        length_mm=item.length_mm,
        holes=(),
        asked="It is hollow, but no hollow section is known in its bill, so no rule can be applied",
        why=judged.reason if judged else "A person must look",
        by_rule=venting.PERSON,
        outcome=judged.outcome if judged else venting.PERSON,
        judged_by=_signature(judged),
    )


def _member(
    item: Item, profile: SectionProfile, holes: Iterable[VentHole], note: VentNote | None, rule: VentRule
) -> MemberVents:
    member = HollowMember(
        float(profile.height_mm),
        float(profile.breadth_mm),
        float(profile.wall_mm),
        float(item.length_mm or 0),
        tuple(Hole(hole.end, float(hole.diameter_mm), hole.count) for hole in holes),
        bool(note and note.ends_stay_open),
    )
    verdict = venting.judge(member, rule.code)
    judged = note if note and note.outcome and verdict.outcome == venting.PERSON else None
    return MemberVents(
        item_id=item.pk,
        code=item.code,
        name=item.name,
        size=profile.profile.size,
        length_mm=item.length_mm,
        holes=tuple(
            f"end {hole.end}: {hole.count} × {quantity_text(hole.diameter_mm)} mm {hole.purpose}"
            for hole in holes
        ),
        asked=verdict.asked,
        why=judged.reason if judged else verdict.why,
        by_rule=verdict.outcome,
        outcome=judged.outcome if judged else verdict.outcome,
        judged_by=_signature(judged),
        section=profile,
        ends_stay_open=member.ends_stay_open,
    )


def _signature(note: VentNote | None) -> str:
    return f"{note.by}, {timezone.localtime(note.at):%Y-%m-%d}" if note else ""


def _state(
    pk: int,
    walk: _Walk,
    members: Mapping[int, MemberVents],
    notes: Mapping[int, VentNote],
    rule: VentRule,
) -> VentState:
    if pk in members:
        return VentState(pk, members[pk].outcome, rule, False, (members[pk],), members[pk].judged_by)
    below = sorted((members[one] for one in walk.all_below(pk) if one in members), key=lambda one: one.code)
    if not below and not walk.items[pk].is_hollow:
        return VentState(pk, SOLID, rule)
    outcome = venting.worst([member.outcome for member in below])
    note = notes.get(pk)
    if note and note.outcome and outcome == venting.PERSON:
        return VentState(pk, note.outcome, rule, True, tuple(below), _signature(note))
    return VentState(pk, outcome, rule, True, tuple(below))
