"""The powder pages: the oven with its steps, measuring and judging, frames to coat again, the queue by colour."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from bom.kernel.entries import Done, Sent, entry_page, kept_offline
from bom.kernel.errors import Problem
from bom.kernel.pages import new_key, page
from production.coating import judging, powder_forms, recoating
from production.coating import powder as verbs
from production.coating import powder_queries as queries
from production.coating.models import PowderBatch, PowderLine
from production.coating.powder_models import Step, StepRule, ThicknessRule
from production.shop.models import Oven
from production.works.person import person

Batch = PowderBatch.State
BATCHES_SHOWN = 12
DONE_SHOWN = 4
COAT = "production.coat_parts"
RULES = "production.set_coating"
KEY = "powder"
OWN = "own"


@require_GET
@kept_offline
def powder(request: HttpRequest) -> HttpResponse:
    return _powder_page(request, ())


def _powder_page(request: HttpRequest, problems: tuple[Problem, ...], **_: Any) -> HttpResponse:
    rows = list(queries.powder_queue(Batch.RELEASED, Batch.BEGUN))
    shown = rows[:BATCHES_SHOWN]
    views = queries.powder_views([*shown, *queries.done_last(DONE_SHOWN)])
    oven = Oven.objects.select_related("work_centre").first()
    again = recoating.to_coat_again()
    room = queries.open_batches_by_colour({line.batch.colour_id for line in again})
    context = {
        "views": views[: len(shown)],
        "count": len(rows),
        "done": views[len(shown) :],
        "colours": queries.frames_by_colour().most_common(),
        "changes": queries.changes_of(shown, oven),
        "oven": oven,
        "rule": judging.rule_in_force(),
        "spots": list(enumerate(judging.SPOTS)),
        "again": [(line, room.get(line.batch.colour_id, [])) for line in again],
        "problems": problems,
        "key": new_key(KEY),
    }
    return page(request, "coating/powder.html", context, status=409 if problems else 200)


def _take_begin(sent: Sent, number: str) -> Done:
    batch = verbs.begin_batch(batch=_batch(number), by=sent.by, at=sent.made_at)
    return _done(f"Powder batch {batch.number} is begun by {batch.by}.")


def _take_step(sent: Sent, number: str) -> Done:
    """A step has ended; the other button takes the last one back."""
    batch = _batch(number)
    if sent.fields.get("undo"):
        verbs.undo_step(batch=batch, by=sent.by)
        return _done(f"The last step of {number} is under way again.")
    row = verbs.end_step(
        batch=batch,
        step=sent.fields.get("step", ""),
        by=sent.by,
        temperature_c=powder_forms.temperature(sent.fields),
        why_sooner=sent.fields.get("why_sooner", ""),
        at=sent.made_at,
    )
    return _done(f"{row.get_step_display().capitalize()} of {number} has ended.")


def _take_readings(sent: Sent, line_id: int) -> Done:
    line = _line(line_id)
    reads = powder_forms.readings(sent.fields)
    judging.read_thickness(line=line, reads=reads, by=sent.by, at=sent.made_at)
    count = "1 reading" if len(reads) == 1 else f"{len(reads)} readings"
    return _done(f"Written down for order {line.order.number}: {count}.")


def _take_judge(sent: Sent, line_id: int) -> Done:
    """Good, to be coated again, or (who may) accepted as it is."""
    outcome = sent.fields.get("outcome", "")
    if outcome == PowderLine.Outcome.ACCEPTED and not sent.by.has_perm(RULES):
        raise PermissionDenied(RULES)
    line = judging.judge(
        line=_line(line_id),
        outcome=outcome,
        by=sent.by,
        reason=sent.fields.get("reason", ""),
        at=sent.made_at,
    )
    return _done(f"The frame of order {line.order.number} is {line.get_outcome_display()}.")


def _take_finish(sent: Sent, number: str) -> Done:
    batch = verbs.finish_batch(batch=_batch(number), by=sent.by, at=sent.made_at)
    again = batch.lines.filter(outcome=PowderLine.Outcome.AGAIN).count()
    more = f" {again} to be coated again." if again else ""
    return _done(f"Powder batch {number} is done.{more}")


def _take_again(sent: Sent, line_id: int) -> Done:
    """A frame to be coated again joins a batch, or gets one of its own."""
    line, number = _line(line_id), sent.fields.get("batch", "")
    if number == OWN:
        batch = recoating.batch_of_their_own(lines=[line], by=sent.by)
    else:
        batch = _batch(number)
        recoating.put_in_batch(line=line, batch=batch, by=sent.by)
    return _done(f"The frame of order {line.order.number} goes with batch {batch.number}.")


_act = partial(entry_page, permission=COAT, show=_powder_page)
begin_powder, end_step = _act(take=_take_begin), _act(take=_take_step)
read, judge = _act(take=_take_readings), _act(take=_take_judge)
finish_powder, coat_again = _act(take=_take_finish), _act(take=_take_again)


@require_http_methods(["GET", "POST"])
def rules(request: HttpRequest) -> HttpResponse:
    """The workshop's own figures for the steps and the thickness; who may, changes them."""
    if request.method == "POST" and not request.user.has_perm(RULES):
        raise PermissionDenied(RULES)
    data = request.POST or None
    known = {rule.step: rule for rule in StepRule.objects.all()}
    forms = [
        (step, powder_forms.StepRuleForm(data, prefix=step, instance=known.get(step) or StepRule(step=step)))
        for step in Step
    ]
    current = judging.rule_in_force()
    # Always a new row: the batches that the former one judged keep it.
    fresh = ThicknessRule(**_figures(current)) if current else None
    thickness = powder_forms.ThicknessRuleForm(data, prefix="thickness", instance=fresh)
    if request.method == "POST" and all([form.is_valid() for _, form in forms] + [thickness.is_valid()]):
        with transaction.atomic():
            for _, form in forms:
                form.save()
            if thickness.has_changed():
                thickness.instance.by = person(request)
                thickness.save()
        messages.success(
            request, "The figures are kept. Batches that are begun are judged by them from now on."
        )
        return redirect("coating:rules")
    context = {"forms": forms, "thickness": thickness, "current": current}
    return page(request, "coating/rules.html", context)


def _figures(rule: ThicknessRule) -> dict[str, Any]:
    return {name: getattr(rule, name) for name in powder_forms.ThicknessRuleForm.Meta.fields}


def _batch(number: str) -> PowderBatch:
    return get_object_or_404(PowderBatch, number=number)


def _line(line_id: int) -> PowderLine:
    return get_object_or_404(PowderLine.objects.select_related("batch", "order"), pk=line_id)


def _done(said: str) -> Done:
    return Done(said, reverse("coating:powder"))
