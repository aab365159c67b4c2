"""What stands against changing a confirmed order, and what it would have to do again."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal

from bom.catalogue.models import ColourPlace
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.structure.models import Process
from production.orders.freezing import Book
from production.orders.models import Order
from production.works.confirming import COATINGS, Prepared
from production.works.standing import Standing
from production.works.still_needed import NOTHING, StillNeeded, Triple, lines_of
from production.works.tracking import SIDE_BY_SIDE

COATS = frozenset(code for codes in COATINGS.values() for code in codes)
CENT = Decimal("0.01")


def more_to_get(needed: StillNeeded, before: StillNeeded) -> dict[str, Decimal]:
    more = {code: quantity - before.to_get.get(code, NOTHING) for code, quantity in needed.to_get.items()}
    return {code: quantity for code, quantity in more.items() if quantity > 0}


def refuse_what_is_begun(
    order: Order,
    standing: Standing,
    prepared: Prepared,
    new_edges: Iterable[Triple],
    more: Mapping[str, Decimal],
    book: Book,
) -> None:
    problems = [
        *_altered(standing, prepared, lines_of(new_edges)),
        *_coats(standing, prepared),
        *_too_late(standing, more, book),
    ]
    if problems:
        raise ProblemError(
            *(
                Problem(
                    what, f"order {order.number}", "Leave that as it was ordered, or undo the work first."
                )
                for what in problems
            )
        )


def _altered(
    standing: Standing, prepared: Prepared, new: Mapping[str, Mapping[str, Decimal]]
) -> Iterable[str]:
    """What has begun and would be made of other parts, or is half made and no longer wanted."""
    old, after = lines_of(standing.edges), prepared.expansion.totals
    for code in sorted(standing.begun):
        first = standing.made[code].first
        is_half_made = (
            first not in SIDE_BY_SIDE and standing.is_under_way(first) and not standing.is_done(first)
        )
        if code not in after:
            if is_half_made:
                yield f"{code} is being made ({first} has begun), and the new choices have none"
        elif old.get(code, {}) != new.get(code, {}):
            parts = _differing(old.get(code, {}), new.get(code, {}))
            yield f"{code} is begun or made already, and the new choices alter what goes into it: {parts}"
        elif is_half_made and after[code] != standing.totals[code]:
            yield f"{code} is being made ({first} has begun), and the new choices want another number of it"


def _differing(old: Mapping[str, Decimal], new: Mapping[str, Decimal]) -> str:
    codes = sorted(code for code in {*old, *new} if old.get(code) != new.get(code))
    return ", ".join(
        f"{code} {format_quantity(old.get(code, NOTHING))} to {format_quantity(new.get(code, NOTHING))}"
        for code in codes
    )


def _coats(standing: Standing, prepared: Prepared) -> Iterable[str]:
    """A coat that is on, or under way, stays on; a new one cannot come below work that has begun."""
    for code in sorted(COATS):
        if standing.is_under_way(code) and code not in prepared.minutes:
            yield f"{code} has begun, and the new finish does without it"
    powder = ColourPlace.POWDER.value
    colour = prepared.answers.colours.get(powder, "")
    if standing.is_under_way("powder") and colour != standing.colours.get(powder, ""):
        yield "powder has begun in another colour"
    sequences = dict(Process.objects.filter(code__in=COATS).values_list("code", "sequence"))
    for code in sorted(COATS & prepared.minutes.keys() - standing.operations.keys()):
        later = [
            one.process.name
            for name, one in standing.operations.items()
            if one.sequence > sequences[code] and name not in SIDE_BY_SIDE and standing.is_under_way(name)
        ]
        if later:
            yield f"{code} would come before work that has begun: {', '.join(later)}"


def _too_late(standing: Standing, more: Mapping[str, Decimal], book: Book) -> Iterable[str]:
    """More of something is wanted whose coat, or whose place in the weld, has gone by."""
    for code in sorted(more):
        processes = {work.process for work in book.work.get(code, ())}
        gone = sorted(one for one in processes & COATS if standing.is_under_way(one))
        if gone:
            yield f"{code} would have to go through {gone[0]} alone: the rest of the order has begun it"
        elif "weld" in processes and any(standing.is_under_way(coat) for coat in COATS):
            yield f"{code} would have to be welded after the coating has begun"


def refuse_substitutes(order: Order, standing: Standing, surplus: Mapping[str, Decimal]) -> None:
    taken = sorted(standing.swapped & surplus.keys())
    if taken:
        raise ProblemError(
            Problem(
                f"A substitute was taken for {', '.join(taken)}, of which fewer are wanted now",
                f"order {order.number}",
                "Take the substitute back in the kit first.",
            )
        )


def reopened_minutes(standing: Standing, more: Mapping[str, Decimal], book: Book) -> dict[str, Decimal]:
    """Finished operations with more to do: the minutes of what is added."""
    minutes: dict[str, Decimal] = defaultdict(Decimal)
    for code, quantity in more.items():
        for work in book.work.get(code, ()):
            if standing.is_done(work.process):
                minutes[work.process] += work.setup_minutes + work.run_minutes * quantity
    return {code: time.quantize(CENT) for code, time in sorted(minutes.items())}
