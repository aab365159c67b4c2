"""Papers of a load: asked for to be drawn, and the galvaniser's certificate filed with it."""

from __future__ import annotations

from functools import partial

from django.db import transaction
from django.utils import timezone

from bom.kernel.attachments import PAPERS, Attachment, keep
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.coating import tasks
from production.coating.load_rules import State, locked
from production.coating.models import GalvanisingLoad
from production.coating.paper_models import Certificate, LoadPaper

FOLDER = "certificates"
KINDS = PAPERS
LONGEST_NUMBER = 40
THICKEST_UM = 2000


@transaction.atomic
def ask_paper(*, load: GalvanisingLoad, kind: str, by: User, key: str) -> LoadPaper:
    """Have a paper of a load drawn in the background. The same key again returns the first.

    Raises:
        ProblemError: no such paper, or a claim of a load that is not back.
    """
    if before := LoadPaper.objects.filter(key=key).first():
        return before
    if kind not in LoadPaper.Kind.values:
        raise ProblemError(
            Problem("There is no such paper", f"load {load.number}", "Choose one of the page's.")
        )
    if kind == LoadPaper.Kind.CLAIM and load.state != State.BACK:
        raise ProblemError(
            Problem(
                "Nothing is claimed of a load that is not back", f"load {load.number}", "Count it back first."
            )
        )
    paper = LoadPaper.objects.create(key=key, load=load, kind=kind, asked_by=by, step="waiting to be drawn")
    transaction.on_commit(partial(tasks.draw_load_paper.delay, paper.pk))
    return paper


@transaction.atomic
def file_certificate(
    *,
    load: GalvanisingLoad,
    number: str,
    mean_um: int | None,
    attachment: Attachment | None,
    by: User,
    key: str,
) -> Certificate:
    """Keep the galvaniser's certificate with its load. The same key again returns the first.

    Raises:
        ProblemError: no number, no file, a thickness that cannot be, a load that is not back, or the number is filed.
    """
    load = locked(load.pk)
    if before := Certificate.objects.filter(key=key).first():
        return before
    number = number.strip()
    where = f"load {load.number}"
    problems = []
    if load.state != State.BACK:
        problems.append(
            Problem("The load is not back", where, "File its certificate when it is counted back.")
        )
    if not 1 <= len(number) <= LONGEST_NUMBER:
        problems.append(
            Problem(
                "The certificate has no number",
                where,
                f"Write it as it stands there, at most {LONGEST_NUMBER}.",
            )
        )
    if attachment is None:
        problems.append(Problem("No file was chosen", where, "Choose the certificate as PDF, JPEG or PNG."))
    if mean_um is not None and not 0 < mean_um <= THICKEST_UM:
        problems.append(
            Problem(
                f"{mean_um} µm is no coating thickness", where, "Write the mean in µm, or leave it empty."
            )
        )
    if load.certificates.filter(number=number, withdrawn_at__isnull=True).exists():
        problems.append(Problem(f"Certificate {number} is filed already", where, "Withdraw that one first."))
    if problems or attachment is None:
        raise ProblemError(*problems)
    return Certificate.objects.create(
        key=key,
        load=load,
        number=number,
        mean_um=mean_um,
        file=keep(attachment, FOLDER),
        file_type=attachment.type,
        by=by,
    )


@transaction.atomic
def withdraw_certificate(*, certificate: Certificate, why: str, by: User) -> Certificate:
    """It was filed by mistake: it stays to be seen, and counts no more. A repeat changes nothing.

    Raises:
        ProblemError: no reason.
    """
    locked(certificate.load_id)
    certificate = Certificate.objects.select_related("load").get(pk=certificate.pk)
    if certificate.withdrawn_at is not None:
        return certificate
    if not why.strip():
        raise ProblemError(
            Problem("No reason is given", f"certificate {certificate.number}", "Say why it is withdrawn.")
        )
    certificate.withdrawn_by, certificate.withdrawn_at = by, timezone.now()
    certificate.withdrawn_why = why.strip()[:200]
    certificate.save(update_fields=["withdrawn_by", "withdrawn_at", "withdrawn_why"])
    return certificate
