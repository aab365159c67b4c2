"""The rule book."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from bom.people.models import User
from bom.ratings.forms import RuleForm, initial_of
from bom.ratings.models import Market, RuleRow
from bom.ratings.queries import rules_on
from bom.ratings.rulebook import adopt_shipped, change_rule, withdraw_rule
from bom.ratings.rules import SUBJECTS, Rule, Subject
from bom.ratings.shipped import SHIPPED_ON
from bom.templatetags.workshop import quantity_text

CHANGE = "bom.change_rules"


@dataclass(frozen=True)
class Line:
    """One subject of a market, with the rule in force; an empty rule where there is none."""

    subject: str
    name: str
    is_practice: bool
    words: str
    rule: Rule


@dataclass(frozen=True)
class MarketRules:
    code: str
    name: str
    is_default: bool
    rows: tuple[Line, ...]


@require_GET
def rules(request: HttpRequest) -> HttpResponse:
    """The rules in force today, market by market."""
    found = rules_on(timezone.localdate())
    markets = [
        MarketRules(
            market.code,
            market.name,
            market.is_default,
            tuple(_lines(found[market.code].by_subject if market.code in found else {})),
        )
        for market in Market.objects.all()
    ]
    issue = max((one.issue for one in found.values()), default=0)
    return page(request, "ratings/rules.html", {"markets": markets, "issue": issue, "shipped_on": SHIPPED_ON})


@require_POST
@needs(CHANGE)
def adopt(request: HttpRequest) -> HttpResponse:
    issue = adopt_shipped(by=_person(request))
    messages.success(request, f"The rule book stands at issue {issue.number}. Nothing in it is verified yet.")
    return redirect("ratings:rules")


@require_http_methods(["GET", "POST"])
def rule(request: HttpRequest, market: str, subject: str) -> HttpResponse:
    """One rule with all its versions; a permitted person writes the next."""
    return (
        _write_rule(request, market, subject)
        if request.method == "POST"
        else _rule_page(request, market, subject)
    )


@needs(CHANGE)
def _write_rule(request: HttpRequest, market: str, subject: str) -> HttpResponse:
    form = RuleForm(request.POST, subject=_subject(subject))
    if not form.is_valid():
        return _rule_page(request, market, subject, form=form, status=422)
    found = get_object_or_404(Market, code=market)
    try:
        change_rule(
            market=found,
            subject=subject,
            change=form.change(),
            why=form.cleaned_data["why"],
            by=_person(request),
        )
    except ProblemError as refusal:
        return _rule_page(request, market, subject, form=form, refusal=refusal, status=409)
    messages.success(request, "The next issue of the rule book is made.")
    return redirect("ratings:rule", market, subject)


@require_POST
@needs(CHANGE)
def withdraw(request: HttpRequest, market: str, subject: str) -> HttpResponse:
    found = get_object_or_404(Market, code=market)
    try:
        withdraw_rule(
            market=found,
            subject=subject,
            on=_day(request.POST.get("on", "")),
            why=request.POST.get("why", ""),
            by=_person(request),
        )
    except ProblemError as refusal:
        return _rule_page(request, market, subject, refusal=refusal, status=409)
    messages.success(request, "The rule is withdrawn from that day on.")
    return redirect("ratings:rule", market, subject)


def _rule_page(
    request: HttpRequest,
    market: str,
    subject: str,
    *,
    form: RuleForm | None = None,
    refusal: ProblemError | None = None,
    status: int = 200,
) -> HttpResponse:
    found, known = get_object_or_404(Market, code=market), _subject(subject)
    rows = list(
        RuleRow.objects.filter(market=found, subject=subject)
        .select_related("issue__made_by", "verified_by")
        .order_by("-issue__number")
    )
    for row in rows:
        figure = None if row.value is None else float(row.value)
        row.words = _words(known, figure, row.word, row.edge, row.is_withdrawn)  # type: ignore[attr-defined]
    initial = {**initial_of(rows[0] if rows else None), "valid_from": timezone.localdate()}
    context = {
        "market": found,
        "subject": known,
        "versions": rows,
        "form": form or RuleForm(subject=known, initial=initial),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "ratings/rule.html", context, status=status)


def _lines(by_subject: dict[str, Rule] | object) -> Iterator[Line]:
    found: dict[str, Rule] = dict(by_subject) if isinstance(by_subject, dict) else {}
    for code, subject in SUBJECTS.items():
        one = found.get(code)
        words = _words(subject, one.value, one.word, one.edge, False) if one else "no rule"
        yield Line(code, subject.name, subject.is_practice, words, one or Rule(code))


def _words(subject: Subject, value: float | None, word: str, edge: str, gone: bool) -> str:
    if gone:
        return "withdrawn"
    if subject.words:
        return subject.words.get(word, word)
    figure = quantity_text(value) if subject.unit != "×" else f"{(value or 0) * 100:g} %"
    unit = "" if subject.unit == "×" else f" {subject.unit}"
    return f"{edge} {figure}{unit}".strip()


def _subject(code: str) -> Subject:
    if code not in SUBJECTS:
        raise Http404(f"There is no subject {code}.")
    return SUBJECTS[code]


def _day(text: str) -> date:
    try:
        found = parse_date(text)
    except ValueError:
        found = None
    if found is None:
        raise ProblemError(Problem("That is not a day", "from", "Write it as 2027-01-31."))
    return found


def _person(request: HttpRequest) -> User:
    assert isinstance(request.user, User)
    return request.user
