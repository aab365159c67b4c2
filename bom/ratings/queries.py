"""Everything ratings look at, fetched once for any number of trailers."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import cast

from django.db.models import QuerySet

from bom.ratings.figures import Axle, Coupling, Tyre, Wheel
from bom.ratings.models import ComponentRating, ItemDuty, ModelFrame, RuleRow
from bom.ratings.rules import Edge, Rule, Rules, in_force

Part = Axle | Wheel | Tyre | Coupling


@dataclass(frozen=True)
class RatingBook:
    """Ratings of bought parts and what they are for, by item code; frames by model code; rules by market code."""

    parts: Mapping[str, Part]
    mass_kg: Mapping[str, float]
    duties: Mapping[str, Mapping[str, int]]
    frames: Mapping[str, ModelFrame]
    rules: Mapping[str, Rules]
    default_market: str
    on: date

    @cached_property
    def duties_on_record(self) -> frozenset[str]:
        """The duties that any part at all is on record for."""
        return frozenset(duty for duties in self.duties.values() for duty in duties)

    def rules_of(self, market: str) -> Rules:
        """The market's rules; those of the default where none is named, none at all where it is unknown."""
        code = market or self.default_market
        return self.rules.get(code, Rules(code))


def load_ratings(on: date) -> RatingBook:
    """The rating book as of a day. Four queries whatever its size."""
    parts: dict[str, Part] = {}
    masses: dict[str, float] = {}
    for row in ComponentRating.objects.select_related("item").only(
        *(field.name for field in ComponentRating._meta.concrete_fields if field.name != "item"),
        "item__code",
        "item__mass_kg",
    ):
        parts[row.item.code] = _part(row)
        masses[row.item.code] = float(row.item.mass_kg)
    duties: dict[str, dict[str, int]] = defaultdict(dict)
    for code, duty, count in ItemDuty.objects.values_list("item__code", "duty", "count"):
        duties[code][duty] = count
    frames = {frame.model.code: frame for frame in ModelFrame.objects.select_related("model")}
    rules = rules_on(on)
    return RatingBook(
        parts=parts,
        mass_kg=masses,
        duties=duties,
        frames=frames,
        rules=rules,
        default_market=next((code for code, one in rules.items() if one.is_default), ""),
        on=on,
    )


def rules_on(on: date, issue: int | None = None) -> dict[str, Rules]:
    """The rules in force on a day by market, as the book stood at an issue (now if none is named). One query."""
    rows = RuleRow.objects.all() if issue is None else RuleRow.objects.filter(issue__number__lte=issue)
    by_market: dict[str, list[tuple[Rule, bool]]] = defaultdict(list)
    defaults: set[str] = set()
    newest = 0
    for market, is_default, number, gone, rule in _rows(rows.order_by()):
        by_market[market].append((rule, gone))
        newest = max(newest, number)
        if is_default:
            defaults.add(market)
    return {
        market: Rules(market, in_force(found, on), newest, market in defaults)
        for market, found in by_market.items()
    }


def _rows(rows: QuerySet[RuleRow]) -> Iterable[tuple[str, bool, int, bool, Rule]]:
    values = rows.values_list(
        "market__code",
        "market__is_default",
        "issue__number",
        "is_withdrawn",
        "subject",
        "value",
        "word",
        "edge",
        "clause",
        "source",
        "valid_from",
        "verified_on",
    )
    for (
        market,
        is_default,
        number,
        gone,
        subject,
        value,
        word,
        edge,
        clause,
        source,
        valid_from,
        verified_on,
    ) in values:
        rule = Rule(
            subject=subject,
            value=None if value is None else float(value),
            word=word,
            edge=cast(Edge, edge),
            clause=clause,
            source=source,
            valid_from=valid_from,
            is_verified=verified_on is not None,
            issue=number,
        )
        yield market, is_default, number, gone, rule


def _part(row: ComponentRating) -> Part:
    code, kind = row.item.code, row.kind
    if kind == ComponentRating.Kind.AXLE:
        return Axle(code, float(row.capacity_kg or 0), row.is_braked)
    if kind == ComponentRating.Kind.WHEEL:
        return Wheel(code, float(row.capacity_kg or 0))
    if kind == ComponentRating.Kind.TYRE:
        return Tyre(code, row.load_index or 0, row.speed_symbol)
    return Coupling(
        code,
        s_kg=None if row.s_kg is None else float(row.s_kg),
        dc_kn=None if row.dc_kn is None else float(row.dc_kn),
        max_mass_kg=None if row.capacity_kg is None else float(row.capacity_kg),
        is_overrun=row.is_braked,
    )
