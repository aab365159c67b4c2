"""What may be done about each alert: buy, bring a line forward, take from an order that can wait, use another part.

Nothing is done here; the rows are words and links for a person. The most useful comes first: what costs nothing and
helps at once (another part, another order), then the line that is on its way, then what is to be bought.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from bom.templatetags.workshop import day_text, quantity_text
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine
from inventory.buying.queries import expected_lines
from inventory.stock.queries import Availability, availability
from inventory.stores.rules import Offer, substitutes
from production.planning.alert_models import Alert, AlertAct
from production.planning.alerting.facts import Fact, waits_for
from production.planning.models import Peg, Plan, Suggestion

Kind = AlertAct.Kind
MOST_ACTS = 4


@dataclass(frozen=True)
class Means:
    """What there is to help with, by item id."""

    coming: Mapping[int, Sequence[PurchaseOrderLine]]
    drafted: Mapping[int, PurchaseOrderLine]
    pegs: Mapping[int, Sequence[Peg]]
    substitutes: Mapping[int, Sequence[Offer]]
    stock: Mapping[int, Availability] = field(default_factory=dict)


def means_for(facts: Iterable[Fact], plan: Plan | None) -> Means:
    """Gathered for all facts in seven queries."""
    ids = {fact.item_id for fact in facts}
    coming: dict[int, list[PurchaseOrderLine]] = defaultdict(list)
    for line in expected_lines().filter(item_id__in=ids):
        coming[line.item_id].append(line)
    drafts = PurchaseOrderLine.objects.filter(item_id__in=ids, order__state=PurchaseOrder.State.DRAFT)
    pegs: dict[int, list[Peg]] = defaultdict(list)
    served = Peg.objects.filter(plan=plan, item_id__in=ids).exclude(source=Peg.Source.SUGGESTION)
    for peg in served.select_related("order").order_by("-needed_on", "pk"):
        pegs[peg.item_id].append(peg)
    instead = substitutes(ids)
    others = {offer.instead.pk for offers in instead.values() for offer in offers}
    return Means(
        coming,
        {line.item_id: line for line in drafts.select_related("order__supplier").order_by("-pk")},
        pegs,
        instead,
        availability(others) if others else {},
    )


def acts_for(alert: Alert, fact: Fact, means: Means) -> list[AlertAct]:
    """The acts of one alert, unsaved, ranked."""
    found = [
        *_substitutes(fact, means),
        *(_moves(fact, means) if fact.shortage is not None else ()),
        *_expedite(fact, means),
        *_buy(fact, means),
    ]
    for rank, act in enumerate(found[:MOST_ACTS], start=1):
        act.alert, act.rank = alert, rank
    return found[:MOST_ACTS]


def _substitutes(fact: Fact, means: Means) -> list[AlertAct]:
    acts = []
    for row in means.substitutes.get(fact.item_id, ()):
        stock = means.stock.get(row.instead.pk)
        free = stock.available if stock is not None else Decimal(0)
        if free >= fact.standing.quantity:
            note = f" ({row.note})" if row.note else ""
            words = f"Use {row.instead.code} instead{note}: {quantity_text(free)} are free"
            acts.append(AlertAct(kind=Kind.SUBSTITUTE, words=words, instead=row.instead))
    return acts


def _moves(fact: Fact, means: Means) -> list[AlertAct]:
    """The order that can wait longest: it has the part in time for us, and needs it only when ours has come."""
    assert fact.shortage is not None
    short = fact.standing
    for peg in means.pegs.get(fact.item_id, ()):
        is_other = peg.order_id != fact.shortage.order_id
        is_here_in_time = short.needed_on is not None and peg.available_on <= short.needed_on
        can_wait = short.there_on is not None and peg.needed_on >= short.there_on
        if is_other and is_here_in_time and can_wait and peg.quantity >= short.quantity:
            words = (
                f"Move {quantity_text(short.quantity)} from order {peg.order.number}: "
                f"it needs them only on {day_text(peg.needed_on)}"
            )
            return [AlertAct(kind=Kind.MOVE, words=words, from_order=peg.order)]
    return []


def _expedite(fact: Fact, means: Means) -> list[AlertAct]:
    """The line that it waits for, or else the next one of the item that comes after the need."""
    pegged = waits_for(fact.shortage) if fact.shortage is not None else None
    lines = means.coming.get(fact.item_id, ())
    late = [line for line in lines if _is_late(line.due_on, fact.standing.needed_on)]
    chosen = next((line for line in lines if pegged is not None and line.pk == pegged.pk), None)
    line = chosen or next(iter(late), None)
    if line is None:
        return []
    wanted = fact.standing.needed_on
    to = f" to {day_text(wanted)}" if wanted and wanted < line.due_on else ""
    words = (
        f"Ask {line.order.supplier} to bring {line.order.number} line {line.position} forward "
        f"from {day_text(line.due_on)}{to}"
    )
    return [AlertAct(kind=Kind.EXPEDITE, words=words, purchase_line=line)]


def _is_late(due_on: date, needed_on: date | None) -> bool:
    return needed_on is not None and due_on > needed_on


def _buy(fact: Fact, means: Means) -> list[AlertAct]:
    draft = means.drafted.get(fact.item_id)
    if draft is not None:
        words = f"Release {draft.order.number} to {draft.order.supplier}: it stands there on line {draft.position}"
        return [AlertAct(kind=Kind.BUY, words=words, purchase_line=draft)]
    if fact.shelf is not None and fact.shelf.offer is not None:
        offer = fact.shelf.offer
        much, by = quantity_text(fact.shelf.quantity), day_text(fact.shelf.order_by)
        words = f"Buy {much} from {offer.supplier_name} by {by}"
        return [AlertAct(kind=Kind.BUY, words=words)]
    suggestion = fact.shortage.suggestion if fact.shortage is not None else None
    if suggestion is not None and suggestion.kind == Suggestion.Kind.BUY and _is_unbought(suggestion):
        words = f"Buy {quantity_text(suggestion.quantity)}: suggestion {suggestion.number}"
        return [AlertAct(kind=Kind.BUY, words=words, suggestion=suggestion)]
    return []


def _is_unbought(row: Suggestion) -> bool:
    line = row.purchase_line
    return line is None or line.order.state == PurchaseOrder.State.CANCELLED
