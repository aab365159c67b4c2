"""Invented parts and sheets that the nesting tests share."""

from production.cutting.nesting.job import NestProgress, NestSettings, PartShape, Ring, SheetStock

SQUARE_TURNS = (0.0, 90.0, 180.0, 270.0)
LARGE = SheetStock("3000 × 1500", 3000.0, 1500.0, None, 100.0)
SMALL = SheetStock("2000 × 1000", 2000.0, 1000.0, None, 45.0)


def box(width: float, height: float, x: float = 0.0, y: float = 0.0) -> Ring:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def plate(code: str, width: float, height: float, quantity: int, **more: object) -> PartShape:
    return PartShape(code, box(width, height), (), quantity, SQUARE_TURNS, **more)


def bracket(code: str, leg: float, band: float, quantity: int) -> PartShape:
    """An L with one hole in its corner."""
    outer = ((0.0, 0.0), (leg, 0.0), (leg, band), (band, band), (band, leg), (0.0, leg))
    return PartShape(code, outer, (box(band / 3, band / 3, band / 3, band / 3),), quantity, SQUARE_TURNS)


def frame(code: str, size: float, band: float, quantity: int) -> PartShape:
    """A square ring: most of it is hole."""
    return PartShape(
        code, box(size, size), (box(size - 2 * band, size - 2 * band, band, band),), quantity, SQUARE_TURNS
    )


def quick(seconds: float = 0.3, **more: float) -> NestSettings:
    return NestSettings(seconds=seconds, workers=1, **more)


def never_stop(progress: NestProgress) -> bool:
    return True
