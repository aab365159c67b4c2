"""What is bought ready: running gear, couplings, winches, rollers by colour, powder, labels."""

from production.site.demo.colours import POWDERS, ROLLERS, colour_name
from production.site.demo.fixings import FITTINGS, FIXINGS
from production.site.demo.lights import LIGHTS
from production.site.demo.recipes import Thing

# code, name, mass in kg, cost, lead time in working days
AXLES = (
    ("AX-450", "axle 450 kg, no brakes", 24.0, 118, 30),
    ("AX-550", "axle 550 kg, no brakes", 27.0, 131, 30),
    ("AX-750", "axle 750 kg, no brakes", 33.0, 152, 32),
    ("AX-1000B", "axle 1000 kg, braked", 46.0, 268, 36),
    ("AX-1300B", "axle 1300 kg, braked", 52.0, 301, 38),
    ("AX-1500B", "axle 1500 kg, braked", 56.0, 322, 40),
    ("AX-1800B", "axle 1800 kg, braked", 64.0, 371, 42),
    ("AX-1000T", "axle 1000 kg, braked, of a twin set", 48.0, 279, 40),
    ("AX-1350T", "axle 1350 kg, braked, of a twin set", 55.0, 316, 42),
    ("AX-1750T", "axle 1750 kg, braked, of a twin set", 66.0, 384, 45),
)
COUPLINGS = (
    ("CP-750", "coupling head 750 kg", 3.1, 24, 15),
    ("CP-1300B", "overrun coupling 1300 kg", 16.5, 171, 25),
    ("CP-1800B", "overrun coupling 1800 kg", 18.2, 198, 25),
    ("CP-2700B", "overrun coupling 2700 kg", 24.0, 254, 30),
    ("CP-3500B", "overrun coupling 3500 kg", 28.5, 316, 30),
)
WHEELS = (
    ("WH-10-4", "wheel 10 in, 4 studs", 6.2, 23, 10),
    ("WH-13-4", "wheel 13 in, 4 studs", 7.9, 29, 10),
    ("WH-13-5", "wheel 13 in, 5 studs", 8.4, 32, 10),
    ("WH-14-5", "wheel 14 in, 5 studs", 10.1, 38, 10),
    # Load indices from the published table: 75 is 387 kg a tyre, 84 is 500 kg, 96 is 710 kg, 104 is 900 kg.
    ("TY-10-75", "tyre 10 in, load index 75", 4.1, 27, 10),
    ("TY-13-84", "tyre 13 in, load index 84", 6.3, 39, 10),
    ("TY-13-96", "tyre 13 in, load index 96", 7.2, 47, 10),
    ("TY-14-104", "tyre 14 in, load index 104", 9.0, 61, 10),
    ("VALVE", "tyre valve", 0.02, 0.45, 5),
    ("WEIGHT-20", "balance weight 20 g", 0.02, 0.18, 5),
)
GEAR = (
    ("CAP-HUB-S", "sealed hub cap, small", 0.08, 1.6, 8),
    ("CAP-HUB-L", "sealed hub cap, large", 0.11, 2.1, 8),
    ("ROD-S", "brake rod 1.6 m", 1.3, 9.5, 12),
    ("ROD-M", "brake rod 2.1 m", 1.7, 11, 12),
    ("ROD-L", "brake rod 2.8 m", 2.2, 14, 12),
    ("CABLE-BR-S", "brake cable 770 mm", 0.5, 8.2, 12),
    ("CABLE-BR-L", "brake cable 1130 mm", 0.6, 9.6, 12),
    ("COMP-1", "brake compensator, one axle", 0.9, 7.4, 12),
    ("COMP-2", "brake compensator, two axles", 1.3, 11.8, 12),
    ("BREAKAWAY", "breakaway cable", 0.15, 3.9, 8),
    ("CHAIN-SEC", "secondary coupling chain", 0.9, 6.2, 8),
    ("WASH-KIT", "brake wash kit", 1.4, 46, 15),
    ("WASH-HOSE", "brake wash hose, by the metre", 0.12, 1.9, 15),
    ("JW-48", "jockey wheel 48 mm", 6.8, 24, 10),
    ("JW-48H", "jockey wheel 48 mm, heavy", 9.4, 41, 10),
    ("JW-48P", "jockey wheel 48 mm, pneumatic tyre", 11.2, 58, 12),
    ("JW-CLAMP", "jockey wheel clamp", 1.1, 7.8, 10),
    ("WI-500", "winch 500 kg", 4.0, 34, 12),
    ("WI-900", "winch 900 kg", 6.5, 62, 12),
    ("WI-1200", "winch 1200 kg, two speeds", 9.8, 118, 15),
    ("WS-6", "winch strap 6 m", 0.7, 11, 8),
    ("WS-8", "winch strap 8 m", 0.9, 14, 8),
    ("WS-10", "winch strap 10 m", 1.2, 18, 8),
)
HULL_PARTS = (
    ("BOW-VEE", "bow stop block, vee", 0.6, 8.5, 10),
    ("BOARD-BUNK", "bunk board, covered, by the metre", 1.9, 7.6, 8),
    ("BUNK-END", "bunk board end cover", 0.05, 0.9, 8),
    ("PIN-16", "roller pin 16 × 190 mm, galvanised", 0.31, 2.2, 8),
    ("PIN-20", "roller pin 20 × 235 mm, galvanised", 0.58, 3.1, 8),
    ("PIN-SIDE", "side roller spindle 16 × 110 mm", 0.19, 1.7, 8),
    ("PIVOT-20", "rocker pivot pin 20 mm", 0.4, 2.9, 8),
    ("BUSH-20", "pivot bush 20 mm", 0.02, 0.6, 8),
    ("END-CAP-ROLL", "roller end cap", 0.03, 0.7, 8),
    ("MG-PL-10", "mudguard, plastic, 10 in", 1.3, 11, 10),
    ("MG-PL-13", "mudguard, plastic, 13 in", 1.6, 14, 10),
    ("MG-PL-TW", "mudguard, plastic, twin axle", 3.6, 39, 12),
    ("MG-ST-10", "mudguard, galvanised steel, 10 in", 2.9, 19, 12),
    ("MG-ST-13", "mudguard, galvanised steel, 13 in", 3.8, 24, 12),
    ("MG-ST-TW", "mudguard, galvanised steel, twin axle", 8.2, 66, 15),
    ("STRAP-TIE", "tie-down strap 50 mm", 1.1, 13, 8),
    ("RING-TIE", "tie-down ring", 0.3, 2.1, 8),
    ("POLE-GUIDE", "guide pole tube, covered", 1.2, 12, 10),
    ("CAP-GUIDE", "guide pole cap", 0.04, 0.8, 10),
    ("CLAMP-SPARE", "spare wheel clamp", 0.7, 6.4, 8),
    ("LOCK-SPARE", "spare wheel lock", 0.3, 8.8, 8),
)
PAPER = (
    ("LB-PLATE", "maker's plate, blank", 0.03, 1.1, 8),
    ("LB-MASS", "mass label", 0.005, 0.2, 5),
    ("LB-NOSE", "nose load label", 0.005, 0.2, 5),
    ("LB-TYRE", "tyre pressure label", 0.005, 0.2, 5),
    ("LB-NUTS", "wheel nut label", 0.005, 0.2, 5),
    ("LB-PROP", "lifting point label", 0.005, 0.2, 5),
    ("BOOK", "owner's handbook", 0.2, 1.4, 10),
    ("WALLET", "document wallet", 0.06, 0.9, 5),
)
# family, name, mass, cost
ROLLER_FAMILIES = (
    ("KEEL-160", "keel roller 160 mm", 0.55, 4.3),
    ("KEEL-200", "keel roller 200 mm", 0.82, 5.9),
    ("SIDE-120", "side roller 120 mm", 0.36, 3.2),
    ("BOW-75", "bow roller 75 mm", 0.30, 3.8),
    ("STERN-210", "stern roller 210 mm", 0.95, 6.8),
)


