"""Classes by value and by regularity against published examples and cut-offs."""

from decimal import Decimal

import pytest

from inventory.levels.demand import regularity, value_classes

# Ten items, use × price: https://quesba.com/questions/boreki-enterprises-following-10-items-inventory-theodore-boreki-asks-recent-835410
TEN_ITEMS = {
    "A2": 3000 * 50,
    "B8": 4000 * 12,
    "C7": 1500 * 45,
    "D1": 6000 * 10,
    "E9": 1000 * 20,
    "F3": 500 * 500,
    "G2": 300 * 1500,
    "H2": 600 * 20,
    "I5": 1750 * 10,
    "J8": 2500 * 5,
}


def test_classes_by_value():
    """Shares computed from the data (the page's own percentages do not add up): 41.38, 64.37, 78.16, 84.37, 89.89,
    94.30, 96.14, 97.75, 98.90, 100; with the usual cuts of 80 and 95 %."""
    codes = sorted(TEN_ITEMS)
    found = value_classes({place: Decimal(TEN_ITEMS[code]) for place, code in enumerate(codes)})
    ranked = sorted(found, key=lambda place: found[place].rank)

    assert [codes[place] for place in ranked] == ["G2", "F3", "A2", "C7", "D1", "B8", "E9", "I5", "J8", "H2"]
    assert [round(float(found[place].share) * 100, 2) for place in ranked] == [
        41.38, 64.37, 78.16, 84.37, 89.89, 94.30, 96.14, 97.75, 98.90, 100,
    ]  # fmt: skip
    assert [found[place].name for place in ranked] == ["A"] * 3 + ["B"] * 3 + ["C"] * 4


# Cut-offs 1.32 and 0.49: Syntetos, Boylan and Croston (2005), from memory. Histories made for the purpose: the
# interval and the spread of each are computed beside it.
@pytest.mark.parametrize(
    ("history", "interval", "spread", "name"),
    [
        ([5, 6, 4, 5, 5, 5], 1.0, 1 / 75, "smooth"),
        ([5, 0, 0, 4, 0, 6, 0, 5], 2.0, 0.02, "intermittent"),
        ([1, 20, 1, 1, 30, 2], 1.0, 1.5924, "erratic"),
        ([1, 0, 0, 20, 0, 0, 1, 0], 8 / 3, 1.4917, "lumpy"),
        ([0, 0, 0], 0, 0, "unused"),
    ],
)
def test_classes_by_regularity(history, interval, spread, name):
    found = regularity(history)

    assert found.name == name
    assert found.interval == pytest.approx(interval)
    assert found.spread == pytest.approx(spread, rel=1e-3)
