"""Pages of one load: signed, counted out and back, its papers and certificates."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.attachments import give_out, read_upload
from bom.kernel.entries import Done, Sent, entry_page, form_key, kept_offline
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.kernel.quantities import format_quantity
from inventory.buying.outside import line_of
from production.coating import counting_back, filing, load_forms, made_good, outstanding
from production.coating import load_queries as queries
from production.coating import loads as verbs
from production.coating.galvanising_views import COAT, KEY, Load
from production.coating.load_rules import NOTHING
from production.coating.models import GalvanisingLoad, LoadLine
from production.coating.paper_models import Certificate, LoadPaper
from production.coating.papers.contents import claims_of
from production.coating.pick_up import pick_up
from production.orders.freezing import GALVANISE
from production.orders.models import Order
from production.works.person import person

LOADED = (Load.AWAY, Load.BACK)


@require_GET
@kept_offline
def load(request: HttpRequest, number: str) -> HttpResponse:
    """One load: drawn, its lines, what may be done with it now, its papers."""
    return _load_page(request, (), number)


def _load_page(request: HttpRequest, problems: tuple[Problem, ...], number: str) -> HttpResponse:
    found = get_object_or_404(queries.loads(*Load.values), number=number)
    filled = queries.filled(queries.load_views([found]))[0]
    ordered = line_of(found.number, GALVANISE) if found.state in LOADED else None
    lines = [one.line for one in filled.lines]
    context: dict[str, Any] = {
        "filled": filled,
        "view": filled.view,
        "load": found,
        "lines": filled.lines,
        "others": list(queries.loads(Load.RELEASED).exclude(pk=found.pk))
        if found.state == Load.RELEASED
        else [],
        "pick_up": pick_up(lines, found.weighed_out_kg, found.weighed_back_kg) if lines else None,
        "ordered": ordered,
        "claims": claims_of(ordered),
        "papers": found.papers.defer("pdf").order_by("-pk")[:4],
        "certificates": found.certificates.select_related("by", "withdrawn_by"),
        "again": outstanding.lacking([line.order_id for line in lines if line.lacking])
        if found.state == Load.BACK and any(line.lacking for line in lines)
        else [],
        "then": LoadLine.Then.choices,
        "problems": problems,
        "key": new_key(KEY),
    }
    return page(request, "coating/load.html", context, status=409 if problems else 200)


def _line_page(request: HttpRequest, problems: tuple[Problem, ...], line_id: int) -> HttpResponse:
    return _load_page(request, problems, _line(line_id).load.number)


def _take_sign(sent: Sent, line_id: int) -> Done:
    """Sign for the vents of one line; the other button takes the signature back."""
    line = _line(line_id)
    what = f"{line.item.code} of order {line.order.number}"
    if sent.fields.get("withdraw"):
        verbs.withdraw_signature(line=line, by=sent.by)
        return Done(f"The signature for {what} is taken back.", _address(line.load))
    signed = verbs.sign_vents(line=line, by=sent.by, at=sent.made_at)
    return Done(f"{what} is signed for by {signed.vents_checked_by}.", _address(line.load))


def _take_send(sent: Sent, number: str) -> Done:
    found = _found(number)
    counted = load_forms.counted_out(sent.fields, _lines(found)) if sent.fields.get("counted") else None
    weighed = load_forms.weight(sent.fields)
    verbs.send_load(load=found, by=sent.by, counted=counted, weighed_kg=weighed, at=sent.made_at)
    return Done(f"Load {number} is away.", _address(found))


def _take_back(sent: Sent, number: str) -> Done:
    """Count the load back; each line has fields for what is missing or damaged."""
    found = _found(number)
    faults = load_forms.faults(sent.fields, _lines(found))
    weighed = load_forms.weight(sent.fields)
    counting_back.load_back(load=found, by=sent.by, faults=faults, weighed_kg=weighed, at=sent.made_at)
    short = sum(bool(one.missing) for one in faults.values())
    spoilt = sum(bool(one.damaged) for one in faults.values())
    said = f"Load {number} is back" + (f", {short} lines short" if short else "")
    return Done(f"{said}{f', {spoilt} lines damaged' if spoilt else ''}.", _address(found))


def _take_late(sent: Sent, line_id: int) -> Done:
    line = counting_back.missing_part_back(line=_line(line_id), by=sent.by, at=sent.made_at)
    return Done(f"{line.item.code} of order {line.order.number} is back.", _address(line.load))


def _take_make_good(sent: Sent, line_id: int) -> Done:
    """Have made again what this line's order lost at the galvaniser."""
    line = _line(line_id)
    made = made_good.make_good(order=line.order, by=sent.by)
    said = ", ".join(f"{format_quantity(one.pieces)} × {one.item.code}" for one in made)
    return Done(
        f"{said} of order {line.order.number} is made again; its cards are at the stations.",
        _address(line.load),
    )


