"""What a change of a draft does to its bill, its mass and its price."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from bom.catalogue.configuring import Answers, Range, configuration_of, price_of, problems_of
from bom.kernel.errors import ProblemError
from bom.structure.loading import Loaded
from production.orders.freezing import expand_bill

NOTHING = Decimal(0)


@dataclass(frozen=True)
class Changed:
    """A part of which more or fewer are wanted; quantities in its stock unit."""

    code: str
    name: str
    before: Decimal
    after: Decimal


@dataclass(frozen=True)
class Difference:
    """`parts` are those that no longer are what they were; `price` is what is added (minus: taken off)."""

    parts: tuple[Changed, ...]
    price: Decimal


def difference_of(before: Answers, after: Answers, catalogue: Range, loaded: Loaded) -> Difference | None:
    """None where either cannot be built, so that there is nothing to compare."""
    old, new = _totals(before, catalogue, loaded), _totals(after, catalogue, loaded)
    if old is None or new is None:
        return None
    codes = sorted(code for code in {*old, *new} if old.get(code, NOTHING) != new.get(code, NOTHING))
    parts = tuple(
        Changed(code, loaded.names[code], old.get(code, NOTHING), new.get(code, NOTHING)) for code in codes
    )
    return Difference(parts, price_of(after, catalogue) - price_of(before, catalogue))


def _totals(answers: Answers, catalogue: Range, loaded: Loaded) -> Mapping[str, Decimal] | None:
    if problems_of(answers, catalogue):
        return None
    top_item = catalogue.models[answers.model].item.code
    try:
        return expand_bill(loaded, top_item, configuration_of(answers, catalogue)).totals
    except ProblemError:
        return None
