"""What the stocktake pages show."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery, Sum
from django.utils import timezone

from inventory.stores.models import CountEntry, CountLine, CountSheet

DAYS_SHOWN = 91


@dataclass(frozen=True)
class Accuracy:
    """How right the ledger was where it was counted: lines without any difference, and the money out."""

    label: str
    lines: int
    right: int
    plus: Decimal
    minus: Decimal

    @property
    def share(self) -> Decimal | None:
        """Lines that agreed, of all that were counted, 0 to 1."""
        return Decimal(self.right) / self.lines if self.lines else None

    @property
    def net(self) -> Decimal:
        return self.plus + self.minus


def sheets() -> QuerySet[CountSheet]:
    """Sheets with how many lines they have, how many are counted and how many are to be counted again."""
    lines = CountLine.objects.filter(sheet=OuterRef("pk")).order_by().values("sheet")

    def many(**chosen: object) -> Subquery:
        return Subquery(lines.filter(**chosen).annotate(n=Count("pk", distinct=True)).values("n"))

    return CountSheet.objects.select_related(
        "location", "made_by", "approved_by", "posting__reversed_by"
    ).annotate(
        line_count=many(), counted_count=many(entries__isnull=False), again_count=many(is_recount_asked=True)
    )


def accuracy(days: int = DAYS_SHOWN) -> list[Accuracy]:
    """By class and over all, for sheets approved in the last days; sheets taken back are left out. One query."""
    begin = timezone.now() - timedelta(days=days)
    rows = CountLine.objects.filter(
        sheet__state=CountSheet.State.DONE,
        sheet__approved_at__gte=begin,
        sheet__posting__reversed_by__isnull=True,
        difference__isnull=False,
    )
    worth = F("difference") * F("unit_cost")
    sums = (
        rows.order_by()
        .values_list("count_class")
        .annotate(
            lines=Count("pk"),
            right=Count("pk", filter=Q(difference=0)),
            plus=Sum(worth, filter=Q(difference__gt=0)),
            minus=Sum(worth, filter=Q(difference__lt=0)),
        )
    )
    found = [
        Accuracy(f"class {code}", lines, right, _money(plus), _money(minus))
        for code, lines, right, plus, minus in sorted(sums)
    ]
    whole = Accuracy(
        "all",
        sum(one.lines for one in found),
        sum(one.right for one in found),
        sum((one.plus for one in found), Decimal(0)),
        sum((one.minus for one in found), Decimal(0)),
    )
    return [*found, whole]


def lines_to_count(sheet: CountSheet) -> list[tuple[CountLine, CountEntry | None]]:
    """The lines in walking order, each with its latest count. Those to be counted again come first. Two queries."""
    lines = list(sheet.lines.select_related("item__colour", "location", "lot"))
    latest: dict[int, CountEntry] = {}
    for entry in CountEntry.objects.filter(line__sheet=sheet).select_related("by").order_by("pk"):
        latest[entry.line_id] = entry
    lines.sort(key=lambda line: (not line.is_recount_asked, line.pk in latest))
    return [(line, latest.get(line.pk)) for line in lines]


def by_place(rows: list[tuple[CountLine, CountEntry | None]]) -> dict[str, int]:
    """How many lines lie at each place."""
    found: dict[str, int] = defaultdict(int)
    for line, _ in rows:
        found[line.location.code] += 1
    return dict(found)


def _money(value: Decimal | None) -> Decimal:
    return Decimal(value or 0).quantize(Decimal("0.01"))
