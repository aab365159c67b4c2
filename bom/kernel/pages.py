"""Helpers that every page uses: permission with a sentence, whole page or part, one-time form keys."""

import uuid
from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any, Concatenate, ParamSpec, cast

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponse]


def needs(permission: str) -> Callable[[View[P]], View[P]]:
    """Refuse a view to people without `permission` ("app.codename"), saying which one it takes.

    The decorated view carries the name as `needed_permission`, so that a test can walk all addresses.
    """

    def decorate(view: View[P]) -> View[P]:
        @wraps(view)
        def checked(request: HttpRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if not request.user.has_perm(permission):
                raise PermissionDenied(permission)
            return view(request, *args, **kwargs)

        checked.needed_permission = permission  # type: ignore[attr-defined]
        return cast(View[P], checked)

    return decorate


def page(
    request: HttpRequest,
    template: str,
    context: Mapping[str, Any] | None = None,
    *,
    part: str | None = None,
    status: int = 200,
) -> HttpResponse:
    """Answer with the whole page, or only with `part` when htmx asked for it. Both see the same context."""
    wants_part = part is not None and getattr(request, "htmx", False)
    response = render(request, part if wants_part and part else template, dict(context or {}), status=status)
    if part is not None:
        response["Vary"] = "HX-Request"
    return response


def new_key(prefix: str = "form") -> str:
    """A key for one filled-in form; a second submit of the same form carries the same key."""
    return f"{prefix}:{uuid.uuid4().hex}"
