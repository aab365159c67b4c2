"""Bolts, nuts, washers and small fittings, bought in packs."""

from production.site.demo.recipes import Thing

_FITTING_PACK = 50


def _fixing(code: str, name: str, mass: float, cost: float, pack: int) -> Thing:
    return Thing(
        code,
        name,
        kind="bought",
        group="fixings",
        mass_kg=mass,
        cost=cost,
        lead_days=4,
        lot_rule="multiple",
        lot_size=pack,
        supplier="FIXINGS",
    )


# thread, lengths in mm, mass of the shortest in kg, cost of the shortest, pack
_BOLTS = (
    (6, (20, 30), 0.007, 0.04, 200),
    (8, (25, 40, 60), 0.018, 0.07, 200),
    (10, (30, 60, 90), 0.036, 0.12, 100),
    (12, (35, 80, 110), 0.058, 0.19, 100),
    (16, (50, 120), 0.13, 0.55, 50),
)


def _bolts() -> list[Thing]:
    return [
        _fixing(
            f"BOLT-M{thread}x{length}",
            f"bolt M{thread} × {length}, 8.8, galvanised",
            round(mass * length / lengths[0], 4),
            round(cost * length / lengths[0], 2),
            pack,
        )
        for thread, lengths, mass, cost, pack in _BOLTS
        for length in lengths
    ]


def _nuts_and_washers() -> list[Thing]:
    nuts = ((6, 0.002, 0.02), (8, 0.005, 0.03), (10, 0.011, 0.05), (12, 0.017, 0.08), (16, 0.036, 0.2))
    return [
        thing
        for thread, mass, cost in nuts
        for thing in (
            _fixing(f"NUT-M{thread}", f"locking nut M{thread}, galvanised", mass, cost, 200),
            _fixing(f"WASH-M{thread}", f"washer M{thread}, galvanised", mass / 2, cost / 2, 500),
        )
    ]


FIXINGS = (
    *_bolts(),
    *_nuts_and_washers(),
    _fixing("UBOLT-50", "U-bolt M10 for 50 mm tube", 0.16, 1.1, 20),
    _fixing("UBOLT-60", "U-bolt M10 for 60 mm tube", 0.18, 1.2, 20),
    _fixing("UBOLT-80", "U-bolt M12 for 80 mm section", 0.27, 1.6, 20),
    _fixing("UBOLT-100", "U-bolt M12 for 100 mm section", 0.33, 1.9, 20),
    _fixing("NUT-WHEEL", "wheel bolt M12 × 1.5", 0.07, 0.6, 100),
    _fixing("SPLIT-4", "split pin 4 × 40 mm", 0.004, 0.03, 200),
    _fixing("SPLIT-5", "split pin 5 × 50 mm", 0.007, 0.04, 200),
    _fixing("CLIP-R", "spring clip", 0.01, 0.09, 100),
    _fixing("RIVET-4", "blind rivet 4.8 mm", 0.002, 0.03, 500),
    _fixing("SCREW-5", "self-tapping screw 5.5 mm", 0.004, 0.03, 500),
)
FITTINGS = (
    _fixing("TIE-200", "cable tie 200 mm", 0.001, 0.02, 1000),
    _fixing("CLIP-P", "cable clip, rubber lined", 0.01, 0.14, 100),
    _fixing("GROM-20", "grommet 20 mm", 0.003, 0.08, 200),
    _fixing("GROM-28", "grommet 28 mm", 0.004, 0.1, 200),
    _fixing("PLUG-VENT", "drain hole plug, ventilated", 0.003, 0.12, _FITTING_PACK),
    _fixing("CAP-NUT-12", "nut cover M12", 0.003, 0.06, 200),
    _fixing("SHIM-3", "levelling shim 3 mm", 0.05, 0.2, _FITTING_PACK),
    _fixing("TAPE-RUB", "rubber pad, self-adhesive", 0.04, 0.35, _FITTING_PACK),
)
