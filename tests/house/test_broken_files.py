"""Two hundred broken files and texts: each ends in words with a place, none in a fault or a half-written row."""

import random

import pytest

from bom.catalogue.files import RANGE
from bom.items.models import Item
from inventory.buying.price_files import PRICES
from tests import broken_files


def test_broken_drawings_end_in_words(tmp_path):
    tally = broken_files.try_drawings(random.Random(1), 80, tmp_path)

    assert tally.faults == []
    assert tally.told > 40


@pytest.mark.django_db
def test_broken_workbooks_end_in_words_and_leave_nothing_behind(workshop):
    tally = broken_files.try_workbooks(random.Random(2), 50)

    assert tally.faults == []
    assert tally.told > 25


@pytest.mark.django_db
def test_broken_counts_end_in_words(workshop):
    codes = list(Item.objects.filter(kind="bought").values_list("code", flat=True)[:40])
    tally = broken_files.try_counts(random.Random(3), 30, codes)

    assert tally.faults == []
    assert tally.told > 10


def test_broken_expressions_end_in_words():
    tally = broken_files.try_expressions(random.Random(4), 40)

    assert tally.faults == []
    assert tally.told > 20


@pytest.mark.django_db
def test_broken_bills_end_in_words_and_leave_nothing_behind(workshop):
    tally = broken_files.try_bills(random.Random(5), 40)

    assert tally.faults == []
    assert tally.told > 15


@pytest.mark.django_db
@pytest.mark.parametrize("desk", [RANGE, PRICES], ids=lambda desk: desk.name)
def test_broken_tables_end_in_words_and_leave_nothing_behind(workshop, desk):
    tally = broken_files.try_tables(random.Random(6), 40, desk)

    assert tally.faults == []
    assert tally.told > 15


def test_broken_certificates_end_in_words():
    tally = broken_files.try_certificates(random.Random(5), 40)

    assert tally.faults == []
    assert tally.told > 10
