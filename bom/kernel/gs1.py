"""GS1 numbers and element strings, as suppliers' labels carry them.

A key (GTIN, GLN, SSCC) ends in a check digit: weights 3 and 1 from the right, to the next ten (GS1 General
Specifications, 7.9). An element string is a row of application identifiers, each followed by its value; one of
variable length ends at the separator character or at the end. The table of identifiers is python-stdnum's.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from stdnum import gs1_128, numdb
from stdnum.exceptions import ValidationError

from bom.kernel.errors import Problem, ProblemError

SEPARATOR = "\x1d"
"""FNC1 as scanners send it inside an element string."""

GTIN_LENGTHS = (8, 12, 13, 14)
GLN_LENGTH = 13
SSCC_LENGTH = 18

_NAMES = {"00": "SSCC", "01": "GTIN", "02": "GTIN"} | {f"41{digit}": "GLN" for digit in "01234567"}
_AI = numdb.get("gs1_ai")
_BRACKETED = re.compile(r"\((\d{2,4})\)([^(]*)")
_PART = re.compile(r"(\[?)([NXYZ])(\.\.)?(\d+)(?:\.\.[NXYZ]?(\d+))?")


def check_digit(body: str) -> int:
    """The digit that belongs behind `body`, the digits of a GS1 key without its last."""
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(body)))
    return -total % 10


def gtin(text: str) -> str:
    """A trade item number of 8, 12, 13 or 14 digits, written with 14.

    Raises:
        ProblemError: other characters than digits, another length, or a wrong check digit (the right one is said).
    """
    return _key(text, "GTIN", GTIN_LENGTHS).zfill(14)


def gln(text: str) -> str:
    """The number of a firm or a place, 13 digits. Raises as `gtin`."""
    return _key(text, "GLN", (GLN_LENGTH,))


def sscc(text: str) -> str:
    """The number of a pallet or parcel, 18 digits. Raises as `gtin`."""
    return _key(text, "SSCC", (SSCC_LENGTH,))


def element_strings(text: str) -> dict[str, str]:
    """The values of a GS1 element string by application identifier, checked.

    `text` is either as printed, "(01)04006381333931(10)A7", or as a scanner sends it, with `SEPARATOR` after
    values of variable length. A GTIN is given with its 14 digits.

    Raises:
        ProblemError: an unknown or doubled identifier, a value of the wrong length or kind, or a wrong check digit.
    """
    found: dict[str, str] = {}
    pairs = _printed(text) if text.startswith("(") else _sent(text)
    for ai, value in pairs:
        if found.get(ai, value) != value:
            raise ProblemError(
                Problem(f"({ai}) stands twice with different values", "label", "Scan one label at a time.")
            )
        found[ai] = _checked(ai, value)
    return found


def lengths(ai: str) -> tuple[int, int]:
    """Least and most characters of the value of an application identifier that the table knows."""
    least = most = 0
    for optional, _, up_to, first, second in _PART.findall(str(_rule(ai)["format"])):
        most += int(second or first)
        least += 0 if optional else 1 if up_to else int(first)
    return least, most


def _key(text: str, name: str, allowed: tuple[int, ...]) -> str:
    digits = re.sub(r"[\s-]", "", text)
    if not digits.isascii() or not digits.isdecimal() or len(digits) not in allowed:
        wanted = " or ".join(str(length) for length in allowed)
        raise ProblemError(
            Problem(
                f"“{text}” is no {name}: it has {len(digits)} characters and a {name} has {wanted} digits",
                "",
                "Scan it again, or type the digits under the bars.",
            )
        )
    wanted_digit = check_digit(digits[:-1])
    if int(digits[-1]) != wanted_digit:
        raise ProblemError(
            Problem(
                f"The check digit of {name} {digits} is wrong: it ends in {digits[-1]} and should end in "
                f"{wanted_digit}",
                "",
                "One digit was misread or two were swapped: scan it again, or type the digits under the bars.",
            )
        )
    return digits


def _rule(ai: str) -> dict[str, str]:
    known, rule = _AI.info(ai)[0]
    if not rule or known != ai:
        raise ProblemError(
            Problem(f"({ai}) is no GS1 application identifier", "label", "Scan the label again, slowly.")
        )
    return dict(rule)


def _printed(text: str) -> Iterator[tuple[str, str]]:
    if _BRACKETED.sub("", text).strip():
        raise ProblemError(
            Problem(f"“{text}” cannot be read", "label", "Write each as (identifier)value, e.g. (01)… (10)….")
        )
    for ai, value in _BRACKETED.findall(text):
        _rule(ai)
        yield ai, value.strip().strip(SEPARATOR)


def _sent(text: str) -> Iterator[tuple[str, str]]:
    rest = text.lstrip(SEPARATOR)
    while rest:
        ai, rule = _AI.info(rest)[0]
        if not rule:
            raise ProblemError(
                Problem(
                    f"“{rest[:4]}” begins no GS1 application identifier",
                    "label",
                    "The scanner may leave the separator out; set it to send FNC1 as GS, or type the figures.",
                )
            )
        rest = rest[len(ai) :]
        _, most = lengths(ai)
        value = rest[:most].split(SEPARATOR, 1)[0]
        rest = rest[len(value) :].lstrip(SEPARATOR)
        yield ai, value


def _checked(ai: str, value: str) -> str:
    least, most = lengths(ai)
    name = str(_rule(ai).get("name", ai)).lower()
    if not least <= len(value) <= most:
        wanted = f"{least}" if least == most else f"{least} to {most}"
        raise ProblemError(
            Problem(
                f"({ai}) {name} has {len(value)} characters and takes {wanted}", "label", "Scan it again."
            )
        )
    if ai in _NAMES:
        _key(value, _NAMES[ai], (len(value),))
    try:
        gs1_128.info(ai + value)
    except (ValidationError, ValueError, ArithmeticError):
        raise ProblemError(
            Problem(f"({ai}) {name} cannot be “{value}”", "label", "Scan it again, or type it.")
        ) from None
    return value
