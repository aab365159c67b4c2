"""The vehicle identification number of ISO 3779: built, taken apart, and checked.

Seventeen characters, digits and capitals without I, O and Q: the maker's code (1–3), what the trailer is (4–9), which
one it is (10–17). A small maker has a 9 as third character, and positions 12–14 complete his code. The check digit in
position 9 is the rule of 49 CFR 565; other countries do not ask for it. Works on texts only.
"""

from __future__ import annotations

from dataclasses import dataclass

from bom.kernel.errors import Problem, ProblemError

LENGTH = 17
ALPHABET = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
SMALL = "9"
FILLER = "0"
MOST_SERIAL, MOST_SMALL_SERIAL = 999_999, 999

# 49 CFR 565: what a letter counts, and the weight of each of the seventeen places.
_VALUES = {
    **{digit: int(digit) for digit in "0123456789"},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)),
    "P": 7,
    "R": 9,
    **dict(zip("STUVWXYZ", range(2, 10), strict=True)),
}
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_CHECK_PLACE = 8

# A cycle of thirty years; from memory, not from the standard's text.
YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"
FIRST_YEAR = 1980


@dataclass(frozen=True)
class Plan:
    """How a maker fills the seventeen places.

    `descriptor` fills 4–8 (and 9 is the check digit, or a 0 where none is wanted); `year` stands in place 10 (0 where
    the year is not coded); `plant` in 11. A small maker's number has three digits, any other's six.
    """

    wmi: str
    descriptor: str
    plant: str = FILLER
    small_code: str = ""
    has_check_digit: bool = False
    has_year: bool = False

    @property
    def mark(self) -> str:
        """What names the maker: no number may be given twice under one mark."""
        return self.wmi + self.small_code

    @property
    def most(self) -> int:
        """The highest number there is room for."""
        return MOST_SMALL_SERIAL if self.small_code else MOST_SERIAL


def check_digit(vin: str) -> str:
    """The digit (or X) that belongs in place 9 of these seventeen characters; what stands there does not count.

    Raises:
        ProblemError: not seventeen characters, or one that may not stand in a VIN.
    """
    if wrong := character_problems(vin):
        raise ProblemError(*wrong)
    total = sum(_VALUES[character] * weight for character, weight in zip(vin, _WEIGHTS, strict=True))
    remainder = total % 11
    return "X" if remainder == 10 else str(remainder)


def has_right_check_digit(vin: str) -> bool:
    """Whether place 9 holds the check digit."""
    return check_digit(vin) == vin[_CHECK_PLACE]


def character_problems(vin: str) -> list[Problem]:
    """What is wrong with the length or the characters."""
    problems = []
    if len(vin) != LENGTH:
        problems.append(Problem(f"It has {len(vin)} characters, not {LENGTH}", f"VIN {vin}"))
    if strange := sorted({one for one in vin if one not in ALPHABET}):
        problems.append(
            Problem(
                f"{', '.join(strange)} may not stand in a VIN",
                f"VIN {vin}",
                "Use digits and capitals without I, O and Q.",
            )
        )
    return problems


def year_code(year: int) -> str:
    """The character for a model year; the cycle begins again after thirty years."""
    return YEAR_CODES[(year - FIRST_YEAR) % len(YEAR_CODES)]


def plan_problems(plan: Plan) -> list[Problem]:
    """Everything that stops numbers from being given by this plan."""
    problems = [
        *_part(plan.wmi, 3, "maker's code (WMI)"),
        *_part(plan.descriptor, 5, "descriptor"),
        *_part(plan.plant, 1, "plant"),
    ]
    is_small = plan.wmi[2:3] == SMALL
    if is_small:
        problems += _part(plan.small_code, 3, "small maker's code")
    elif plan.small_code:
        problems.append(
            Problem(
                "The third character of the WMI is not 9, so no small maker's code belongs to it",
                "small maker's code",
                "Leave it empty, or look at the letter in which the WMI was given.",
            )
        )
    return problems


def build(plan: Plan, *, number: int, year: int) -> str:
    """The VIN of the trailer with this number.

    Raises:
        ProblemError: the plan cannot be used, or there is no room for the number.
    """
    if problems := plan_problems(plan):
        raise ProblemError(*problems)
    if not 1 <= number <= plan.most:
        raise ProblemError(
            Problem(
                f"The number {number} does not fit; there is room for 1 to {plan.most}",
                f"VIN of maker {plan.mark}",
                "Ask the body that gave the WMI for a further code.",
            )
        )
    place_10 = year_code(year) if plan.has_year else FILLER
    serial = f"{plan.small_code}{number:03d}" if plan.small_code else f"{number:06d}"
    vin = f"{plan.wmi}{plan.descriptor}{FILLER}{place_10}{plan.plant}{serial}"
    return vin[:_CHECK_PLACE] + check_digit(vin) + vin[_CHECK_PLACE + 1 :] if plan.has_check_digit else vin


@dataclass(frozen=True)
class Sections:
    """A VIN taken apart: the maker, what it is, which one it is; `maker` is whole also for a small maker."""

    wmi: str
    descriptor: str
    indicator: str
    maker: str


def take_apart(vin: str) -> Sections:
    """The three sections of ISO 3779. ProblemError where it is no VIN."""
    if wrong := character_problems(vin):
        raise ProblemError(*wrong)
    wmi = vin[:3]
    return Sections(wmi, vin[3:9], vin[9:], wmi + vin[11:14] if wmi.endswith(SMALL) else wmi)


def _part(text: str, length: int, name: str) -> list[Problem]:
    if len(text) == length and all(one in ALPHABET for one in text):
        return []
    return [
        Problem(
            f"“{text}” cannot be used",
            name,
            f"It takes {length} characters: digits and capitals without I, O and Q.",
        )
    ]
