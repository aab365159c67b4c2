"""Names of options that bills and rules rest on: what would be broken if the catalogue lost them."""

from collections.abc import Iterator
from typing import Any

from django.utils import timezone

from bom.catalogue.models import OptionRule
from bom.kernel.errors import Problem, ProblemError
from bom.structure.conditions import compile_condition, compile_quantity, compile_text
from bom.structure.effectivity import Issue, Start, may_hold
from bom.structure.models import BillLine, Revision
from bom.structure.wording import KnownNames


def broken_expressions(before: KnownNames, after: KnownNames) -> Iterator[Problem]:
    """Expressions that could be read with the names before and cannot with those after. Four queries at most."""
    if before == after:
        return
    for rule in OptionRule.objects.order_by("pk"):
        for text in (rule.when, rule.then):
            if problem := _broken(compile_condition, text, before, after):
                yield _problem(problem, f"option rule “{rule.sentence}”")
    fields = ("condition", "quantity", "colour_of", "hand_of")
    compilers = (compile_condition, compile_quantity, compile_text, compile_text)
    lines = BillLine.objects.filter(revision__in=_usable()).order_by("revision__item__code", "position")
    for code, position, *texts in lines.values_list("revision__item__code", "position", *fields):
        for compiler, text in zip(compilers, texts, strict=True):
            if text and (problem := _broken(compiler, text, before, after)):
                yield _problem(problem, f"bill of {code}, line {position}")


def _broken(compiler: Any, text: str, before: KnownNames, after: KnownNames) -> Problem | None:
    try:
        compiler(text, after)
    except ProblemError as refusal:
        try:
            compiler(text, before)
        except ProblemError:
            return None
        return refusal.problems[0]
    return None


def _problem(problem: Problem, where: str) -> Problem:
    return Problem(
        f"{problem.what}, but it is named there",
        where,
        "Keep it in the file, or take it out of that bill or rule first.",
    )


def _usable() -> list[int]:
    """Drafts, and the released revisions that some trailer is made by, today or later."""
    today = timezone.localdate()
    issues: dict[int, list[Issue]] = {}
    usable = []
    rows = Revision.objects.values_list("pk", "item", "letter", "state", "effective_from", "from_number")
    for pk, item, letter, state, day, number in rows:
        if state == Revision.State.DRAFT or day > today:
            usable.append(pk)
        else:
            issues.setdefault(item, []).append(Issue(pk, letter, Start(day, number)))
    return usable + [one.pk for line in issues.values() for one in may_hold(line, today)]
