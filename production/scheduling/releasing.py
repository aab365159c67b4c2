"""Releasing a plan: its batches, loads and dates become what the floor sees.

What the floor has begun stays as it is, whichever plan it came from. What the plan before had released and nobody
has begun is dropped; releasing that plan again brings it back.
"""

from django.db import transaction
from django.db.models import Max, QuerySet
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock.models import Purpose
from production.assembly.kits import ensure_kits
from production.coating.models import GalvanisingLoad, LoadLine, PowderBatch
from production.cutting import overtaking
from production.cutting.models import CutBatch
from production.cutting.saw.asking import ask_to_gather
from production.orders.models import Order
from production.planning.alerting import watching
from production.planning.models import Plan, PlanNote
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.asked.holding import hold_what_was_moved
from production.scheduling.models import OrderForecast, PlannedOperation
from production.shop.extra import set_extra_hours, set_extra_run
from production.works.card_making import make_cards
from production.works.models import WorksOrder

# What a released plan may still take away: rows nobody has begun.
LEDGERS = (CutBatch, GalvanisingLoad, PowderBatch)


@transaction.atomic
def release_plan(*, plan: Plan, by: User | None) -> Plan:
    """Hand a plan to the floor. The plan that is released already is left as it is.

    What was moved by hand for it is held there from now on.

    Orders without a promise are promised the day the plan forecasts; promises that were made are not moved.

    Raises:
        ProblemError: the plan is unfinished or did not succeed, or work has begun since on what it moves.
    """
    # The rows of all plans that matter here are locked, so that two releases follow one another.
    locked = {one.pk: one for one in Plan.objects.select_for_update().filter(pk=plan.pk) | _current()}
    plan = locked[plan.pk]
    if plan.is_current:
        return plan
    _refuse_unless_made(plan)
    _refuse_overtaken(plan)
    former = next((one for one in locked.values() if one.is_current), None)
    if former is not None:
        Plan.objects.filter(pk=former.pk).update(is_current=False)
    _drop_what_waits(plan)
    _bring_to_the_floor(plan)
    _take_off_doubled(plan)
    _carry_signatures(plan)
    _release_orders(plan)
    _bring_hours_into_force(plan, by)
    hold_what_was_moved(plan)
    plan.is_current, plan.released_at, plan.released_by = True, timezone.now(), by
    plan.save(update_fields=["is_current", "released_at", "released_by"])
    ask_to_gather(plan=plan, by=by)
    watching.watch()
    return plan


def overtaken_by(plan: Plan) -> list[Problem]:
    """What other plans' loads and powder batches left since this plan was made: it would do that work twice.

    A cut batch begun meanwhile forbids nothing: its parts are taken off this plan's sheets. Two queries.
    """
    since = plan.started_at
    if since is None:
        return []
    loads = GalvanisingLoad.objects.filter(left_at__gt=since).exclude(plan=plan)
    coated = PowderBatch.objects.filter(began_at__gt=since).exclude(plan=plan)
    begun = [
        f"{word} {number}"
        for word, rows in (("load", loads), ("powder batch", coated))
        for number in rows.order_by("number").values_list("number", flat=True)
    ]
    return [
        Problem(
            f"{one[0].upper()}{one[1:]} was begun after plan {plan.number} was made",
            f"plan {plan.number}",
            "Make a new plan in the week: it counts that as begun. Then release the new one.",
        )
        for one in begun
    ]


def _current() -> QuerySet[Plan]:
    return Plan.objects.select_for_update().filter(is_current=True)


def _refuse_unless_made(plan: Plan) -> None:
    if plan.has_succeeded:
        return
    word = plan.get_outcome_display() if plan.outcome else plan.get_state_display()
    raise ProblemError(
        Problem(
            f"Plan {plan.number} cannot be released: it is {word}",
            f"plan {plan.number}",
            "Wait until it is made, or make a new one.",
        )
    )


def _refuse_overtaken(plan: Plan) -> None:
    if problems := overtaken_by(plan):
        raise ProblemError(*problems)


