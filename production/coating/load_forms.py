"""What people write on a load's page, read into figures."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal, InvalidOperation

from django.http import QueryDict

from bom.kernel.errors import Problem, ProblemError
from production.coating.counting_back import Found
from production.coating.models import LoadLine

NOTHING = Decimal(0)


def counted_out(fields: QueryDict, lines: Iterable[LoadLine]) -> dict[int, Decimal]:
    """What was counted onto the lorry, by line id; every line has a field.

    Raises:
        ProblemError: a field that is no number.
    """
    return {line.pk: _number(fields, f"out-{line.pk}", line, NOTHING) for line in lines}


def faults(fields: QueryDict, lines: Iterable[LoadLine]) -> dict[int, Found]:
    """What is missing and damaged, by line id; lines without a fault are left out.

    Raises:
        ProblemError: a field that is no number.
    """
    found = {}
    for line in lines:
        one = Found(
            missing=_number(fields, f"missing-{line.pk}", line, NOTHING),
            damaged=_number(fields, f"damaged-{line.pk}", line, NOTHING),
            damage=fields.get(f"damage-{line.pk}", "")[:200],
            then=fields.get(f"then-{line.pk}", "") or LoadLine.Then.USE,
        )
        if one.missing or one.damaged:
            found[line.pk] = one
    return found


def weight(fields: QueryDict) -> Decimal | None:
    """What the scale showed in kg; none where nobody weighed.

    Raises:
        ProblemError: it is no number.
    """
    text = fields.get("weighed", "").strip().replace(",", ".")
    if not text:
        return None
    try:
        return Decimal(text).quantize(Decimal("0.1"))
    except InvalidOperation:
        raise ProblemError(
            Problem(f'"{text}" is not a mass', "weighed", "Write what the scale shows in kg, or nothing.")
        ) from None


def _number(fields: QueryDict, name: str, line: LoadLine, usual: Decimal) -> Decimal:
    text = fields.get(name, "").strip()
    try:
        count = Decimal(text.replace(",", ".")) if text else usual
    except InvalidOperation:
        count = Decimal("NaN")
    if not count.is_finite():
        raise ProblemError(
            Problem(
                f'"{text}" is not a number of {name.split("-")[0]} parts',
                where=f"load {line.load.number}, {line.item.code} of order {line.order.number}",
                mend="Write how many, in figures.",
            )
        )
    return count
