"""Colours: six that rollers come in, six that powder comes in."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Shade:
    """A colour: how it is drawn on screen, and how light it is (0 dark to 100 light)."""

    code: str
    name: str
    swatch: str
    lightness: int


SHADES = (
    Shade("black", "black", "#1c1c1e", 8),
    Shade("blue", "harbour blue", "#1f5fa8", 38),
    Shade("red", "buoy red", "#c0271f", 42),
    Shade("green", "reed green", "#2f6b46", 40),
    Shade("grey", "slate grey", "#7b8288", 54),
    Shade("orange", "float orange", "#ec7a1c", 64),
    Shade("yellow", "gorse yellow", "#f2c500", 80),
    Shade("white", "chalk white", "#f4f4f0", 96),
)
ROLLERS = ("black", "blue", "red", "yellow", "grey", "orange")
POWDERS = ("black", "white", "grey", "blue", "red", "green")
_NAMES = {shade.code: shade.name for shade in SHADES}


def colour_name(code: str) -> str:
    return _NAMES[code]
