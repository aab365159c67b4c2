"""Cures of all late and tight orders in one run: each thing is tried once, for everybody whom it may free.

Background only: it loads the solver.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from itertools import zip_longest

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.running import Pulse, Stopped
from production.scheduling.board.drafts import Draft
from production.scheduling.board.wording import Namer
from production.scheduling.reasons.chains import late_or_tight
from production.scheduling.reasons.cure_models import CureEffect, CureOption, CureTrial, is_freed
from production.scheduling.reasons.curing import (
    Cure,
    draft_for,
    find_cures,
    for_whom,
    keep_steps,
    searched,
    tried,
    try_one,
)
from production.scheduling.reasons.trial_runs import RUNNER
from production.scheduling.solver.job import Schedule

MOST_AT_ONCE = 40
Kind = CureOption.Kind


def carry_out(trial_id: int) -> None:
    """Try the cures of a queued trial, of one order or of all; one that another worker has claimed is left alone."""
    RUNNER.carry_out(trial_id, _either)


def _either(trial: CureTrial, pulse: Pulse) -> None:
    if trial.order_id is None:
        try_all(trial, pulse)
    else:
        try_one(trial, pulse)


def try_all(trial: CureTrial, pulse: Pulse) -> None:
    """Find cures along every late or tight order's chain, try each once, keep what each does to each order.

    Raises:
        ProblemError: no order is late or tight.
        Stopped: somebody cancelled it.
    """
    draft = draft_for(trial)
    orders = late_or_tight(draft)
    if not orders:
        raise ProblemError(Problem("No order is late or tight", "the plan", "There is nothing to cure."))
    cures, left_out = find_all(draft, Namer(draft), orders)
    pulse.step(3, f"trying the plan as it is, {len(orders)} orders late or tight")
    base = searched(draft, trial.seconds, pulse, 3, len(cures))
    found = []
    for number, cure in enumerate(cures, start=1):
        share = 3 + 94 * number / (len(cures) + 1)
        pulse.step(share, f"{number} of {len(cures)}: {cure.sentence}"[:190])
        found.append((cure, tried(draft, cure, trial.seconds, pulse, share, len(cures))))
    with transaction.atomic():
        if not RUNNER.close(trial.pk, CureTrial.Outcome.SUCCEEDED):
            raise Stopped
        _store(trial, draft, orders, base, found, left_out)


def find_all(draft: Draft, namer: Namer, orders: Sequence[str]) -> tuple[list[Cure], int]:
    """Every cure once, whomever it may free, and how many were left out.

    The first cure of each order comes before the second of any, the worst order first. What is done for one order
    alone says for which; so the same words are the same cure.
    """
    each = [[for_whom(namer, cure) for cure in find_cures(draft, namer, order)] for order in orders]
    found: dict[str, Cure] = {}
    for row in zip_longest(*each):
        for cure in row:
            if cure is not None:
                found.setdefault(cure.sentence, cure)
    return list(found.values())[:MOST_AT_ONCE], max(0, len(found) - MOST_AT_ONCE)


def _store(
    trial: CureTrial,
    draft: Draft,
    orders: Sequence[str],
    base: Schedule,
    found: Iterable[tuple[Cure, Schedule]],
    left_out: int,
) -> None:
    """What searching alone frees first, then what each cure does beyond that."""
    before, without = slack_of(draft, draft.after), slack_of(draft, base)
    CureTrial.objects.filter(pk=trial.pk).update(
        late_minutes=sum(max(0, -without[order]) for order in orders),
        late_hours=Decimal(base.late_minutes) / 60,
        left_out=left_out,
    )
    search = Cure(Kind.SEARCH, "A new plan: searching again alone")
    for cure, schedule, earlier in [(search, base, before), *((one, laid, without) for one, laid in found)]:
        after = slack_of(draft, schedule)
        newly = [job for job in after if after[job] < 0 <= earlier[job]]
        option = CureOption.objects.create(
            trial=trial,
            kind=cure.kind,
            sentence=cure.sentence[:300],
            late_minutes=sum(max(0, -after[order]) for order in orders),
            late_hours=Decimal(schedule.late_minutes) / 60,
            newly_late=", ".join(newly)[:200],
            price=cure.price,
        )
        keep_steps(option, cure)
        CureEffect.objects.bulk_create(
            CureEffect(
                option=option,
                order=draft.standing.orders[order],
                slack_before=earlier[order],
                slack_after=after[order],
            )
            for order in orders
            if order in draft.standing.orders and (cure is search or is_freed(earlier[order], after[order]))
        )


def slack_of(draft: Draft, schedule: Schedule) -> Mapping[str, int]:
    """By job, the minutes between its finish and its due moment; below 0 it is late."""
    return {job.id: job.due_min - schedule.finish_min.get(job.id, 0) for job in draft.work.jobs}
