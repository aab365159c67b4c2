"""Job cards of the orders under way: who worked on them how long, and one problem that is not settled.

Times are the bill's minutes with a spread that comes from the seed; invented, like everything here.
"""

import random
from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from django.utils import timezone

from bom.people.models import User
from production.orders.models import Order
from production.shop.models import WorkCentre
from production.works.card_models import CardLine, JobCard, WorkProblem, WorkTime

CENT = Decimal("0.01")
SPREAD = (0.82, 1.28)


def keep_times(orders: Sequence[Order], workers: Sequence[User], seed: int = 7) -> None:
    """Times on the cards that are done, and the begun ones marked as begun. Times end before today's first hour."""
    rng = random.Random(seed)
    lines = CardLine.objects.filter(operation__works_order__order__in=orders)
    begun = lines.filter(operation__state="begun").values("card")
    JobCard.objects.filter(pk__in=begun, state=JobCard.State.WAITING).update(
        state=JobCard.State.BEGUN, began_at=timezone.now()
    )
    centres = {centre.process_id: centre for centre in WorkCentre.objects.order_by("-sequence")}
    done = lines.filter(card__state=JobCard.State.DONE).select_related("card", "operation")
    cards = {line.card: line.operation for line in done.order_by("card__number")}
    busy = {worker: timezone.now() - timedelta(days=4) for worker in workers}
    times = []
    for card, operation in cards.items():
        worker = workers[card.process_id % len(workers)]
        minutes = (operation.minutes * Decimal(str(rng.uniform(*SPREAD)))).quantize(CENT)
        started: datetime = busy[worker]
        busy[worker] = started + timedelta(minutes=float(minutes) + 12)
        times.append(
            WorkTime(
                card=card,
                person=worker,
                work_centre=centres.get(card.process_id),
                started_at=started,
                stopped_at=started + timedelta(minutes=float(minutes)),
                ended=WorkTime.Ended.DONE,
                minutes=minutes,
            )
        )
    WorkTime.objects.bulk_create(times)
    _one_problem(workers)


def _one_problem(workers: Sequence[User]) -> None:
    card = JobCard.objects.filter(state=JobCard.State.BEGUN).order_by("number").first()
    if card is not None:
        WorkProblem.objects.create(
            key="demo:problem",
            card=card,
            kind=WorkProblem.Kind.PART_WRONG,
            words="one hanger plate has its slot 4 mm too low",
            by=workers[0],
        )
