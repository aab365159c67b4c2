"""Sheets, offcuts and bars as they are given on the command line."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from bom.kernel.errors import Problem, ProblemError
from production.cutting.bars.job import BarStock
from production.cutting.nesting.job import Point, SheetStock
from production.cutting.nesting.outside import corner_of, inscribed_ring, metal_rings
from production.cutting.outline_files import read_outline

FIGURE = r"\d{1,6}(?:\.\d{1,3})?"
MORE = rf"(?::(?P<price>{FIGURE}))?(?::(?P<count>\d{{1,6}}))?"
SHEET = re.compile(rf"(?P<length>{FIGURE})[x×](?P<width>{FIGURE}){MORE}")
BAR = re.compile(rf"(?P<length>{FIGURE}){MORE}")
UNPRICED = -1.0

Stock = TypeVar("Stock", SheetStock, BarStock)


def sheets_from(texts: Sequence[str]) -> list[SheetStock]:
    """The sheets written as LENGTHxWIDTH[:PRICE[:COUNT]]. One without a price costs as much by area as the
    cheapest with one, or its area in m². Raises `ProblemError` for other texts and for one size twice."""
    found = []
    for text in texts:
        match = _match(SHEET, text, "--sheet", "3000x1500, or with price and count 3000x1500:210:4")
        length, width, price, count = _figures(match)
        found.append(SheetStock(f"{length:g}x{width:g}", length, width, count, price))
    _refuse_twice([stock.code for stock in found], "--sheet")
    return _priced(found, lambda stock: stock.length_mm * stock.width_mm / 1e6)


def offcuts_from(paths: Sequence[Path]) -> tuple[list[SheetStock], dict[str, Point]]:
    """Offcuts drawn in DXF files with the holes in them, paid for already; a file given twice is there twice.

    Also by offcut where the corner of its box lies in its drawing. Raises `ProblemError` with what is wrong in a file.
    """
    stocks: list[SheetStock] = []
    corners: dict[str, Point] = {}
    problems: list[Problem] = []
    for path, times in Counter(paths).items():
        try:
            if not path.is_file():
                raise ProblemError(Problem("There is no such file", mend="Give the offcut's drawing"))
            drawn = read_outline(str(path))
        except ProblemError as refusal:
            problems += [problem.within(f"--offcut {path}") for problem in refusal.problems]
            continue
        outline, holes = metal_rings(drawn.outer, drawn.inners)
        length, width = max(x for x, _ in outline), max(y for _, y in outline)
        corners[str(path)] = corner_of(inscribed_ring(drawn.outer))
        stocks.append(SheetStock(str(path), length, width, times, 0.0, outline, holes))
    if problems:
        raise ProblemError(*problems)
    return stocks, corners


def bars_from(texts: Sequence[str]) -> tuple[list[BarStock], str]:
    """The bars written as LENGTH[:PRICE[:COUNT]], and what their cost counts: bars where one length has no price, mm
    where several have none, else money."""
    found = []
    for text in texts:
        length, _, price, count = _figures(_match(BAR, text, "--bar", "6000, or with a price 6000:48.50"))
        found.append(BarStock(f"{length:g}", length, count, price))
    _refuse_twice([stock.code for stock in found], "--bar")
    if any(stock.price != UNPRICED for stock in found):
        return _priced(found, lambda stock: stock.length_mm), "money"
    if len(found) == 1:
        return [replace(found[0], price=1.0)], "bars"
    return [replace(stock, price=stock.length_mm) for stock in found], "mm of bar"


def _match(pattern: re.Pattern[str], text: str, option: str, example: str) -> re.Match[str]:
    match = pattern.fullmatch(text.strip())
    if match is None:
        raise ProblemError(Problem(f"“{text[:40]}” is no size", option, f"Write {example}"))
    return match


def _figures(match: re.Match[str]) -> tuple[float, float, float, int | None]:
    """Length, width, price and count, with 0, -1 and none where they are not given."""
    given = match.groupdict()
    price = float(given["price"]) if given["price"] else UNPRICED
    return (
        float(given["length"]),
        float(given.get("width") or 0.0),
        price,
        int(given["count"]) if given["count"] else None,
    )


def _refuse_twice(codes: Sequence[str], option: str) -> None:
    if len(set(codes)) < len(codes):
        raise ProblemError(Problem("A size is given twice", option, "Give each size once"))


def _priced(stocks: Sequence[Stock], size: Callable[[Stock], float]) -> list[Stock]:
    rates = [stock.price / size(stock) for stock in stocks if stock.price > 0 and size(stock) > 0]
    rate = min(rates, default=1.0)
    return [
        replace(stock, price=round(rate * size(stock), 4)) if stock.price == UNPRICED else stock
        for stock in stocks
    ]
