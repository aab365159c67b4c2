"""What a scanned code says, before anybody looks it up.

Our own labels carry `WORD:code`, a lot's label `LOT:item:lot`; a colon inside a code is written %3A. Suppliers'
labels carry GS1 numbers. Anything else is a code as somebody would type it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from urllib.parse import unquote

from bom.kernel import gs1
from bom.kernel.errors import Problem, ProblemError


class Kind(StrEnum):
    """What a code names."""

    PLACE = "PLACE"
    ITEM = "ITEM"
    LOT = "LOT"
    PURCHASE = "PURCHASE"
    ORDER = "ORDER"
    KIT = "KIT"
    WORKS = "WORKS"
    CARD = "CARD"
    LOAD = "LOAD"
    TRADE_ITEM = "GTIN"
    PACKAGE = "SSCC"
    SITE = "GLN"
    PLAIN = "PLAIN"


OURS = (
    Kind.PLACE,
    Kind.ITEM,
    Kind.LOT,
    Kind.PURCHASE,
    Kind.ORDER,
    Kind.KIT,
    Kind.WORKS,
    Kind.CARD,
    Kind.LOAD,
)
_SYMBOLOGY = re.compile(r"^\](\w\d)")
# ISO/IEC 15424 symbology identifiers of symbols that hold GS1 element strings.
_HOLDS_GS1 = {"C1", "e0", "e1", "e2", "d2", "Q3", "J1"}
_LOOKS_LIKE_GS1 = re.compile(r"^(0[12]\d{14}|00\d{18})")


@dataclass(frozen=True)
class Scan:
    """A code read: its kind, the code itself (a GTIN with 14 digits), and what else the label says.

    `count` is how many pieces or packs the label says there are, `for_order` the purchase order it names.
    """

    kind: Kind
    code: str
    lot: str = ""
    serial: str = ""
    count: Decimal | None = None
    for_order: str = ""


def label_text(kind: Kind, *codes: str) -> str:
    """What our own label of a thing carries: the word and its codes."""
    return ":".join([kind.value, *(code.replace("%", "%25").replace(":", "%3A") for code in codes)])


def read(text: str) -> Scan:
    """Read what a scanner or a person sent.

    Digits that could be a GTIN or SSCC are one only where the check digit is right; else they are a plain code.

    Raises:
        ProblemError: nothing was read, a label of ours lacks its code, or a GS1 label is not right.
    """
    text = text.strip(" \t\r\n")
    symbol = _SYMBOLOGY.match(text)
    body = text[3:] if symbol else text
    if not body:
        raise ProblemError(Problem("Nothing was read", "", "Scan the label again, or type its code."))
    ours = _own_label(body)
    if ours is not None:
        return ours
    if (symbol and symbol.group(1) in _HOLDS_GS1) or gs1.SEPARATOR in body or body.startswith("("):
        return _from_elements(gs1.element_strings(body))
    return _bare_digits(body) or Scan(Kind.PLAIN, body)


def why_unknown(scan: Scan) -> ProblemError:
    """What to say of a code that nothing answers to: the wrong check digit if it has one, else that it is unknown."""
    if scan.kind is Kind.PLAIN and scan.code.isascii() and scan.code.isdecimal():
        try:
            _whole_key(scan.code)
        except ProblemError as refusal:
            return refusal
    word = "" if scan.kind is Kind.PLAIN else f"{scan.kind.value} "
    return ProblemError(
        Problem(
            f"Nothing here has the code {word}{scan.code}",
            "",
            "Scan a label of a place, an item, a lot, a kit or an order; a supplier's number must first be given to an "
            "item.",
        )
    )


def _own_label(body: str) -> Scan | None:
    word, _, rest = body.partition(":")
    if word.upper() not in OURS:
        return None
    codes = [unquote(code).strip() for code in rest.split(":")]
    wanted = 2 if word.upper() == Kind.LOT else 1
    if len(codes) != wanted or not all(codes):
        raise ProblemError(
            Problem(f"The label “{body}” is cut short", "", "Print it anew, or type the code beside it.")
        )
    return Scan(Kind(word.upper()), codes[0], lot=codes[1] if wanted == 2 else "")


def _bare_digits(body: str) -> Scan | None:
    if not body.isascii():
        return None
    try:
        if body.isdecimal():
            return _whole_key(body)
        return _from_elements(gs1.element_strings(body)) if _LOOKS_LIKE_GS1.match(body) else None
    except ProblemError:
        return None


def _whole_key(digits: str) -> Scan | None:
    if len(digits) in gs1.GTIN_LENGTHS:
        return Scan(Kind.TRADE_ITEM, gs1.gtin(digits))
    if len(digits) == gs1.SSCC_LENGTH:
        return Scan(Kind.PACKAGE, gs1.sscc(digits))
    if _LOOKS_LIKE_GS1.match(digits):
        return _from_elements(gs1.element_strings(digits))
    return None


def _from_elements(found: dict[str, str]) -> Scan:
    count = found.get("37") or found.get("30")
    said = Scan(
        Kind.PLAIN,
        "",
        lot=found.get("10", ""),
        serial=found.get("21", ""),
        count=Decimal(count) if count else None,
        for_order=found.get("400", ""),
    )
    for ai, kind in (
        ("01", Kind.TRADE_ITEM),
        ("02", Kind.TRADE_ITEM),
        ("00", Kind.PACKAGE),
        ("414", Kind.SITE),
    ):
        if ai in found:
            return replace(said, kind=kind, code=found[ai])
    listed = ", ".join(f"({ai}) {value}" for ai, value in found.items())
    raise ProblemError(
        Problem(
            f"The label names no goods: {listed or 'it is empty'}", "", "Scan the label with the item number."
        )
    )
