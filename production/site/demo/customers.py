"""Customers and the names of their boats. All of them, and all the places, are invented."""

from collections.abc import Mapping
from dataclasses import dataclass

from bom.catalogue.models import Variant
from production.orders.models import Customer
from production.site.demo.offers import VARIANTS


@dataclass(frozen=True)
class Buyer:
    code: str
    name: str
    place: str
    is_trade: bool = False


BUYERS = (
    Buyer("MARROW", "Marrowmouth Boat Yard", "Marrowmouth", True),
    Buyer("QUAY", "Quaythorpe Sailing Centre", "Little Quaythorpe", True),
    Buyer("SKELDER", "Skelderby Marine Works", "Skelderby", True),
    Buyer("OSGARTH", "Osgarth Staithe Boats", "Osgarth Staithe", True),
    Buyer("TIDDLE", "Tiddlestow Launches", "Tiddlestow", True),
    Buyer("THISTLE", "R. Thistlewick", "Upper Wendling"),
    Buyer("ODDING", "M. Oddingham", "Fennimarsh"),
    Buyer("PELLOW", "J. Pellowby", "Cray Staithe"),
    Buyer("HARKER", "S. Harkermoor", "Nether Ousel"),
    Buyer("WINTLE", "A. Wintlebury", "Saltmarrow"),
    Buyer("DUNNET", "K. Dunnetholm", "Brackwater"),
    Buyer("GARRIT", "L. Garritsea", "Holm Quillet"),
    Buyer("ROWEN", "T. Rowenstowe", "Marl End"),
    Buyer("SCOUTS", "Third Wendling Sea Cadre", "Upper Wendling"),
)
_MORE_NAMES = ("Aldermoor", "Birkholm", "Cressingby", "Dallowick", "Eskerton", "Fallowmere", "Grindleby")
_MORE_PLACES = ("Fennimarsh", "Saltmarrow", "Brackwater", "Cray Staithe", "Nether Ousel")
_FIRST = ("Slow", "Copper", "Early", "Patient", "Little", "Brindled", "Salt", "Quiet", "Borrowed", "Second")
_LAST = ("Petrel", "Kettle", "Lantern", "Curlew", "Marigold", "Thimble", "Otter", "Plover", "Saffron", "Bell")


def buyers(scale: int) -> list[Buyer]:
    """The fourteen of the small workshop, and six more for each further step of scale."""
    more = [
        Buyer(
            f"C{number:04d}",
            f"{'ABCDEFGHJKLMNPRSTVW'[number % 19]}. {_MORE_NAMES[number % 7]}",
            _MORE_PLACES[number % 5],
        )
        for number in range(1, 6 * (scale - 1) + 1)
    ]
    return [*BUYERS, *more]


def boat_name(number: int) -> str:
    """The name of the n-th boat; a numeral follows when the names begin again."""
    again, number = divmod(number, len(_FIRST) * len(_LAST))
    first, last = divmod(number * 37 % (len(_FIRST) * len(_LAST)), len(_LAST))
    return f"{_FIRST[first]} {_LAST[last]}" + (f" {again + 1}" if again else "")


def add_customers(scale: int, variants: Mapping[str, Variant]) -> dict[str, Customer]:
    rows = Customer.objects.bulk_create(
        Customer(code=buyer.code, name=buyer.name, place=buyer.place, is_trade=buyer.is_trade)
        for buyer in buyers(scale)
    )
    found = {row.code: row for row in rows}
    for named in VARIANTS:
        versions = Variant.objects.filter(code=variants[named.code].code)
        found[named.customer].variants.add(*versions)
    return found
