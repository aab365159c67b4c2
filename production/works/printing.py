"""Asking for job cards on paper."""

from collections.abc import Collection
from functools import partial

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.works import tasks
from production.works.card_models import CardPaper, JobCard

MOST_CARDS = 120


@transaction.atomic
def print_cards(*, numbers: Collection[str], size: str, by: User, key: str) -> CardPaper:
    """Have these cards drawn in the background. The same key again returns the first paper.

    Raises:
        ProblemError: no card is named, too many, or an unknown size of paper.
    """
    if before := CardPaper.objects.filter(key=key).first():
        return before
    cards = list(JobCard.objects.filter(number__in=numbers)[: MOST_CARDS + 1])
    if not cards or len(cards) > MOST_CARDS or size not in CardPaper.Size.values:
        mend = f"Tick from 1 to {MOST_CARDS} cards, and choose A5 or A4."
        raise ProblemError(Problem(f"{len(cards) or 'No'} cards were chosen to print", "job cards", mend))
    paper = CardPaper.objects.create(key=key, size=size, asked_by=by, step="waiting to be drawn")
    paper.cards.set(cards)
    transaction.on_commit(partial(tasks.draw_cards.delay, paper.pk))
    return paper
