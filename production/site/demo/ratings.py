"""What bought parts are rated for, where things may stand on each model, and what tows some of the trailers.

All figures are invented, and chosen so that a few orders have a rating that is not met or needs a person.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from bom.catalogue.models import TrailerModel
from bom.items.models import Item
from bom.people.models import User
from bom.ratings.models import ComponentRating, ItemDuty, Market, ModelFrame
from bom.ratings.rulebook import adopt_shipped
from production.orders.models import Order
from production.orders.rating_models import TowingVehicle
from production.site.demo.catalogue import MODELS
from production.site.demo.places import Sheet

HOME_MARKET = "UK"

# axle: mass it carries, whether it has brakes
_AXLES = {
    "AX-450": (450, False),
    "AX-550": (550, False),
    "AX-750": (750, False),
    "AX-1000B": (1000, True),
    "AX-1300B": (1300, True),
    "AX-1500B": (1500, True),
    "AX-1800B": (1800, True),
    "AX-1000T": (1000, True),
    "AX-1350T": (1350, True),
    "AX-1750T": (1750, True),
}
_WHEELS = {"WH-10-4": 400, "WH-13-4": 520, "WH-13-5": 750, "WH-14-5": 900}
# tyre: load index, speed symbol
_TYRES = {"TY-10-75": (75, "M"), "TY-13-84": (84, "N"), "TY-13-96": (96, "N"), "TY-14-104": (104, "N")}
# coupling: maximum mass of the trailer, Dc in kN, S in kg, works overrun brakes
_COUPLINGS = {
    "CP-750": (750, "6.20", 75, False),
    "CP-1300B": (1300, "9.50", 100, True),
    "CP-1800B": (1800, "11.00", 120, True),
    "CP-2700B": (2700, "15.00", 180, True),
    "CP-3500B": (3500, "17.40", 250, True),
}
_DUTIES: Mapping[str, Mapping[str, int]] = {
    "LAMP-FIX-L": {"rear_lamp": 1},
    "LAMP-FIX-R": {"rear_lamp": 1, "fog_lamp": 1},
    "LAMP-SUB-L": {"rear_lamp": 1},
    "LAMP-SUB-R": {"rear_lamp": 1, "fog_lamp": 1},
    "LAMP-BOARD": {"rear_lamp": 2, "fog_lamp": 1, "plate_lamp": 1, "board": 1},
    "LAMP-FRONT": {"front_lamp": 1},
    "LAMP-SIDE": {"side_lamp": 1},
    "LAMP-OUT": {"outline_lamp": 1},
    "LAMP-PLATE": {"plate_lamp": 1},
    "LAMP-REV": {"reversing_lamp": 1},
    "REFL-TRI": {"triangle": 1},
    "REFL-AMB": {"side_reflector": 1},
    "REFL-WHITE": {"front_reflector": 1},
    "BREAKAWAY": {"breakaway": 1},
    "CHAIN-SEC": {"secondary": 1},
}
_SPREAD_MM = 760
_OVERHANG_MM = 250
# name, then maximum, unladen, braked, unbraked, nose, train, D: one tows everything, one little, one is light
_VEHICLES = (
    ("estate car, blue", 2200, 1580, 1800, 750, 90, 3900, "9.90"),
    ("four-wheel drive, grey", 3100, 2240, 3500, 750, 150, 6500, "16.20"),
    ("small car, red", 1640, 1120, 1000, 560, 60, 2600, "6.10"),
    ("van, white", 3500, 2190, 2500, 750, 100, 6000, "14.30"),
)
_TOWED_EVERY, _ABROAD_EVERY = 4, 9


def add_ratings(items: Mapping[str, Item], models: Mapping[str, TrailerModel], by: User) -> None:
    """The shipped rules, the ratings of bought parts, and the frame of every model."""
    adopt_shipped(by=by)
    Market.objects.update(is_default=False)
    Market.objects.filter(code=HOME_MARKET).update(is_default=True)
    ComponentRating.objects.bulk_create(_parts(items))
    ItemDuty.objects.bulk_create(
        ItemDuty(item=items[code], duty=duty, count=count)
        for code, duties in _DUTIES.items()
        for duty, count in duties.items()
    )
    ModelFrame.objects.bulk_create(_frame(Sheet(model), models[model.code]) for model in MODELS)


def send_some_abroad(orders: Sequence[Order]) -> None:
    """Every ninth trailer is registered in the other market. The orders are not saved here."""
    abroad = Market.objects.exclude(code=HOME_MARKET).first()
    for order in orders[::_ABROAD_EVERY]:
        order.market = abroad


def add_vehicles(orders: Sequence[Order]) -> None:
    """Every fourth customer has said what will tow the trailer."""
    TowingVehicle.objects.bulk_create(
        _vehicle(order, _VEHICLES[number % len(_VEHICLES)])
        for number, order in enumerate(orders[1::_TOWED_EVERY])
    )


def _vehicle(order: Order, row: tuple[str, int, int, int, int, int, int, str]) -> TowingVehicle:
    name, maximum, unladen, braked, unbraked, nose, train, d_kn = row
    return TowingVehicle(
        order=order,
        name=name,
        max_mass_kg=maximum,
        unladen_kg=unladen,
        braked_kg=braked,
        unbraked_kg=unbraked,
        nose_kg=nose,
        train_kg=train,
        d_kn=Decimal(d_kn),
    )


def _parts(items: Mapping[str, Item]) -> list[ComponentRating]:
    kinds = ComponentRating.Kind
    return [
        *(
            ComponentRating(item=items[code], kind=kinds.AXLE, capacity_kg=kg, is_braked=braked)
            for code, (kg, braked) in _AXLES.items()
        ),
        *(
            ComponentRating(item=items[code], kind=kinds.WHEEL, capacity_kg=kg)
            for code, kg in _WHEELS.items()
        ),
        *(
            ComponentRating(item=items[code], kind=kinds.TYRE, load_index=index, speed_symbol=symbol)
            for code, (index, symbol) in _TYRES.items()
        ),
        *(
            ComponentRating(
                item=items[code],
                kind=kinds.COUPLING,
                capacity_kg=kg,
                dc_kn=Decimal(dc_kn),
                s_kg=s_kg,
                is_braked=overrun,
            )
            for code, (kg, dc_kn, s_kg, overrun) in _COUPLINGS.items()
        ),
    ]


def _frame(sheet: Sheet, row: TrailerModel) -> ModelFrame:
    """The axle is clamped along the rails; the post slides on the drawbar far enough for the longest hull."""
    model, springs = sheet.model, ModelFrame.Springs
    longest = 0.99 * model.hulls_mm[1]
    twin = springs.APART if model.code == "T2000" else springs.LINKED
    return ModelFrame(
        model=row,
        springs=springs.SINGLE if model.axles == 1 else twin,
        spread_mm=0 if model.axles == 1 else _SPREAD_MM,
        drawbar_mm=round(sheet.drawbar),
        body_at_mm=round(sheet.along(0.42)),
        axle_from_mm=_tens(sheet.along(0.40)),
        axle_to_mm=_tens(sheet.along(0.72)),
        post_from_mm=_tens(sheet.rear + _OVERHANG_MM - longest - 150),
        post_to_mm=_tens(sheet.front + 120),
        bow_behind_post_mm=150,
        front_support_from_mm=_tens(sheet.front + 80),
        rear_support_mm=_tens(sheet.rear - 40),
        transom_before_mm=150,
        transom_beyond_mm=_OVERHANG_MM,
    )


def _tens(value: float) -> int:
    return int(round(value, -1))