def bought_things() -> list[Thing]:
    return [
        *_plain(AXLES, "axles", "AXLES", tracking="serial"),
        *_plain(COUPLINGS, "couplings", "AXLES", tracking="serial"),
        *_plain(WHEELS, "wheels", "WHEELS"),
        *_plain(GEAR, "running gear", "GEAR"),
        *_plain(HULL_PARTS, "hull supports", "GEAR"),
        *_plain(PAPER, "plates and labels", "PAPER"),
        *LIGHTS,
        *FIXINGS,
        *FITTINGS,
        *_rollers(),
        *_powders(),
    ]


def _plain(
    rows: tuple[tuple[str, str, float, float, int], ...], group: str, supplier: str, tracking: str = "none"
) -> list[Thing]:
    return [
        Thing(
            code,
            name,
            kind="bought",
            unit="m" if name.endswith("by the metre") else "pc",
            group=group,
            mass_kg=mass,
            cost=cost,
            lead_days=lead,
            supplier=supplier,
            tracking=tracking,
        )
        for code, name, mass, cost, lead in rows
    ]


def _rollers() -> list[Thing]:
    return [
        Thing(
            f"{family}-{colour.upper()}",
            f"{name}, {colour_name(colour)}",
            kind="bought",
            group="rollers",
            family=family,
            colour=colour,
            mass_kg=mass,
            cost=cost,
            lead_days=12,
            lot_rule="multiple",
            lot_size=10,
            supplier="ROLLERS",
        )
        for family, name, mass, cost in ROLLER_FAMILIES
        for colour in ROLLERS
    ]


def _powders() -> list[Thing]:
    return [
        Thing(
            f"POWDER-{colour.upper()}",
            f"powder, {colour_name(colour)}",
            kind="bought",
            unit="kg",
            group="powder",
            family="POWDER",
            colour=colour,
            mass_kg=1,
            cost=7.2,
            lead_days=8,
            lot_rule="multiple",
            lot_size=15,
            tracking="lot",
            supplier="POWDER",
        )
        for colour in POWDERS
    ]
