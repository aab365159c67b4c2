"""A workshop small enough to reckon by hand: one model, one chassis, rollers in two colours."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.utils import timezone

from bom.catalogue.models import (
    ModelFinish,
    ModelOption,
    OptionChoice,
    OptionGroup,
    OptionRule,
    TrailerModel,
    Variant,
    VariantChoice,
    VariantColour,
)
from bom.items.models import Colour, Family, Item
from bom.people.models import User
from bom.structure.models import BillLine, Operation, Process, Revision
from inventory.stock import ledger
from inventory.stock.models import Location, Posting
from production.orders.drafting import HullFigures, Wish, create_draft
from production.orders.models import Customer, Order

PROCESSES = ("laser", "saw", "fold", "weld", "galvanise", "powder", "assemble", "inspect")
LONG_AGO = date(2020, 1, 1)


@dataclass
class SmallWorkshop:
    user: User
    customer: Customer
    model: TrailerModel
    items: dict[str, Item]

    def wish(self, **changes: object) -> Wish:
        values: dict[str, object] = {
            "customer": self.customer,
            "model": self.model,
            "hull": HullFigures("Open boat", 300, 4800, 1900, 4500),
            "asked_for": timezone.localdate() + timedelta(days=30),
            "finish": "galvanised",
            "choices": {"winch": "manual"},
            "colours": {"port": "red", "starboard": "green"},
        }
        return Wish(**{**values, **changes})  # type: ignore[arg-type]

    def draft(self, **changes: object) -> Order:
        return create_draft(wish=self.wish(**changes), by=self.user)

    def stock(self, code: str, quantity: str, place: str = "A1") -> None:
        ledger.post(
            key=f"opening:{code}:{place}:{Posting.objects.count()}",
            kind=Posting.Kind.OPENING,
            lines=[
                ledger.Line(
                    self.items[code].pk, Location.objects.get(code="SUPPLIER").pk, -Decimal(quantity)
                ),
                ledger.Line(self.items[code].pk, Location.objects.get(code=place).pk, Decimal(quantity)),
            ],
            by=self.user,
        )

    def on(self, code: str, place: str) -> Decimal:
        balance = self.items[code].balances.filter(location__code=place).first()
        return balance.quantity if balance else Decimal(0)


def build() -> SmallWorkshop:
    """Trailer HT = chassis CH (2 beams BM of 1.5 m section, 4 plates PL), 2 rollers a side, an electric winch box."""
    user = User.objects.create_user("office", password="office")
    processes = {
        code: Process.objects.create(code=code, name=code.capitalize(), sequence=10 * (index + 1))
        for index, code in enumerate(PROCESSES)
    }
    _places()
    items = _items()
    _bill(items["PL"], "A", [], [(processes["laser"], 1, 2)])
    _bill(items["BM"], "A", [("SEC", "1.5", "")], [(processes["saw"], 5, 3)])
    _bill(
        items["CH"],
        "B",
        [("BM", "2", ""), ("PL", "2 * 2", "")],
        [(processes["weld"], 10, 50), (processes["galvanise"], 0, 0)],
    )
    top = _bill(
        items["HT"],
        "A",
        [("CH", "1", ""), ("BOX", "1", "option.winch == 'electric'")],
        [(processes["assemble"], 0, 90), (processes["powder"], 0, 40), (processes["inspect"], 0, 30)],
    )
    family = items["RO-RED"].family
    for position, side in ((30, "port"), (40, "starboard")):
        BillLine.objects.create(
            revision=top, position=position, family=family, colour_of=f"colour.{side}", quantity="2"
        )
    model = _model(items["HT"])
    customer = Customer.objects.create(code="C1", name="Boatyard One", place="Harbour")
    return SmallWorkshop(user, customer, model, items)


def _places() -> None:
    kinds = Location.Kind
    for code, kind, floor in (
        ("SUPPLIER", kinds.SUPPLIER, None),
        ("A1", kinds.SHELF, 0),
        ("A2", kinds.SHELF, 0),
        ("CUT", kinds.WORK, 0),
        ("WELD", kinds.WORK, 0),
        ("KIT", kinds.WORK, 0),
        ("READY", kinds.WORK, 0),
        ("GALV", kinds.OUTSIDE, 0),
        ("CONV", kinds.CONVERSION, None),
        ("SCRAP", kinds.SCRAP, 0),
        ("CUSTOMER", kinds.CUSTOMER, 0),
        ("COUNT", kinds.COUNT, None),
        ("FLOOR", kinds.WORK, 0),
    ):
        Location.objects.create(code=code, name=code, kind=kind, floor=floor)


def _items() -> dict[str, Item]:
    red = Colour.objects.create(code="red", name="Red", swatch="#aa0000")
    green = Colour.objects.create(code="green", name="Green", swatch="#00aa00")
    Colour.objects.create(code="blue", name="Blue", swatch="#0000aa")
    rollers = Family.objects.create(code="RO", name="Roller")
    made, bought = Item.Kind.MADE, Item.Kind.BOUGHT
    rows = [
        Item(code="HT", name="Heavy trailer", kind=made),
        Item(code="CH", name="Chassis", kind=made),
        Item(code="BM", name="Beam", kind=made, mass_kg=9),
        Item(code="PL", name="Plate", kind=made, mass_kg=1),
        Item(code="SEC", name="Box section", kind=Item.Kind.SECTION, unit="m", mass_kg=7),
        Item(
            code="RO-RED",
            name="Roller red",
            kind=bought,
            mass_kg=2,
            family=rollers,
            colour=red,
            standard_cost=5,
        ),
        Item(code="RO-GREEN", name="Roller green", kind=bought, mass_kg=2, family=rollers, colour=green),
        Item(code="BOX", name="Battery box", kind=bought, mass_kg=20),
    ]
    return {row.code: row for row in Item.objects.bulk_create(rows)}


def _bill(
    item: Item, letter: str, lines: list[tuple[str, str, str]], work: list[tuple[Process, int, int]]
) -> Revision:
    revision = Revision.objects.create(item=item, letter=letter, state="released", effective_from=LONG_AGO)
    for index, (code, quantity, condition) in enumerate(lines, start=1):
        BillLine.objects.create(
            revision=revision,
            position=10 * index,
            component=Item.objects.get(code=code),
            quantity=quantity,
            condition=condition,
        )
    for index, (process, setup, run) in enumerate(work, start=1):
        Operation.objects.create(
            revision=revision, sequence=10 * index, process=process, setup_minutes=setup, run_minutes=run
        )
    return revision


def _model(item: Item) -> TrailerModel:
    model = TrailerModel.objects.create(
        code="H1",
        name="Heavy one",
        item=item,
        max_mass_kg=750,
        own_mass_kg=120,
        length_mm=6000,
        width_mm=2000,
        hull_length_min_mm=4000,
        hull_length_max_mm=5500,
        base_price=1000,
    )
    ModelFinish.objects.create(model=model, finish="galvanised", price=0)
    ModelFinish.objects.create(model=model, finish="duplex", price=250)
    winch = OptionGroup.objects.create(code="winch", name="Winch", sequence=1)
    lights = OptionGroup.objects.create(code="lights", name="Lights", sequence=2, is_required=False)
    manual = OptionChoice.objects.create(group=winch, code="manual", name="hand winch")
    electric = OptionChoice.objects.create(group=winch, code="electric", name="electric winch")
    OptionChoice.objects.create(group=winch, code="air", name="air winch")
    board = OptionChoice.objects.create(group=lights, code="board", name="light board")
    ModelOption.objects.create(model=model, choice=manual, price=50, is_default=True)
    ModelOption.objects.create(model=model, choice=electric, price=400)
    ModelOption.objects.create(model=model, choice=board, price=80)
    OptionRule.objects.create(
        when="option.winch == 'electric'",
        then="option.lights != 'board'",
        sentence="The electric winch takes its current from fixed lights, not from a light board.",
    )
    variant = Variant.objects.create(
        code="harbour", name="Harbour special", model=model, finish="duplex", price=1234
    )
    VariantChoice.objects.create(variant=variant, choice=electric)
    for place, colour in (("port", "red"), ("starboard", "red"), ("powder", "blue")):
        VariantColour.objects.create(variant=variant, place=place, colour=Colour.objects.get(code=colour))
    return model
