"""What the galvaniser lost or spoilt is made again: cut, folded, welded, and sent with a later lorry."""

from __future__ import annotations

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.coating.load_rules import State, galvanising
from production.coating.models import LoadLine
from production.coating.outstanding import lost_for_good, unfinished, wanted_again
from production.orders.models import Order
from production.works import tracking
from production.works.models import WorksOperation
from production.works.replacement_models import Replacement
from production.works.replacing import replace


@transaction.atomic
def make_good(*, order: Order, by: User) -> list[Replacement]:
    """Have all that is missing or scrapped of an order's loads made again. A repeat changes nothing.

    Its galvanising waits again where nothing of it is with a load, so that the next plan finds a lorry for the part.

    Raises:
        ProblemError: nothing of it is lost, or what `replace` refuses.
    """
    lines = wanted_again([order.pk])
    lost = lost_for_good(lines)
    if not lost:
        raise ProblemError(
            Problem(
                "Nothing of the order is lost at the galvaniser",
                f"order {order.number}",
                "Load the page again.",
            )
        )
    loads = sorted({line.load.number for line in lines})
    # The last line lost: what is lost once more on a later lorry is another line, and made good once more.
    key = f"galvaniser:{order.pk}:{max(line.pk for line in lines)}"
    made = replace(
        order=order,
        pieces=lost,
        reason=f"lost or spoilt at the galvaniser, load {', '.join(loads)}",
        key=key,
        by=by,
    )
    is_away = LoadLine.objects.filter(order=order, load__state=State.AWAY).exists()
    words = unfinished([order.pk]).get(order.pk, "")
    for operation in galvanising([order.pk], WorksOperation.State.WAITING, WorksOperation.State.BEGUN):
        if is_away:
            tracking.report_problem(operation=operation, by=by, problem=words[:200])
        else:
            tracking.return_to_queue(operation=operation, by=by, problem=words[:200])
    return made
