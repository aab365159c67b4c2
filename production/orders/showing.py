"""The rating and set-up of an order as pages and papers show them: the kept record, or worked out for a draft."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from bom.ratings.drawing import SideView, side_view
from bom.ratings.figures import MET, NOT_MET, PERSON, Check, Outcome
from bom.ratings.frame import SetUp
from bom.ratings.rating import Rated
from bom.ratings.set_up import set_up
from production.orders.models import Order
from production.orders.rating_models import RatingRecord, RatingResult, SetUpRecord
from production.orders.recording import aim_of, frame_of, hull_of, rate_orders

_WORST = (NOT_MET, PERSON, MET)


@dataclass(frozen=True)
class Shown:
    """What `orders/_rated.html` and `orders/_set_up.html` need; `record` is none where nothing is kept yet."""

    overall: Outcome | str
    checks: Sequence[Check | RatingResult]
    market: str
    issue: int
    set_up: SetUp | None
    view: SideView | None
    record: RatingRecord | None = None

    @property
    def tally(self) -> list[tuple[int, str]]:
        """How many checks came out how, the worst first."""
        counts = Counter(check.outcome for check in self.checks)
        return [(counts[word], word) for word in _WORST if counts[word]]

    @property
    def open_first(self) -> list[Check | RatingResult]:
        """What is not met, then what needs a person."""
        return sorted(self.open_checks, key=lambda check: _WORST.index(check.outcome))

    @property
    def met(self) -> list[Check | RatingResult]:
        return [check for check in self.checks if check.outcome == MET]

    @property
    def open_checks(self) -> list[Check | RatingResult]:
        """What is not met or needs a person."""
        return [check for check in self.checks if check.outcome != "met"]


def shown_of(order: Order) -> Shown | None:
    """A draft worked out as it is saved; a confirmed order as its latest record says, none where it has no record.

    Two queries for a confirmed order. ProblemError where a draft's bill cannot be worked out.
    """
    if order.state == Order.State.DRAFT:
        return worked_out(rate_orders([order])[order.pk], order)
    record = order.ratings.select_related("set_up", "made_by").order_by("-number").first()
    return None if record is None else _kept(record)


def worked_out(rated: Rated, order: Order) -> Shown:
    return shown_now(rated, order.model.length_mm)


def shown_now(rated: Rated, length_mm: float) -> Shown:
    """A rating just worked out, on a trailer so long from the coupling."""
    found = rated.set_up
    view = side_view(found, length_mm, found.drawbar_mm) if found else None
    return Shown(rated.overall, rated.checks, rated.market, rated.issue, found, view)


def _kept(record: RatingRecord) -> Shown:
    row: SetUpRecord | None = getattr(record, "set_up", None)
    found = set_up(hull_of(row), frame_of(row), aim_of(row)) if row else None
    return Shown(
        overall=record.overall,
        checks=list(record.results.all()),
        market=record.market,
        issue=record.rule_issue,
        set_up=found,
        view=side_view(found, float(row.length_mm), found.drawbar_mm) if found and row else None,
        record=record,
    )
