"""Numbers read off parts: made even, and looked at for what cannot be right. Knows no rows.

A serial number is one part's alone. What stands on a tyre is not: the tyre identification number of 49 CFR 574.5 is
the plant's, the size's and the week's, so that the four tyres of one trailer may well bear the same one.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from enum import StrEnum

from bom.kernel.errors import Problem, ProblemError

SHORTEST, LONGEST = 2, 60
# 49 CFR 574.5: the letters and digits a tyre identification number is made of (no G, I, O, Q, S, Z).
TYRE_SIGNS = frozenset("ABCDEFHJKLMNPRTUVWXY0123456789")
TYRE_LENGTHS = range(4, 14)
_SIGNS = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-/._+ ")
_MASK: dict[str, Callable[[str], bool]] = {
    "#": lambda sign: sign in "0123456789",
    "@": lambda sign: sign.isascii() and sign.isalpha(),
    "?": lambda sign: sign.isascii() and sign.isalnum(),
}


class Form(StrEnum):
    """How a number of a part looks."""

    ANY = "any"
    MASK = "mask"
    TYRE = "tyre"


def even(text: str) -> str:
    """As it is kept: capitals, one space where there were several, none at the ends."""
    return " ".join(text.upper().split())


def checked(text: str, form: Form, mask: str, *, where: str, today: date) -> str:
    """The number as it is kept.

    `mask` holds a sign for each of the number's: # a digit, @ a letter, ? either, anything else itself.

    Raises:
        ProblemError: it cannot be the number of such a part; says why.
    """
    code = even(text)
    if form is Form.TYRE:
        return _tyre(code, where, today)
    if not SHORTEST <= len(code) <= LONGEST:
        mend = f"A number has {SHORTEST} to {LONGEST} signs. Read it off the part again."
        raise ProblemError(Problem(f"“{code}” has {len(code)} signs", where, mend))
    if strange := sorted(set(code) - _SIGNS):
        raise ProblemError(
            Problem(
                f"“{code}” holds {' '.join(strange)}", where, "Read it off the part again, not off the box."
            )
        )
    if form is Form.MASK and not fits(code, mask):
        mend = f"It should look like {mask}: # a digit, @ a letter, ? either. Read it again."
        raise ProblemError(Problem(f"“{code}” is no number of this part", where, mend))
    return code


def fits(code: str, mask: str) -> bool:
    """Whether each sign of the code is what the mask asks for at its place."""
    return len(code) == len(mask) and all(
        _MASK[wanted](sign) if wanted in _MASK else sign == wanted.upper()
        for sign, wanted in zip(code, mask, strict=True)
    )


def _tyre(code: str, where: str, today: date) -> str:
    code = code.removeprefix("DOT").replace(" ", "").replace("-", "")
    if len(code) not in TYRE_LENGTHS or not set(code) <= TYRE_SIGNS or not code[-4:].isdecimal():
        raise ProblemError(
            Problem(
                f"“{code}” is no tyre identification number",
                where,
                "It stands behind DOT on one side wall: 4 to 13 letters and digits without G, I, O, Q, S and Z, "
                "the last four the week and the year.",
            )
        )
    week, year = int(code[-4:-2]), 2000 + int(code[-2:])
    made = (year, week)
    if not 1 <= week <= 53 or made > today.isocalendar()[:2]:
        raise ProblemError(
            Problem(
                f"“{code}” would be of week {week:02d} of {year}",
                where,
                "The last four are week and year, e.g. 1426. Read the side wall again.",
            )
        )
    return code
