"""What a device needs to go on working when the wireless drops: who is signed in, and the worker that keeps pages."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.templatetags.static import static
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

ASSETS = (
    "img/mark.svg",
    "css/workshop.css",
    "css/hand.css",
    "css/floor.css",
    "js/workshop.js",
    "js/waiting.js",
    "js/hand.js",
    "js/laser.js",
    "js/station.js",
    "django_htmx/htmx-2.min.js",
)


@require_GET
@never_cache
def who(request: HttpRequest) -> JsonResponse:
    """Asked before waiting entries are sent: whose they become, and the token that a form must carry."""
    return JsonResponse({"person": request.user.get_username(), "token": get_token(request)})


@login_not_required
@require_GET
@never_cache
def worker(request: HttpRequest) -> HttpResponse:
    """The script that keeps pages on the device; it stands at the root, because its reach is its own folder.

    Its text changes when one of the assets does, so that devices fetch all of them anew.
    """
    context = {"version": _version(), "assets": [static(name) for name in ASSETS]}
    response = render(request, "site/worker.js", context, content_type="text/javascript")
    response["Service-Worker-Allowed"] = "/"
    return response


@cache
def _version() -> str:
    digest = hashlib.sha256()
    for name in ASSETS:
        path = finders.find(name)
        digest.update(Path(str(path)).read_bytes() if path else name.encode())
    return digest.hexdigest()[:12]