def _drop_what_waits(plan: Plan) -> None:
    """Released rows of other plans that nobody has begun: no sheet marked, no lorry gone, no oven lit."""
    for model in LEDGERS:
        model.objects.filter(state="released").exclude(plan=plan).update(state="dropped")


def _bring_to_the_floor(plan: Plan) -> None:
    for model in LEDGERS:
        model.objects.filter(plan=plan, state__in=["proposed", "dropped"]).update(state="released")


def _take_off_doubled(plan: Plan) -> None:
    """Parts of batches that were begun meanwhile are not cut twice; the plan's notes say so."""
    if plan.started_at is None:
        return
    said = overtaking.take_off_doubled(plan, plan.started_at)
    last = plan.notes.aggregate(last=Max("sequence"))["last"] or 0
    PlanNote.objects.bulk_create(
        PlanNote(plan=plan, sequence=last + number, sentence=sentence)
        for number, sentence in enumerate(said, 1)
    )


def _carry_signatures(plan: Plan) -> None:
    """Who has signed for the vent holes of a chassis has signed, whichever lorry it goes with now."""
    signed = {
        (line.order_id, line.item_id): line
        for line in LoadLine.objects.filter(
            load__state=GalvanisingLoad.State.DROPPED, vents_checked_at__isnull=False
        )
    }
    carried = []
    for line in LoadLine.objects.filter(load__plan=plan, vents_checked_at__isnull=True):
        former = signed.get((line.order_id, line.item_id))
        if former is not None:
            line.vents_checked_by_id, line.vents_checked_at = (
                former.vents_checked_by_id,
                former.vents_checked_at,
            )
            carried.append(line)
    LoadLine.objects.bulk_update(carried, ["vents_checked_by", "vents_checked_at"], batch_size=500)


def _bring_hours_into_force(plan: Plan, by: User | None) -> None:
    """The overtime, extra shifts and lorry runs that the plan reckons with."""
    for change in PlanChange.objects.filter(plan=plan, in_plan=True).select_related("work_centre"):
        if change.kind == PlanChange.Kind.RUN and change.date is not None:
            set_extra_run(date=change.date, is_wanted=True, by=by)
        if change.work_centre is None or change.date is None or change.starts is None or change.ends is None:
            continue
        set_extra_hours(
            work_centre=change.work_centre,
            date=change.date,
            kind=change.hours_kind,
            hours=(change.starts, change.ends),
            by=by,
        )


def _release_orders(plan: Plan) -> None:
    planned = Order.objects.filter(
        pk__in=PlannedOperation.objects.filter(plan=plan, order__isnull=False).values("order")
    )
    _promise(plan)
    fresh = list(planned.filter(state=Order.State.CONFIRMED))
    ensure_kits(planned.filter(state__in=Order.OPEN))
    WorksOrder.objects.filter(
        order__in=[order.pk for order in fresh], state=WorksOrder.State.CONFIRMED
    ).update(state=WorksOrder.State.RELEASED)
    for order in fresh:
        order.state = Order.State.RELEASED
    Order.objects.bulk_update(fresh, ["state"], batch_size=500)
    make_cards(
        works_orders=list(
            WorksOrder.objects.filter(order__in=[order.pk for order in fresh]).values_list("pk", flat=True)
        )
    )


def _promise(plan: Plan) -> None:
    rows = OrderForecast.objects.filter(
        plan=plan, order__promised_on__isnull=True, order__state__in=Order.OPEN
    ).select_related("order__purpose")
    promised: list[Order] = []
    purposes: list[Purpose] = []
    for row in rows:
        row.order.promised_on = timezone.localtime(row.finishes_at).date()
        promised.append(row.order)
        if row.order.purpose is not None:
            row.order.purpose.needed_on = row.order.promised_on
            purposes.append(row.order.purpose)
    Order.objects.bulk_update(promised, ["promised_on"], batch_size=500)
    Purpose.objects.bulk_update(purposes, ["needed_on"], batch_size=500)
