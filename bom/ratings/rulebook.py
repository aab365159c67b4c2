"""The rule book: taking the shipped set in, and changing a rule. Every change is a new issue; none is overwritten."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from bom.ratings.models import Market, RuleIssue, RuleRow
from bom.ratings.rules import SUBJECTS, Edge
from bom.ratings.shipped import MARKETS, SHIPPED_ON, Shipped, shipped_for

FIRST_WHY = "the set as shipped, not verified"


@dataclass(frozen=True)
class RuleChange:
    """What a rule is to say. A figure or a word, as its subject asks; `is_verified` puts one's name to it."""

    value: Decimal | None
    word: str
    edge: Edge
    clause: str
    source: str
    valid_from: date
    is_verified: bool = False


@transaction.atomic
def adopt_shipped(*, by: User | None) -> RuleIssue:
    """Take in the shipped set as issue 1, with its markets. Where there is an issue already, nothing is done."""
    first = RuleIssue.objects.order_by("number").first()
    if first is not None:
        return first
    issue = RuleIssue.objects.create(number=1, made_by=by, why=FIRST_WHY)
    for place, (code, name) in enumerate(MARKETS):
        market, _ = Market.objects.get_or_create(code=code, defaults={"name": name, "is_default": place == 0})
        RuleRow.objects.bulk_create(_shipped_row(issue, market, rule) for rule in shipped_for(code))
    return issue


@transaction.atomic
def change_rule(*, market: Market, subject: str, change: RuleChange, why: str, by: User) -> RuleRow:
    """Write a rule anew, as the next issue; orders rated before keep the issue they were rated by.

    Raises:
        ProblemError: an unknown subject, a figure where a word is asked for or the other way round, no clause, no
            source, or no reason.
    """
    _refuse_nonsense(subject, change, why)
    row = RuleRow(
        issue=_next_issue(why, by),
        market=market,
        subject=subject,
        value=change.value,
        word=change.word,
        edge=change.edge if SUBJECTS[subject].has_edge else "",
        clause=change.clause.strip(),
        source=change.source.strip(),
        valid_from=change.valid_from,
        verified_on=timezone.localdate() if change.is_verified else None,
        verified_by=by if change.is_verified else None,
    )
    row.full_clean()
    row.save()
    return row


@transaction.atomic
def withdraw_rule(*, market: Market, subject: str, on: date, why: str, by: User) -> RuleRow:
    """From a day on the market asks nothing on this subject; what it decided then needs a person.

    Raises:
        ProblemError: no rule to withdraw, or no reason.
    """
    last = RuleRow.objects.filter(market=market, subject=subject).order_by("-issue__number").first()
    if last is None or last.is_withdrawn:
        raise ProblemError(
            Problem(
                f"{market.code} has no rule on this subject", subject, "Look at the list of rules in force."
            )
        )
    if not why.strip():
        raise ProblemError(_no_reason())
    return RuleRow.objects.create(
        issue=_next_issue(why, by),
        market=market,
        subject=subject,
        clause=last.clause,
        source=last.source,
        valid_from=on,
        is_withdrawn=True,
    )


def _next_issue(why: str, by: User) -> RuleIssue:
    # The unique number refuses the second of two people who write at the same moment; the page says try again.
    last = RuleIssue.objects.aggregate(last=Max("number"))["last"] or 0
    return RuleIssue.objects.create(number=last + 1, made_by=by, why=why.strip()[:200])


def _shipped_row(issue: RuleIssue, market: Market, rule: Shipped) -> RuleRow:
    is_word = isinstance(rule.answer, str)
    return RuleRow(
        issue=issue,
        market=market,
        subject=rule.subject,
        value=None if is_word else Decimal(str(rule.answer)),
        word=rule.answer if isinstance(rule.answer, str) else "",
        edge=rule.edge,
        clause=rule.clause,
        source=rule.seen,
        valid_from=SHIPPED_ON,
    )


def _refuse_nonsense(subject: str, change: RuleChange, why: str) -> None:
    found: list[Problem] = []
    known = SUBJECTS.get(subject)
    if known is None:
        raise ProblemError(Problem(f"There is no subject {subject}", "subject", "Choose one of the list."))
    if known.words and change.word not in known.words:
        found.append(
            Problem(f"{known.name}: no such answer", "answer", f"One of: {', '.join(known.words.values())}.")
        )
    if not known.words and (change.value is None or change.value < 0):
        found.append(Problem(f"{known.name}: no figure", "answer", f"Write it in {known.unit}."))
    if known.has_edge and change.edge not in ("over", "from"):
        found.append(
            Problem(
                f"{known.name}: not said whether the figure itself counts",
                "edge",
                "Choose over, or from.",
            )
        )
    if not change.clause.strip() or not change.source.strip():
        found.append(
            Problem("Clause or source is missing", "clause", "Say what it rests on and where you read it.")
        )
    if not why.strip():
        found.append(_no_reason())
    if found:
        raise ProblemError(*found)


def _no_reason() -> Problem:
    return Problem("The reason of the change is missing", "why", "Write one sentence for who looks later.")
