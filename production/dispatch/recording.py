"""The as-built record of a trailer: gathered when it leaves, sealed, and checked against its seal.

What is in it, `gathering` says. Rows are only ever added, and none after the seal. Seals form a
chain: each digest covers the rows, and the digest before it, so that a row changed behind the program's back shows.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import UTC, datetime

from django.db import transaction
from django.utils import timezone

from bom.people.models import User
from production.dispatch.gathering import gathered
from production.dispatch.models import BuiltRow, Seal
from production.orders.models import NumberSeries, Order

_SERIES = "as-built"


@transaction.atomic
def seal(*, order: Order, by: User, at: datetime | None = None) -> Seal:
    """Gather the record and close it, now or as of `at`. One that is closed stays as it is.

    Call it where the trailer leaves.
    """
    series, _ = NumberSeries.objects.select_for_update().get_or_create(code=_SERIES)
    found: Seal | None = Seal.objects.filter(order=order).first()
    if found is not None:
        return found
    BuiltRow.objects.bulk_create(gathered(order), batch_size=500)
    series.last += 1
    series.save(update_fields=["last"])
    last = Seal.objects.order_by("-number").first()
    previous = last.digest if last else ""
    rows = list(BuiltRow.objects.filter(order=order).order_by("pk"))
    made: Seal = Seal.objects.create(
        order=order,
        number=series.last,
        rows=len(rows),
        previous=previous,
        digest=digest_of(rows, previous),
        by=by,
        at=at or timezone.now(),
    )
    return made


def digest_of(rows: Iterable[BuiltRow], previous: str) -> str:
    """SHA-256 over the seal before and every row, in the order in which they were written."""
    lines = [previous, *(_line(row) for row in rows)]
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()


def broken_seals(seals: Iterable[Seal] | None = None) -> list[Seal]:
    """Seals whose rows, or whose link to the seal before, are not as they were when it was made. All of them unless
    some are named; two queries for each named one, for an auditor in the background."""
    return [
        one
        for one in (Seal.objects.order_by("number") if seals is None else seals)
        if is_broken(one, BuiltRow.objects.filter(order_id=one.order_id).order_by("pk"))
    ]


def is_broken(seal: Seal, rows: Iterable[BuiltRow]) -> bool:
    """Whether these rows of the trailer, in the order in which they were written, are not as they were sealed, or the
    link to the seal before is another. One query, apart from the rows'."""
    before = (
        Seal.objects.filter(number__lt=seal.number).order_by("-number").values_list("digest", flat=True)[:1]
    )
    rows = list(rows)
    return (
        "".join(before) != seal.previous
        or len(rows) != seal.rows
        or digest_of(rows, seal.previous) != seal.digest
    )


def rows_of(order: Order) -> list[BuiltRow]:
    """The trailer's rows in the order in which they were written, with part, source, supplier and person. One query;
    of these only what a page names, for a record has hundreds of rows."""
    shown = ["item__code", "item__name", "item__unit", "by__username", "by__first_name", "by__last_name"]
    shown += ["source__code", "source__kind", "source__supplier__name"]
    own = [field.attname for field in BuiltRow._meta.concrete_fields]
    rows = BuiltRow.objects.filter(order=order).select_related("item", "source__supplier", "by")
    return list(rows.only(*own, *shown).order_by("pk"))


def _line(row: BuiltRow) -> str:
    quantity = "" if row.quantity is None else format(row.quantity.normalize(), "f")
    at = row.at.astimezone(UTC).isoformat() if row.at else ""
    parts = (row.order_id, row.kind, row.item_id, row.source_id, quantity, row.words, row.by_id, at)
    return "|".join("" if part is None else str(part) for part in parts)
