"""Turns a problem that nobody caught into a plain page instead of a traceback."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from bom.kernel.errors import ProblemError


class ProblemMiddleware:
    """A verb refuses with `ProblemError`; where the view has no form to show it in, this page shows it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if not isinstance(exception, ProblemError):
            return None
        return render(request, "site/problem.html", {"problems": exception.problems}, status=409)
