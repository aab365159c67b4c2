"""What is held on the board, let go and held again."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs
from production.scheduling.asked import holding
from production.scheduling.asked.held_models import HeldOperation
from production.works.person import person


@require_POST
@needs("production.run_plan")
def let_go(request: HttpRequest, pk: int) -> HttpResponse:
    """Let the next plan put it where it does best."""
    holding.let_go(hold=get_object_or_404(HeldOperation, pk=pk), by=person(request))
    return _back(request)


@require_POST
@needs("production.run_plan")
def hold_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Take that back."""
    try:
        holding.hold_again(hold=get_object_or_404(HeldOperation, pk=pk))
    except ProblemError as error:
        messages.error(request, str(error))
    return _back(request)


def _back(request: HttpRequest) -> HttpResponse:
    query = {name: value for name in ("plan", "week") if (value := request.POST.get(name, ""))}
    return redirect(f"{reverse('week:board')}?{urlencode(query)}")
