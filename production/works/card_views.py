"""Pages of job cards: one card with its acts, the scan at a station, the list, where things stand."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET

from bom.kernel.entries import Done, Sent, entry_page, kept_offline
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import new_key, page
from bom.kernel.scans import Kind, read, why_unknown
from bom.kernel.tables import table_page
from bom.templatetags.workshop import moment
from production.works import card_making, cards
from production.works.card_filters import CardFilter
from production.works.card_models import JobCard, WorkProblem, WorkTime
from production.works.card_queries import card_sheet, standing
from production.works.card_queries import cards as all_cards
from production.works.card_tables import CardTable, StandingTable
from production.works.jig_sheets import sheets_in_force
from production.works.models import WorksOperation, WorksOrder
from production.works.station_queries import WAITS_FOR
from production.works.station_tables import station_address
from production.works.weld_holding import WELD

KEY = "card"
WORK = "production.report_work"


@require_GET
@kept_offline
def card(request: HttpRequest, card: str) -> HttpResponse:
    """One card: what it holds, who works on it, and its acts."""
    return card_page(request, (), card)


@require_GET
def card_list(request: HttpRequest) -> HttpResponse:
    """All cards, filtered by station and state."""
    return table_page(
        request,
        table_class=CardTable,
        queryset=all_cards(),
        filterset_class=CardFilter,
        template="works/cards.html",
        export_name="job-cards",
        context={"key": new_key(KEY)},
    )


@require_GET
def where_it_stands(request: HttpRequest) -> HttpResponse:
    """Every order on the floor: where it stands, for how long, and what comes next."""
    return table_page(
        request,
        table_class=StandingTable,
        queryset=standing(),
        template="works/standing.html",
        export_name="what-stands-where",
    )


def card_page(request: HttpRequest, problems: tuple[Problem, ...], card: str) -> HttpResponse:
    found = _found(card)
    sheet = card_sheet(found)
    context = {
        "card": found,
        "sheet": sheet,
        "is_mine": any(one.person_id == request.user.pk for one in sheet.running),
        "finished_at_screen": cards.FINISHED_ELSEWHERE.get(found.process.code, "")
        if found.kind == JobCard.Kind.USUAL
        else "",
        "earlier": _earlier(sheet.way, found),
        "jigs": sheets_in_force([line.item_id for line in sheet.lines], found.process.code),
        "is_weld": found.process.code == WELD,
        "inspections": found.inspections.select_related("by", "cleared_by")
        if found.process.code == WELD
        else [],
        "is_coated": found.process.code == WELD and _is_coated(sheet.way),
        "station_url": station_address(found.process.code),
        "kinds": WorkProblem.Kind.choices,
        "problems": problems,
        "key": new_key(KEY),
    }
    return page(request, "works/card.html", context, status=409 if problems else 200)


def _take_start(sent: Sent, card: str) -> Done:
    found = _found(card)
    before = WorkTime.objects.filter(person=sent.by, stopped_at__isnull=True).select_related("card").first()
    cards.start(card=found, by=sent.by, at=sent.made_at)
    if before is None:
        said = f"{sent.by} works on {found.number} now."
    elif before.card_id == found.pk:
        said = f"{sent.by} works on {found.number} already; nothing was changed."
    else:
        said = f"{sent.by} works on {found.number} now; your time on {before.card.number} is stopped."
    return Done(f"{said}{_who_else(found, sent)}", _address(found))


def _who_else(card: JobCard, sent: Sent) -> str:
    """Who is at the card too: two bays that take the same job hear of each other."""
    others = card.times.filter(stopped_at__isnull=True).exclude(person=sent.by).select_related("person")
    names = [f"{one.person} since {moment(one.started_at)}" for one in others.order_by("started_at")]
    return f" At it too: {', '.join(names)}." if names else ""


def _take_stop(sent: Sent, card: str) -> Done:
    found = cards.stop(card=_found(card), by=sent.by, at=sent.made_at)
    return Done(f"{sent.by} stopped on {found.number}; the card stays begun.", _address(found))


def _take_finish(sent: Sent, card: str) -> Done:
    found = _found(card)
    mend, spoilt = pieces_of(sent, "mend"), pieces_of(sent, "spoilt")
    none = Decimal(0)
    counts = {pk: cards.Count(mend.get(pk, none), spoilt.get(pk, none)) for pk in {*mend, *spoilt}}
    followers = cards.finish(
        card=found, counts=counts, by=sent.by, reason=sent.fields.get("reason", ""), at=sent.made_at
    )
    more = "".join(f" {one.number} is the card to {_purpose(one)}." for one in followers)
    return Done(f"{found.number} is done.{more}", _address(found))


def _purpose(card: JobCard) -> str:
    return "mend what is not right" if card.kind == JobCard.Kind.REWORK else "make the spoilt pieces again"


def _take_split(sent: Sent, card: str) -> Done:
    fresh = card_making.split_card(card=_found(card), take=pieces_of(sent, "take"), by=sent.by)
    return Done(f"{fresh.number} holds what goes ahead: print it and put it on the parts.", _address(fresh))


def _take_join(sent: Sent, card: str) -> Done:
    found = _found(card)
    other = JobCard.objects.filter(number__iexact=sent.fields.get("other", "").strip()).first()
    if other is None:
        raise ProblemError(
            Problem("There is no such card", sent.fields.get("other", ""), "Type or scan its number.")
        )
    card_making.join_cards(card=found, other=other, by=sent.by)
    return Done(f"The parts of {other.number} travel with {found.number} now.", _address(found))


def _take_send_back(sent: Sent, card: str) -> Done:
    back = cards.send_back(
        card=_found(card),
        process=sent.fields.get("process", ""),
        take=pieces_of(sent, "back"),
        reason=sent.fields.get("reason", ""),
        by=sent.by,
    )
    return Done(f"{back.number} goes back to {back.process.name} with the pieces.", _address(back))


def _act(take: Callable[..., Done]) -> Callable[..., HttpResponse]:
    return entry_page(permission=WORK, show=card_page, take=take)


start, stop, finish = _act(_take_start), _act(_take_stop), _act(_take_finish)
split, join, send_back = _act(_take_split), _act(_take_join), _act(_take_send_back)


def _scan_page(request: HttpRequest, problems: tuple[Problem, ...], process: str) -> HttpResponse:
    context = {"process": _known(process), "problems": problems, "key": new_key(KEY)}
    return page(request, "works/scan_card.html", context, status=409 if problems else 200)


def _take_scan(sent: Sent, process: str) -> Done:
    """A card scanned at a station is started there. The wrong station is refused, saying where the card belongs."""
    found = _scanned(sent.fields.get("code", ""))
    if found.process.code != _known(process):
        raise ProblemError(_wrong_station(found, process))
    if not found.is_open:
        return Done(f"{found.number} is {found.get_state_display()} already.", _address(found))
    return _take_start(sent, found.number)


scan = entry_page(permission=WORK, show=_scan_page, take=_take_scan)


def _scanned(code: str) -> JobCard:
    said = read(code)
    if said.kind in (Kind.CARD, Kind.PLAIN):
        found = JobCard.objects.filter(number__iexact=said.code).select_related("process").first()
        if found is not None:
            return found
    raise (
        why_unknown(said)
        if said.kind is Kind.PLAIN
        else ProblemError(
            Problem(
                f"{said.kind.value} {said.code} is no job card",
                "",
                "Scan the code on the job card of the parts.",
            )
        )
    )


def _wrong_station(card: JobCard, process: str) -> Problem:
    here = WorksOperation.objects.filter(card_lines__card=card).first()
    turn = ""
    if here is not None:
        following = (
            JobCard.objects.filter(process__code=process, lines__operation__works_order=here.works_order_id)
            .order_by("number")
            .first()
        )
        turn = f" The card of the same order for this station is {following.number}." if following else ""
    return Problem(
        f"Card {card.number} belongs to {card.process.name}, and this is {process}",
        card.number,
        f"Take the parts to {card.process.name}; nothing was started.{turn}",
    )


def _take_cards_of(sent: Sent, number: str) -> Done:
    works = get_object_or_404(WorksOrder, order__number=number)
    made = card_making.make_cards(works_orders=[works.pk])
    said = f"{made} job cards were made for {number}." if made else f"{number} has all its job cards."
    return Done(said, f"{reverse('cards:cards')}?order={number}")


def _cards_of_page(request: HttpRequest, problems: tuple[Problem, ...], number: str) -> HttpResponse:
    context = {"number": number, "problems": problems, "key": new_key(KEY)}
    return page(request, "works/make_cards.html", context, status=409 if problems else 200)


make_cards = entry_page(permission=WORK, show=_cards_of_page, take=_take_cards_of)


def _found(number: str) -> JobCard:
    return get_object_or_404(JobCard.objects.select_related("process", "follows"), number__iexact=number)


def _address(card: JobCard) -> str:
    return reverse("cards:card", args=[card.number])


def _known(process: str) -> str:
    if process not in WAITS_FOR and process not in cards.FINISHED_ELSEWHERE:
        raise Http404(f"There is no station {process}.")
    return process


def _earlier(way: tuple[WorksOperation, ...], card: JobCard) -> list[Any]:
    """The stations before the card's own, once each, without those that have no cards."""
    found = {
        one.process.code: one.process
        for one in way
        if one.process.sequence < card.process.sequence and one.process.code not in card_making.WITHOUT_CARDS
    }
    return list(found.values())


def pieces_of(sent: Sent, word: str) -> dict[int, Decimal]:
    """The counts of a form by line: fields `word-<line>`, empty ones left out.

    Raises:
        ProblemError: something that is no whole number.
    """
    found: dict[int, Decimal] = {}
    for name, text in sent.fields.items():
        start, _, line = name.partition("-")
        text = str(text).strip()
        if start != word or not text or not (line.isascii() and line.isdecimal()):
            continue
        if not (text.isascii() and text.isdecimal() and len(text) < 8):
            raise ProblemError(Problem(f"“{text}” is no count of pieces", word, "Write a whole number."))
        found[int(line)] = Decimal(text)
    return found


def _is_coated(way: tuple[WorksOperation, ...]) -> bool:
    """The parts have been in the zinc bath or the oven already: welding them again burns the coating."""
    coated = (WorksOperation.State.BEGUN, WorksOperation.State.DONE)
    return any(one.process.code in ("galvanise", "powder") and one.state in coated for one in way)
