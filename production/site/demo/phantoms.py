"""Fixing sets: never stocked, their parts go straight into what they belong to."""

from production.site.demo.recipes import SIZES, Thing, Use

_UBOLT = {"S": "UBOLT-60", "M": "UBOLT-80", "L": "UBOLT-100"}


def _bolted(size: str, length: int, count: int, washers: int = 2) -> tuple[Use, ...]:
    """So many bolts with their nuts and washers. `size` is the thread."""
    return (
        Use(f"BOLT-M{size}x{length}", str(count)),
        Use(f"NUT-M{size}", str(count)),
        Use(f"WASH-M{size}", str(count * washers)),
    )


def _set(code: str, name: str, *uses: Use) -> Thing:
    return Thing(f"FX-{code}", f"fixing set, {name}", group="fixing sets", is_phantom=True, uses=uses)


def _by_size() -> list[Thing]:
    threads = {"S": ("10", 60, 8), "M": ("12", 80, 8), "L": ("16", 120, 8)}
    return [
        thing
        for size in SIZES
        for thing in (
            _set(
                f"AXLE-{size}",
                f"axle, size {size}",
                *_bolted(*threads[size]),
                Use("SHIM-3", "2"),
                Use("CAP-NUT-12", "4"),
            ),
            _set(
                f"DRAW-{size}",
                f"drawbar and coupling, size {size}",
                *_bolted("12", 110, 4),
                *_bolted("10", 90, 4),
                Use(_UBOLT[size], "2"),
            ),
            _set(f"POST-{size}", f"winch post, size {size}", Use(_UBOLT[size], "2"), *_bolted("12", 80, 4)),
        )
    ]


def fixing_sets() -> list[Thing]:
    return [
        *_by_size(),
        _set("WINCH", "winch", *_bolted("10", 30, 3), Use("CLIP-R", "1")),
        _set("WHEEL", "wheel", Use("NUT-WHEEL", "5")),
        _set(
            "LIGHT",
            "lights and loom",
            *_bolted("6", 20, 8, washers=1),
            Use("TIE-200", "18"),
            Use("CLIP-P", "8"),
            Use("GROM-20", "4"),
            Use("GROM-28", "2"),
            Use("SCREW-5", "10"),
        ),
        _set("MUD", "one mudguard", *_bolted("8", 25, 4), Use("TAPE-RUB", "2")),
        _set("STEEL-MUD", "one steel mudguard", *_bolted("8", 40, 4), Use("TAPE-RUB", "3")),
        _set("KEEL", "one keel roller", Use("SPLIT-5", "2"), Use("UBOLT-50", "1")),
        _set("SIDE", "one side roller set", *_bolted("12", 80, 4), Use("SPLIT-4", "8"), Use("UBOLT-60", "2")),
        _set("BUNK", "one bunk frame", *_bolted("10", 60, 4), *_bolted("8", 60, 4)),
        _set("BOW", "bow stop", *_bolted("12", 110, 1), Use("SPLIT-5", "1")),
        _set("SPARE", "spare wheel carrier", Use("UBOLT-60", "2"), *_bolted("12", 35, 2)),
        _set("GUIDE", "one guide pole", Use("UBOLT-50", "2"), *_bolted("8", 60, 1)),
        _set("BRAKE", "brake gear", *_bolted("8", 40, 6), Use("SPLIT-4", "4"), Use("CLIP-P", "6")),
        _set("PLATE", "plates and labels", Use("RIVET-4", "4")),
        _set("VENT", "vents", Use("PLUG-VENT", "6")),
        _set("JOCKEY", "jockey wheel clamp", *_bolted("12", 35, 2)),
        _set("TIE", "one tie-down ring", *_bolted("10", 30, 2)),
        _set("BOARD", "light board", *_bolted("8", 25, 2), Use("TIE-200", "6")),
    ]
