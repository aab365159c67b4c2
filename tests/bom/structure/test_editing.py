"""Bills are checked before they are saved, and never change once released."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bom.catalogue.configuring import known_names
from bom.catalogue.models import OptionChoice, OptionGroup
from bom.items.models import Colour, Family, Item
from bom.kernel.errors import ProblemError
from bom.structure.editing import (
    LineDraft,
    add_line,
    begin_revision,
    next_letter,
    release_revision,
    save_lines,
)
from bom.structure.loading import load_catalogue
from bom.structure.models import Revision
from bom.structure.wording import KnownNames

pytestmark = pytest.mark.django_db
DAY = date(2026, 1, 5)


@pytest.fixture
def names() -> KnownNames:
    winch = OptionGroup.objects.create(code="winch", name="Winch")
    OptionChoice.objects.create(group=winch, code="manual", name="hand winch")
    return known_names()


def made(code: str) -> Item:
    return Item.objects.create(code=code, name=code.title(), kind="made")


def released(item: Item, names: KnownNames, *lines: LineDraft, on: date = DAY) -> Revision:
    revision = begin_revision(item=item, effective_from=on, by=None)
    save_lines(revision=revision, lines=lines, names=names, by=None)
    return release_revision(revision=revision, names=names, by=None)


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        pytest.param(
            {"condition": "option.winch = 'manual'"}, "condition, line 1, column 14", id="not an expression"
        ),
        pytest.param(
            {"condition": "option.wynch == 'manual'"}, "condition, line 1, column 1", id="unknown group"
        ),
        pytest.param(
            {"condition": "option.winch == 'steam'"}, "condition, line 1, column 17", id="unknown choice"
        ),
        pytest.param({"quantity": "2 *"}, "quantity, line 1, column 4", id="unfinished quantity"),
        pytest.param({"quantity": "'two'"}, "quantity, line 1, column 1", id="quantity that is a text"),
    ],
)
def test_a_wrong_expression_is_told_with_item_revision_line_field_and_column(names, changes, place):
    chassis, plate = made("CHASSIS"), made("PLATE")
    revision = begin_revision(item=chassis, effective_from=DAY, by=None)

    with pytest.raises(ProblemError) as refusal:
        save_lines(revision=revision, lines=[LineDraft(30, plate, **changes)], names=names, by=None)

    (problem,) = refusal.value.problems
    assert problem.where == f"item CHASSIS, revision A, line 30, {place}"
    assert problem.mend
    assert not revision.lines.exists()


def test_a_bill_that_would_contain_itself_is_refused_with_the_chain(names):
    trailer, chassis, drawbar = made("TRAILER"), made("CHASSIS"), made("DRAWBAR")
    released(trailer, names, LineDraft(10, chassis))
    released(chassis, names, LineDraft(10, drawbar))
    revision = begin_revision(item=drawbar, effective_from=DAY, by=None)

    with pytest.raises(ProblemError, match="DRAWBAR → TRAILER → CHASSIS → DRAWBAR"):
        add_line(revision=revision, line=LineDraft(10, trailer), names=names, by=None)

    assert not revision.lines.exists()


def test_an_item_of_a_family_counts_as_contained(names):
    family = Family.objects.create(code="ARMS", name="Arms")
    arm = Item.objects.create(code="ARM-L", name="Arm", kind="made", family=family, hand="L")
    revision = begin_revision(item=arm, effective_from=DAY, by=None)

    with pytest.raises(ProblemError, match="ARM-L → ARM-L"):
        save_lines(
            revision=revision, lines=[LineDraft(10, family=family, hand_of="'L'")], names=names, by=None
        )


def test_a_released_revision_is_never_edited(names):
    revision = released(made("CHASSIS"), names, LineDraft(10, made("PLATE")))

    with pytest.raises(ProblemError, match="released; orders are frozen with it"):
        save_lines(revision=revision, lines=[], names=names, by=None)

    assert revision.lines.count() == 1


def test_a_new_revision_copies_the_old_one_under_the_next_letter(names):
    chassis = made("CHASSIS")
    first = released(chassis, names, LineDraft(10, made("PLATE"), quantity="4"))

    second = begin_revision(item=chassis, effective_from=DAY, by=None, copy_from=first)

    assert second.letter == "B"
    assert [line.quantity for line in second.lines.all()] == ["4"]
    with pytest.raises(ProblemError, match="has draft revision B already"):
        begin_revision(item=chassis, effective_from=DAY, by=None)


def test_a_bought_item_has_no_bill(names):
    axle = Item.objects.create(code="AXLE", name="Axle", kind="bought")

    with pytest.raises(ProblemError, match="Only a made item has a bill"):
        begin_revision(item=axle, effective_from=DAY, by=None)


def test_a_line_names_an_item_or_a_family_but_not_both_nor_neither(names):
    plate, family = made("PLATE"), Family.objects.create(code="F", name="F")
    revision = begin_revision(item=made("CHASSIS"), effective_from=DAY, by=None)

    with pytest.raises(ProblemError) as refusal:
        save_lines(
            revision=revision, lines=[LineDraft(10), LineDraft(20, plate, family)], names=names, by=None
        )

    assert [problem.where[-7:] for problem in refusal.value.problems] == ["line 10", "line 20"]


@pytest.mark.parametrize(("letter", "after"), [("A", "B"), ("Z", "AA"), ("AZ", "BA"), ("ZZ", "AAA")])
def test_letters_go_on_after_z(letter, after):
    assert next_letter(letter) == after


def test_the_catalogue_of_a_day_holds_the_revision_in_force_on_it(names):
    chassis, plate = made("CHASSIS"), made("PLATE")
    released(chassis, names, LineDraft(10, plate), on=date(2026, 1, 1))
    released(chassis, names, LineDraft(10, plate), on=date(2026, 6, 1))
    begin_revision(item=chassis, effective_from=date(2026, 1, 1), by=None)

    assert load_catalogue(date(2026, 5, 31)).structures["CHASSIS"].revision == "A"
    assert load_catalogue(date(2026, 6, 1)).structures["CHASSIS"].revision == "B"
    assert "CHASSIS" not in load_catalogue(date(2025, 12, 31)).structures


def test_the_catalogue_knows_families_by_colour_and_hand_and_what_is_phantom():
    red = Colour.objects.create(code="red", name="Red", swatch="#a00000")
    family = Family.objects.create(code="RO", name="Roller")
    Item.objects.create(code="RO-RED", name="Roller", kind="bought", family=family, colour=red)
    Item.objects.create(code="SET", name="Set", kind="made", is_phantom=True)

    catalogue = load_catalogue(DAY)

    assert catalogue.members == {("RO", "red", ""): "RO-RED"}
    assert catalogue.phantoms == {"SET"}


@pytest.mark.parametrize("count", [3, 30])
def test_loading_takes_three_queries_however_many_bills(names, count):
    plate = made("PLATE")
    for number in range(count):
        released(made(f"M{number}"), names, LineDraft(10, plate))

    with CaptureQueriesContext(connection) as queries:
        load_catalogue(DAY)

    assert len(queries) == 3
