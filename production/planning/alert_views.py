"""Alerts: what runs short, since when, what may be done; silenced for a time; and mailed to who asks."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.contrib.auth.models import Group
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from bom.people.models import User
from production.planning.alert_models import Alert, AlertWatch, DigestWish
from production.planning.alerting import queries, watching
from production.planning.alerting.digest import FIRST_HOUR
from production.works.person import person

ALERTS_A_PAGE = 60
VIEWS = ("heard", "silenced")


class SilenceForm(forms.Form):
    reason = forms.CharField(label="Why it can wait", max_length=200)
    until = forms.DateField(label="Silent until")


class WishForm(forms.Form):
    """What a person wants by mail."""

    email = forms.EmailField(label="Mail address", required=False)
    shortages = forms.BooleanField(label="Shortages that stop an order", required=False)
    shelves = forms.BooleanField(label="Shelves under their level", required=False)


@require_GET
def alerts(request: HttpRequest) -> HttpResponse:
    """Both kinds: a dated shortage that stops a named order, and a shelf that falls under its level."""
    show = request.GET.get("show", "heard")
    rows = (
        queries.silenced(queries.open_alerts())
        if show == "silenced"
        else queries.heard(queries.open_alerts())
    )
    words = request.GET.get("q", "").strip()
    if words:
        rows = queries.found(rows, words)
    shown = Paginator(rows.order_by("-kind", "needed_on", "item__code", "pk"), ALERTS_A_PAGE).get_page(
        request.GET.get("page")
    )
    watch = AlertWatch.objects.first()
    context = {
        "alerts": shown,
        "counts": queries.counts(),
        "show": show if show in VIEWS else "heard",
        "words": words,
        "looked_at": watch.looked_at if watch else None,
        "today": timezone.localdate(),
    }
    return page(request, "planning/alerts.html", context)


@require_POST
@needs("production.silence_alert")
def look(request: HttpRequest) -> HttpResponse:
    """Look for alerts now instead of waiting for the clock."""
    found = watching.watch()
    messages.success(request, f"{found.open} alerts are open; {found.new} are new, {found.gone} are gone.")
    return redirect("planning:alerts")


@require_POST
@needs("production.silence_alert")
def silence(request: HttpRequest, pk: int) -> HttpResponse:
    """Hear nothing of an alert until a day."""
    alert = get_object_or_404(Alert.objects.select_related("item"), pk=pk)
    form = SilenceForm(request.POST)
    if not form.is_valid():
        messages.error(request, f"{alert.item.code}: say why it can wait, and until which day.")
        return redirect("planning:alerts")
    data = form.cleaned_data
    try:
        watching.silence(alert=alert, by=person(request), reason=data["reason"], until=data["until"])
    except ProblemError as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"{alert.item.code} is silent until then, unless there is news.")
    return redirect("planning:alerts")


@require_POST
@needs("production.silence_alert")
def speak(request: HttpRequest, pk: int) -> HttpResponse:
    """End a silence."""
    alert = get_object_or_404(Alert.objects.select_related("item"), pk=pk)
    watching.speak_again(alert=alert, by=person(request))
    messages.success(request, f"{alert.item.code} is heard again.")
    return redirect("planning:alerts")


@require_http_methods(["GET", "POST"])
def digest(request: HttpRequest) -> HttpResponse:
    """Who is mailed: everybody for himself, and with the right for a role."""
    me = person(request)
    if request.method == "POST" and request.POST.get("role", "").isdecimal():
        return _keep_role(request, get_object_or_404(Group, pk=request.POST["role"]))
    wish = DigestWish.objects.filter(person=me).first()
    initial = {
        "email": me.email,
        "shortages": wish.shortages if wish else False,
        "shelves": wish.shelves if wish else False,
    }
    form = WishForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        return _keep_own(request, me, form)
    wishes = {wish.role_id: wish for wish in DigestWish.objects.filter(role__isnull=False)}
    roles = [(role, wishes.get(role.pk)) for role in Group.objects.order_by("name")]
    context = {"form": form, "wish": wish, "roles": roles, "hour": FIRST_HOUR, "me": me}
    return page(request, "planning/digest_wishes.html", context)


def _keep_own(request: HttpRequest, me: User, form: WishForm) -> HttpResponse:
    data = form.cleaned_data
    if (data["shortages"] or data["shelves"]) and not data["email"]:
        messages.error(request, "Write the mail address that the letters should go to.")
        return redirect("planning:digest")
    if data["email"] != me.email:
        me.email = data["email"]
        me.save(update_fields=["email"])
    kinds = {"shortages": data["shortages"], "shelves": data["shelves"]}
    DigestWish.objects.update_or_create(person=me, defaults=kinds)
    messages.success(request, "Kept. A letter comes only when there is news.")
    return redirect("planning:digest")


@needs("production.set_digest")
def _keep_role(request: HttpRequest, role: Group) -> HttpResponse:
    kinds = {"shortages": "shortages" in request.POST, "shelves": "shelves" in request.POST}
    if any(kinds.values()):
        DigestWish.objects.update_or_create(role=role, defaults=kinds)
    else:
        DigestWish.objects.filter(role=role).delete()
    messages.success(request, f"Kept for the role {role.name}.")
    return redirect("planning:digest")
