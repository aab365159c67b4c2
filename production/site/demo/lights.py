"""Lamps, reflectors and looms. Rear lamps come in two hands."""

from production.site.demo.recipes import Thing


def _light(code: str, name: str, mass: float, cost: float, family: str = "", hand: str = "") -> Thing:
    return Thing(
        code,
        name,
        kind="bought",
        group="lights",
        family=family,
        hand=hand,
        mass_kg=mass,
        cost=cost,
        lead_days=10,
        supplier="LIGHTS",
    )


LIGHTS = (
    _light("LAMP-FIX-L", "rear lamp, left", 0.45, 14, "LAMP-FIX", "L"),
    _light("LAMP-FIX-R", "rear lamp, right", 0.45, 14, "LAMP-FIX", "R"),
    _light("LAMP-SUB-L", "rear lamp, submersible, left", 0.50, 27, "LAMP-SUB", "L"),
    _light("LAMP-SUB-R", "rear lamp, submersible, right", 0.50, 27, "LAMP-SUB", "R"),
    _light("LAMP-BOARD", "light board with lamps", 3.2, 48),
    _light("LAMP-FRONT", "front position lamp", 0.12, 5.2),
    _light("LAMP-SIDE", "side marker lamp", 0.10, 4.6),
    _light("LAMP-OUT", "end-outline marker lamp", 0.14, 5.9),
    _light("LAMP-PLATE", "number plate lamp", 0.08, 3.8),
    _light("LAMP-REV", "reversing lamp", 0.20, 9.4),
    _light("REFL-TRI", "rear reflector, triangle", 0.06, 1.6),
    _light("REFL-AMB", "side reflector, amber", 0.03, 0.8),
    _light("REFL-WHITE", "front reflector, white", 0.03, 0.8),
    _light("LOOM-FIX-S", "loom 5 m", 0.6, 16),
    _light("LOOM-FIX-M", "loom 7 m", 0.8, 21),
    _light("LOOM-FIX-L", "loom 9 m", 1.1, 27),
    _light("LOOM-SUB-S", "loom 5 m, sealed", 0.7, 24),
    _light("LOOM-SUB-M", "loom 7 m, sealed", 0.9, 30),
    _light("LOOM-SUB-L", "loom 9 m, sealed", 1.2, 38),
    _light("LOOM-BOARD", "light board cable 10 m", 1.0, 19),
    _light("PLUG-7", "plug, 7 pins", 0.10, 3.1),
    _light("PLUG-13", "plug, 13 pins", 0.14, 6.7),
)
