"""Trace: forward from a source to every trailer that carries it, back from a trailer to everything it came from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db import connection
from django.db.models import Count, OuterRef, Q, QuerySet, Subquery

from production.dispatch.models import BuiltRow, Owner, SerialPlate, Source
from production.orders.models import Customer, Hull, Order

# UNION, not UNION ALL: a source reached by two ways is followed once, so a loop would end too.
_CLOSURE = """
WITH RECURSIVE reached(id) AS (
    SELECT id FROM production_source WHERE id IN ({starts})
    UNION
    SELECT edge.{there} FROM production_origin edge JOIN reached ON edge.{here} = reached.id
)
SELECT id FROM reached
"""


def made_of(sources: Iterable[int]) -> set[int]:
    """These sources and everything that was made from them, however many steps away. One query."""
    return _closure(sources, here="made_from_id", there="source_id")


def came_from(sources: Iterable[int]) -> set[int]:
    """These sources and everything they were made from. One query."""
    return _closure(sources, here="source_id", there="made_from_id")


def _closure(sources: Iterable[int], *, here: str, there: str) -> set[int]:
    starts = sorted({int(one) for one in sources})
    if not starts:
        return set()
    statement = _CLOSURE.format(starts=", ".join(["%s"] * len(starts)), here=here, there=there)
    with connection.cursor() as cursor:
        cursor.execute(statement, starts)
        return {row[0] for row in cursor.fetchall()}


def trailers_with(source: Source) -> QuerySet[Order]:
    """Every trailer that carries the source or something made from it, by order number, with `vin` and `owner_name`
    ("" where it is still who ordered it) and `owner_contact`."""
    rows = BuiltRow.objects.filter(source__in=made_of([source.pk]))
    orders = Order.objects.filter(pk__in=rows.order_by().values("order_id"))
    return with_owners(orders).order_by("number")


def with_owners(orders: QuerySet[Order]) -> QuerySet[Order]:
    """Orders with customer, model, seal, `vin`, `owner_name` and `owner_contact`."""
    owner = Owner.objects.filter(order=OuterRef("pk")).order_by("-pk")
    # By its key: in the order of plates a database would walk through all of them to find one trailer's.
    plate = SerialPlate.objects.filter(order=OuterRef("pk"), followed_by__isnull=True).order_by("-pk")
    return orders.select_related("customer", "model", "seal").annotate(
        vin=Subquery(plate.values("vin")[:1]),
        owner_name=Subquery(owner.values("name")[:1]),
        owner_contact=Subquery(owner.values("contact")[:1]),
    )


def find_gone(words: str) -> QuerySet[Order]:
    """Trailers that have gone, the last first; those of this order number or VIN, or with these words in the name of
    who ordered it, of an owner since, or of its boat."""
    rows = with_owners(Order.objects.filter(seal__isnull=False)).order_by("-seal__number")
    words = words.strip()
    if not words:
        return rows
    # Each looked up where it stands, so that no plate and no owner is read once for every trailer.
    return rows.filter(
        Q(number=words)
        | Q(pk__in=SerialPlate.objects.filter(vin=words.upper()).order_by().values("order_id"))
        | Q(pk__in=Owner.objects.filter(name__icontains=words).order_by().values("order_id"))
        | Q(customer__in=Customer.objects.filter(name__icontains=words).order_by())
        | Q(hull__in=Hull.objects.filter(name__icontains=words).order_by())
    )


def find_sources(words: str, most: int = 50) -> list[Source]:
    """Sources whose code begins with these words, or of an item with exactly this code."""
    words = words.strip()
    if not words:
        return []
    rows = Source.objects.filter(Q(code__istartswith=words) | Q(item__code__iexact=words))
    return list(rows.select_related("item", "supplier")[:most])


@dataclass(frozen=True)
class Behind:
    """A source behind a trailer: whether it is on the trailer itself, or further back."""

    source: Source
    is_direct: bool


def further_back(sources: Iterable[int]) -> list[Source]:
    """What these sources were made from, however many steps back, without themselves. Two queries."""
    near = {int(one) for one in sources}
    found = Source.objects.filter(pk__in=came_from(near) - near).select_related("item", "supplier")
    return sorted(found, key=lambda one: (one.kind, one.code))


def behind(order: Order) -> list[Behind]:
    """Everything the trailer's parts came from, those on it first. Three queries."""
    direct = set(
        BuiltRow.objects.filter(order=order, source__isnull=False).values_list("source_id", flat=True)
    )
    sources = Source.objects.filter(pk__in=came_from(direct)).select_related("item", "supplier")
    found = [Behind(one, one.pk in direct) for one in sources]
    return sorted(found, key=lambda one: (not one.is_direct, one.source.kind, one.source.code))


def sources_with_counts(sources: Iterable[int]) -> QuerySet[Source]:
    """Sources with `trailers`, on how many trailers each is itself."""
    return (
        Source.objects.filter(pk__in=set(sources))
        .select_related("item", "supplier")
        .annotate(trailers=Count("built_rows__order", distinct=True))
    )
