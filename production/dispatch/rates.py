"""How often parts fail: warranty claims against the pieces on trailers that have gone, by part and by supplier."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal

from django.db import connection
from django.db.models import Count, Sum

from inventory.stock.drafts import PLACES
from production.dispatch.models import BuiltRow, Claim

# How many parts and suppliers a page shows at first. Every piece of them on the road is counted whenever it is asked,
# so that the figure is true: forty parts on ten thousand trailers are four hundred thousand rows.
SHOWN = 5

# Summed by source before the sources are looked at: the index `built_item_whole` gives them in that order, and a
# batch has one supplier however many trailers carry it.
_FITTED = """
SELECT fitted.item_id, source.supplier_id, SUM(fitted.quantity)
FROM (
    SELECT item_id, source_id, SUM(quantity) AS quantity
    FROM production_builtrow
    WHERE kind = %s AND item_id IN ({items})
    GROUP BY item_id, source_id
) fitted
LEFT JOIN production_source source ON source.id = fitted.source_id AND source.item_id IN ({items})
GROUP BY fitted.item_id, source.supplier_id
"""


@dataclass(frozen=True)
class Rate:
    """Claims against how many are on the road. `share` is claims per piece; none where no record knows the part."""

    name: str
    code: str
    claims: int
    on_the_road: Decimal
    cost: Decimal

    @property
    def share(self) -> Decimal | None:
        return self.claims / self.on_the_road if self.on_the_road else None


@dataclass(frozen=True)
class Rates:
    """Those with the most claims first, and of how many parts and suppliers they are. A supplier's claims are those
    whose batch is known; his pieces are of the parts that were claimed of him."""

    by_part: list[Rate]
    by_supplier: list[Rate]
    parts: int
    suppliers: int


def rates(most: int | None = SHOWN) -> Rates:
    """Of so many parts and suppliers, or of all. Four queries, however many claims and trailers."""
    parts = _counted("item")
    suppliers = _counted("source__supplier")
    shown, theirs = parts[:most], suppliers[:most]
    claimed = set(
        Claim.objects.filter(source__supplier__in=[row[0] for row in theirs])
        .order_by()
        .values_list("item_id", "source__supplier_id")
    )
    of_part: defaultdict[int, Decimal] = defaultdict(Decimal)
    of_supplier: defaultdict[int, Decimal] = defaultdict(Decimal)
    for item, supplier, pieces in _fitted({row[0] for row in shown} | {item for item, _ in claimed}):
        of_part[item] += pieces
        if supplier is not None and (item, supplier) in claimed:
            of_supplier[supplier] += pieces
    return Rates(
        [Rate(name, code, many, of_part[pk], money) for pk, code, name, many, money in shown],
        [Rate(name, code, many, of_supplier[pk], money) for pk, code, name, many, money in theirs],
        len(parts),
        len(suppliers),
    )


def _counted(of: str) -> list[tuple[int, str, str, int, Decimal]]:
    """Key, code, name, claims and their cost of each part or supplier, the most claims first."""
    rows = (
        Claim.objects.filter(**{f"{of}__isnull": False})
        .order_by()
        .values_list(of, f"{of}__code", f"{of}__name")
    )
    return list(rows.annotate(many=Count("pk"), money=Sum("cost")).order_by("-many", f"{of}__code"))


def _fitted(items: Collection[int]) -> list[tuple[int, int | None, Decimal]]:
    """Item, supplier and how many pieces of it are on trailers that have gone. One query."""
    if not items:
        return []
    statement = _FITTED.format(items=", ".join(["%s"] * len(items)))
    with connection.cursor() as cursor:
        cursor.execute(statement, [BuiltRow.Kind.PART.value, *items, *items])
        rows = cursor.fetchall()
    # SQLite adds decimals as binary fractions; the places that the ledger keeps are exact.
    return [(item, supplier, Decimal(str(pieces or 0)).quantize(PLACES)) for item, supplier, pieces in rows]