def _take_move(sent: Sent, number: str) -> Done:
    """Put an order's lines on another lorry."""
    order = get_object_or_404(Order, number=sent.fields.get("order", ""))
    other = _found(sent.fields.get("to", ""))
    verbs.move_order(order=order, from_load=_found(number), to_load=other, by=sent.by)
    return Done(
        f"Order {order.number} goes with load {other.number}.", reverse("coating:load", args=[number])
    )


def _take_weight(sent: Sent, number: str) -> Done:
    found = _found(number)
    weighed = load_forms.weight(sent.fields)
    counting_back.weigh_back(load=found, weighed_kg=NOTHING if weighed is None else weighed, by=sent.by)
    return Done(f"The mass of load {number} with its zinc is written down.", _address(found))


_act = partial(entry_page, permission=COAT)
sign = _act(show=_line_page, take=_take_sign)
late_part = _act(show=_line_page, take=_take_late)
make_good = entry_page(permission="production.replace_part", show=_line_page, take=_take_make_good)
send = _act(show=_load_page, take=_take_send)
back = _act(show=_load_page, take=_take_back)
move = _act(show=_load_page, take=_take_move)
weigh = _act(show=_load_page, take=_take_weight)


@require_POST
@needs(COAT)
def print_paper(request: HttpRequest, number: str) -> HttpResponse:
    """Have the dispatch note or the claim drawn; its page says how far it is."""
    try:
        paper = filing.ask_paper(
            load=_found(number),
            kind=request.POST.get("kind", ""),
            by=person(request),
            key=form_key(request),
        )
    except ProblemError as refusal:
        return _load_page(request, refusal.problems, number)
    return redirect("coating:paper", paper.pk)


@require_GET
def paper(request: HttpRequest, paper: int) -> HttpResponse:
    """A paper of a load being drawn, or ready to be opened."""
    found = get_object_or_404(LoadPaper.objects.defer("pdf").select_related("load"), pk=paper)
    context = {
        "paper": found,
        "progress_url": reverse("coating:paper", args=[found.pk]),
        "pdf_url": reverse("coating:paper_pdf", args=[found.pk]),
    }
    return page(request, "coating/paper.html", context, part="kernel/_paper_progress.html")


@require_GET
def paper_pdf(request: HttpRequest, paper: int) -> HttpResponse:
    found = get_object_or_404(LoadPaper.objects.select_related("load"), pk=paper)
    if found.pdf is None:
        raise Http404("This paper is not drawn yet.")
    answer = HttpResponse(bytes(found.pdf), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{found.load.number}-{found.kind}.pdf"'
    return answer


@require_POST
@needs(COAT)
def file_certificate(request: HttpRequest, number: str) -> HttpResponse:
    """Keep the galvaniser's certificate. Not kept on the device: a file is too large to wait there."""
    try:
        text = request.POST.get("mean_um", "").strip()
        filed = filing.file_certificate(
            load=_found(number),
            number=request.POST.get("certificate", ""),
            mean_um=(int(text) if text.isdecimal() and len(text) < 6 else 0) if text else None,
            attachment=read_upload(request.FILES.get("file"), kinds=filing.KINDS, what="certificate"),
            by=person(request),
            key=form_key(request),
        )
    except ProblemError as refusal:
        return _load_page(request, refusal.problems, number)
    messages.success(request, f"Certificate {filed.number} is filed with load {number}.")
    return redirect("coating:load", number)


@require_GET
def certificate(request: HttpRequest, filed: int) -> FileResponse:
    """The certificate as it was sent."""
    found = get_object_or_404(Certificate.objects.select_related("load"), pk=filed)
    ending = (found.file.name or "").rpartition(".")[2]
    return give_out(
        found.file.name or "", found.file_type, called=f"{found.load.number}-certificate.{ending}"
    )


def _certificate_page(request: HttpRequest, problems: tuple[Problem, ...], filed: int) -> HttpResponse:
    return _load_page(request, problems, get_object_or_404(Certificate, pk=filed).load.number)


def _take_withdraw(sent: Sent, filed: int) -> Done:
    found = filing.withdraw_certificate(
        certificate=get_object_or_404(Certificate, pk=filed), why=sent.fields.get("why", ""), by=sent.by
    )
    return Done(f"Certificate {found.number} is withdrawn.", _address(found.load))


withdraw_certificate = _act(show=_certificate_page, take=_take_withdraw)


def _found(number: str) -> GalvanisingLoad:
    return get_object_or_404(GalvanisingLoad, number=number)


def _line(line_id: int) -> LoadLine:
    return get_object_or_404(LoadLine.objects.select_related("load", "item", "order"), pk=line_id)


def _lines(load: GalvanisingLoad) -> list[LoadLine]:
    return list(load.lines.select_related("load", "item", "order"))


def _address(load: GalvanisingLoad) -> str:
    return reverse("coating:load", args=[load.number])
