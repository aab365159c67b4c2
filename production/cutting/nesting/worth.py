"""What sheets cost when the offcuts kept of them are worth something: the objective, in the money of the prices."""

from __future__ import annotations

from production.cutting.nesting.job import NestSettings, SheetStock
from production.cutting.nesting.sheetroom import sheet_mm2
from production.cutting.resting import LEAST_SIDE_MM


def kept_length_mm(stock: SheetStock, used_length_mm: float, settings: NestSettings) -> float:
    """Length of the rest behind the parts, cut off straight; 0 where it is not worth keeping, or was an offcut with
    steps, of which nothing is reckoned on."""
    rest = stock.length_mm - used_length_mm - settings.gap_mm
    is_kept = min(rest, stock.width_mm) >= LEAST_SIDE_MM and not stock.outline
    return rest if is_kept else 0.0


def net_cost(
    stock: SheetStock, used_length_mm: float, settings: NestSettings, by_area: bool = False
) -> float:
    """Price of the sheet (its area in mm² when nothing has a price) less the worth of the offcut kept of it."""
    price = sheet_mm2(stock) if by_area else stock.price
    kept = kept_length_mm(stock, used_length_mm, settings) / stock.length_mm
    return price * (1.0 - settings.rest_worth * kept)
