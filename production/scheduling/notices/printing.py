"""Asking for the week on paper."""

from datetime import date
from functools import partial

from django.db import transaction

from bom.people.models import User
from production.planning.models import Plan
from production.scheduling import tasks
from production.scheduling.notices.feed_models import WeekPaper


@transaction.atomic
def print_week(*, plan: Plan, monday: date, by: User, key: str) -> WeekPaper:
    """Have a week of a plan drawn in the background. The same key again returns the first paper."""
    if before := WeekPaper.objects.filter(key=key).first():
        return before
    paper = WeekPaper.objects.create(
        key=key, plan=plan, monday=monday, asked_by=by, step="waiting to be drawn"
    )
    transaction.on_commit(partial(tasks.draw_week.delay, paper.pk))
    return paper
