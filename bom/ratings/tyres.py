"""Tyres: load index and speed symbol, as the published tables give them. Plain data only.

Source of both: tables in general circulation, after ISO 4000-1 (the standard itself was not read). The load index
is a table and not a formula: `45 × 10^(index ÷ 80)` comes within 2 % of it and serves only to doubt a misprint.
"""

FIRST_INDEX = 50

# fmt: off
_KG = (
    190, 195, 200, 206, 212, 218, 224, 230, 236, 243,  # 50
    250, 257, 265, 272, 280, 290, 300, 307, 315, 325,  # 60
    335, 345, 355, 365, 375, 387, 400, 412, 425, 437,  # 70
    450, 462, 475, 487, 500, 515, 530, 545, 560, 580,  # 80
    600, 615, 630, 650, 670, 690, 710, 730, 750, 775,  # 90
    800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030,  # 100
    1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360,  # 110
    1400, 1450, 1500, 1550, 1600, 1650, 1700,  # 120
)
# fmt: on

LOAD_INDEX_KG = {FIRST_INDEX + place: kg for place, kg in enumerate(_KG)}
"""kg that one tyre carries, by load index 50 to 126."""

SPEED_KMH = {
    "F": 80,
    "G": 90,
    "J": 100,
    "K": 110,
    "L": 120,
    "M": 130,
    "N": 140,
    "P": 150,
    "Q": 160,
    "R": 170,
    "S": 180,
    "T": 190,
    "U": 200,
    "H": 210,
    "V": 240,
    "W": 270,
    "Y": 300,
}
"""km/h by speed symbol, slowest first: H stands after U."""


def tyre_load_kg(load_index: int) -> int | None:
    """kg that one tyre of this load index carries; none where the table has no such index."""
    return LOAD_INDEX_KG.get(load_index)


def tyre_speed_kmh(symbol: str) -> int | None:
    """km/h of a speed symbol, none where there is no such symbol."""
    return SPEED_KMH.get(symbol.strip().upper())
