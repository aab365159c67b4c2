"""Vent and drain holes recorded, judged and asked for, in the demonstration workshop."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bom.geometry import venting
from bom.geometry.folding import choose_rules
from bom.geometry.models import SectionProfile, VentNote
from bom.geometry.vents import SOLID, HoleDraft, judge_vents, record_holes, vent_state
from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.people.models import User

pytestmark = pytest.mark.django_db
GUIDE, SPARE = "SW-GUIDE", "SW-SPARE"


def _item(code):
    return Item.objects.get(code=code)


def _state(code):
    item = _item(code)
    return vent_state([item.pk])[item.pk]


def _both_ends(diameter, count=1):
    return [HoleDraft(end, purpose, Decimal(diameter), count) for end, purpose in ((1, "vent"), (2, "drain"))]


def test_a_member_whose_holes_are_wide_enough_is_met(workshop):
    assert _state("SW-U400-RAIL").outcome == venting.MET


def test_small_holes_are_not_met_until_wider_ones_are_recorded(workshop):
    assert _state(GUIDE).outcome == venting.NOT_MET

    record_holes(item=_item(GUIDE), holes=_both_ends("15"))

    assert _state(GUIDE).outcome == venting.MET


def test_an_assembly_is_as_good_as_its_worst_member(workshop):
    assert _state("GP-L").outcome == venting.NOT_MET
    assert [member.code for member in _state("GP-L").open_members] == [GUIDE]

    record_holes(item=_item(GUIDE), holes=[], ends_stay_open=True)

    assert _state("GP-L").outcome == venting.MET


def test_a_person_judges_where_the_rule_is_silent_and_new_holes_ask_anew(workshop):
    by = User.objects.get(username="coating")
    assert _state(SPARE).outcome == venting.PERSON

    judge_vents(item=_item(SPARE), is_met=True, reason="two holes drain it, seen", by=by)
    judged = _state(SPARE)
    record_holes(item=_item(SPARE), holes=_both_ends("12", 2))

    assert judged.outcome == venting.MET
    assert str(by) in judged.members[0].judged_by
    assert _state(SPARE).outcome == venting.PERSON


def test_a_rule_that_speaks_cannot_be_judged_away(workshop):
    with pytest.raises(ProblemError, match="not met"):
        judge_vents(item=_item(GUIDE), is_met=True, reason="good enough", by=User.objects.first())


def test_a_judgement_needs_its_reason(workshop):
    with pytest.raises(ProblemError, match="reason"):
        judge_vents(item=_item(SPARE), is_met=True, reason=" ", by=User.objects.first())


def test_the_rule_that_the_workshop_chose_decides_and_is_named(workshop):
    record_holes(item=_item("SW-KEEL-S"), holes=_both_ends("16"))
    by_quarter = _state("SW-KEEL-S")
    choose_rules(bend_rule="k_factor", vent_rule=venting.BY_TABLE, by=None)
    by_table = _state("SW-KEEL-S")

    assert (by_quarter.outcome, by_quarter.rule.code) == (venting.NOT_MET, venting.QUARTER)
    assert (by_table.outcome, by_table.rule.code) == (venting.MET, venting.BY_TABLE)


def test_a_hollow_member_without_a_known_section_needs_a_person(workshop):
    SectionProfile.objects.filter(item__code="RHS-60x40x3").delete()

    assert _state("SW-U400-RAIL").outcome == venting.PERSON
    assert _state("CH-U400").outcome == venting.PERSON


def test_a_plate_is_solid(workshop):
    assert _state("FP-JACK").outcome == SOLID


def test_the_same_holes_again_change_nothing(workshop):
    judge_vents(item=_item(SPARE), is_met=True, reason="seen", by=User.objects.first())
    record_holes(item=_item(SPARE), holes=_both_ends("11", 2))

    assert VentNote.objects.get(item=_item(SPARE)).outcome == venting.MET


def test_a_hole_wider_than_the_section_is_refused(workshop):
    with pytest.raises(ProblemError, match="does not go into"):
        record_holes(item=_item(GUIDE), holes=_both_ends("45"))


def test_holes_of_a_solid_part_are_refused(workshop):
    with pytest.raises(ProblemError, match="not hollow"):
        record_holes(item=_item("FP-JACK"), holes=_both_ends("12"))


def test_the_queries_do_not_grow_with_the_items(workshop):
    hollow = list(Item.objects.filter(is_hollow=True, kind="made").values_list("pk", flat=True))
    with CaptureQueriesContext(connection) as few:
        vent_state(list(Item.objects.filter(code__startswith="CH-U4").values_list("pk", flat=True)))
    with CaptureQueriesContext(connection) as many:
        vent_state(hollow)

    assert len(hollow) > 50
    assert len(many) <= len(few) + 1
