"""Check lists as the workshop keeps them, and the table of torques behind some limits."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET, require_http_methods

from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from production.assembly import torques as bolts
from production.dispatch import inspecting
from production.dispatch.forms import CheckLineForm, CheckListForm
from production.dispatch.models import CheckLine, CheckList
from production.dispatch.shipped_checks import add_shipped_lists


@require_http_methods(["GET", "POST"])
def checks(request: HttpRequest) -> HttpResponse:
    """Every check list with its lines; a POST adds a list or a line, changes a line, or takes it out of use."""
    return _change(request) if request.method == "POST" else _page(request)


@require_GET
def torques(request: HttpRequest) -> HttpResponse:
    return page(request, "dispatch/torques.html", {"rows": bolts.table(), "source": bolts.SOURCE})


@needs("production.set_checks")
def _change(request: HttpRequest) -> HttpResponse:
    what = request.POST.get("what", "")
    if what == "usual":
        said = f"{add_shipped_lists()} usual lists were added."
    elif what == "list":
        list_form = CheckListForm(request.POST, instance=_list(request))
        if not list_form.is_valid() or not _condition_holds(list_form):
            return _page(request, list_form=list_form, status=409)
        said = f"The list “{list_form.save().name}” is written down."
    else:
        line_form = CheckLineForm(request.POST, instance=_line(request))
        if not line_form.is_valid() or not _condition_holds(line_form):
            return _page(request, line_form=line_form, status=409)
        said = f"“{line_form.save().words}” is written down."
    messages.success(request, said)
    return redirect("dispatch:checks")


def _condition_holds(form: CheckListForm | CheckLineForm) -> bool:
    """Whether the condition can be read; if not, the form says why."""
    try:
        inspecting.check_condition(form.cleaned_data["condition"])
    except ProblemError as refusal:
        form.add_error("condition", str(refusal))
        return False
    return True


def _list(request: HttpRequest) -> CheckList | None:
    pk = request.POST.get("pk", "")
    return CheckList.objects.filter(pk=pk).first() if pk.isdecimal() else None


def _line(request: HttpRequest) -> CheckLine | None:
    pk = request.POST.get("pk", "")
    return CheckLine.objects.filter(pk=pk).first() if pk.isdecimal() else None


def _page(
    request: HttpRequest,
    list_form: CheckListForm | None = None,
    line_form: CheckLineForm | None = None,
    status: int = 200,
) -> HttpResponse:
    edited = request.GET.get("line", "")
    line = CheckLine.objects.filter(pk=edited).first() if edited.isdecimal() else None
    context = {
        "lists": inspecting.lists_with_lines(),
        "list_form": list_form or CheckListForm(auto_id="list_%s"),
        "line_form": line_form or CheckLineForm(instance=line, auto_id="line_%s"),
        "line": line or (line_form.instance if line_form and line_form.instance.pk else None),
    }
    return page(request, "dispatch/checks.html", context, status=status)
