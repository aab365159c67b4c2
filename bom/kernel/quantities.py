"""Exact quantities: one place where a figure is rounded, and one way to write it."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Context, Decimal, InvalidOperation

from bom.kernel.errors import Problem, ProblemError

STEP = Decimal("0.000001")
_WIDE = Context(prec=60, rounding=ROUND_HALF_EVEN)


def exact(value: float | int | str | Decimal) -> Decimal:
    """`value` as a Decimal of at most six decimals, rounded half-even.

    A float is read as the shortest text that stands for it, so 0.1 is one tenth. ProblemError for what
    is not a finite number.
    """
    try:
        number = value if isinstance(value, Decimal) else Decimal(str(value).strip())
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite():
        raise ProblemError(Problem(f"“{value}” is not a number", mend="Give a number such as 2 or 1.25."))
    rounded = number.quantize(STEP, context=_WIDE)
    return rounded if rounded else rounded.copy_abs()


def round_up_to_multiple(quantity: Decimal, multiple: Decimal) -> Decimal:
    """The smallest whole multiple of `multiple` (above zero, same unit) that is at least `quantity`."""
    if multiple <= 0:
        raise ProblemError(
            Problem(
                f"A quantity cannot be rounded up to multiples of {format_quantity(multiple)}",
                mend="Give a multiple above zero.",
            )
        )
    return (quantity / multiple).to_integral_value(ROUND_CEILING) * multiple


def format_quantity(value: Decimal) -> str:
    """`value` without trailing zeros and never with an exponent: 2, 1.25, 1000."""
    text = f"{value:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text
