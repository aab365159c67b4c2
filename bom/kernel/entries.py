"""Forms that may come late or twice: from a phone between the racks, from a station whose wireless dropped out.

A page made with `entry_page` takes such a form. The device keeps what was entered until the workshop has answered
(static/js/waiting.js) and sends it with its one-time key; here each key is answered once, and a repeat is given the
first answer again. What is refused changes nothing, leaves its key unused, and can be mended and sent again.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import wraps
from typing import Any, cast

from django.conf import settings
from django.contrib import messages
from django.db import IntegrityError, models, transaction
from django.http import HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key

LONGEST_WAIT = timedelta(days=30)
# What the device adds to a form; not part of what was entered.
_ABOUT = ("csrfmiddlewaretoken", "key", "waited_s", "entered_by")
_KEY = re.compile(r"^[a-z][a-z-]{0,30}:[0-9a-f]{32}$")


class Entry(models.Model):
    """A form that was taken, and the answer it got.

    The row exists so that a device which never heard the answer may ask again. It is written in the same
    transaction as what the form did, so there is either both or neither. It does not guard forms that are sent past
    `entry_page`; the ledger's own keys do that for postings.
    """

    key = models.CharField(max_length=80, unique=True)
    path = models.CharField(max_length=200)
    digest = models.CharField(
        max_length=64, help_text="Of what was entered: a key stands for one content only."
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    said = models.CharField(max_length=300, blank=True)
    goes_to = models.CharField(max_length=200, blank=True)
    made_at = models.DateTimeField(
        help_text="When the person entered it, by the time it waited on the device."
    )
    received_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-received_at", "-id"]
        verbose_name_plural = "entries"

    def __str__(self) -> str:
        return f"{self.path} {self.key}"


@dataclass(frozen=True)
class Sent:
    """One form as it arrived: its key, who sent it, when the person entered it, and the fields."""

    key: str
    by: Any
    made_at: datetime
    fields: QueryDict
    path: str

    @property
    def digest(self) -> str:
        """Of path and fields, without what the device adds."""
        rows = sorted((name, value) for name, values in self.fields.lists() for value in values)
        text = "\n".join(f"{name}={value}" for name, value in rows if name not in _ABOUT)
        return hashlib.sha256(f"{self.path}\n{text}".encode()).hexdigest()


@dataclass(frozen=True)
class Done:
    """What was done, in a sentence, and where a person goes next."""

    said: str
    goes_to: str


Show = Callable[..., HttpResponse]
Take = Callable[..., Done]


def entry_page(*, permission: str, show: Show, take: Take) -> Callable[..., HttpResponse]:
    """A page whose form may wait on a device.

    `show(request, problems, **words of the address)` draws the page; `take(sent, **words)` does what the form asks,
    answers `Done`, or refuses with ProblemError. A device that asks for JSON gets the sentence or the problems
    (status 409); a plain form is sent on, or shown its page again.
    """

    @require_http_methods(["GET", "POST"])
    @needs(permission)
    def view(request: HttpRequest, /, **words: Any) -> HttpResponse:
        if request.method == "GET":
            return show(request, (), **words)
        try:
            done = take_once(sent=_sent(request), take=lambda sent: take(sent, **words))
        except ProblemError as refusal:
            return _refused(request, refusal) or show(request, refusal.problems, **words)
        return _accepted(request, done)

    return view


def kept_offline(view: Show) -> Show:
    """Mark a page so that the device keeps a copy and can open it without the network."""

    @wraps(view)
    def kept(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        response = view(request, *args, **kwargs)
        if request.method == "GET" and response.status_code == 200:
            response["X-Keep"] = "yes"
        return response

    return cast(Show, kept)


def take_once(*, sent: Sent, take: Callable[[Sent], Done]) -> Done:
    """Do what the form asks, or repeat the answer that its key has had.

    Raises:
        ProblemError: what `take` refuses, or a key that was used for something else.
    """
    first = Entry.objects.filter(key=sent.key).first()
    if first is not None:
        return _repeat(first, sent)
    try:
        with transaction.atomic():
            return _take(sent, take)
    except IntegrityError:
        # The same form came twice at once: the first has the key by now.
        first = Entry.objects.filter(key=sent.key).first()
        if first is None:
            raise
        return _repeat(first, sent)


def _take(sent: Sent, take: Callable[[Sent], Done]) -> Done:
    """The key is claimed before anything is done, so that a second sender waits here."""
    entry = Entry.objects.create(
        key=sent.key, path=sent.path[:200], digest=sent.digest, by=sent.by, made_at=sent.made_at
    )
    done = take(sent)
    entry.said, entry.goes_to = done.said[:300], done.goes_to[:200]
    entry.save(update_fields=["said", "goes_to"])
    return done


def _repeat(first: Entry, sent: Sent) -> Done:
    if first.digest != sent.digest:
        raise ProblemError(
            Problem(
                "This form was already taken with other figures",
                "",
                f"What was taken: {first.said} Drop this one, or enter anew what differs.",
            )
        )
    return Done(first.said, first.goes_to)


def form_key(request: HttpRequest) -> str:
    """The one-time key that a form carries; also for forms that are not kept on the device.

    Raises:
        ProblemError: there is none.
    """
    key = request.POST.get("key", "")
    if not _KEY.match(key):
        raise ProblemError(
            Problem("The form has no key of its own", "", "Load the page again and enter it once more.")
        )
    return key


def _sent(request: HttpRequest) -> Sent:
    fields = request.POST
    key = form_key(request)
    entered_by = fields.get("entered_by", "") or request.user.get_username()
    if entered_by != request.user.get_username():
        raise ProblemError(
            Problem(
                f"{entered_by} entered this and {request.user} is signed in",
                "",
                f"Sign in as {entered_by} to send it.",
            )
        )
    return Sent(key, request.user, timezone.now() - _waited(fields), fields, request.path)


def sent_now(request: HttpRequest, prefix: str) -> Sent:
    """A form that does not wait on a device: under its one-time key, or one of its own where it has none."""
    key = request.POST.get("key", "")[:80] or new_key(prefix)
    return Sent(key, request.user, timezone.now(), request.POST, request.path)


def _waited(fields: QueryDict) -> timedelta:
    """How long the form waited, by the device's own clock, so that a clock set wrong does no harm."""
    text = fields.get("waited_s", "0")
    seconds = int(text) if text.isascii() and text.isdecimal() and len(text) < 9 else 0
    waited = timedelta(seconds=seconds)
    if waited > LONGEST_WAIT:
        raise ProblemError(
            Problem(
                f"This waited {waited.days} days on the device",
                "",
                "Look at how things stand and enter it anew.",
            )
        )
    return waited


def _wants_json(request: HttpRequest) -> bool:
    return request.headers.get("Accept", "").startswith("application/json")


def _refused(request: HttpRequest, refusal: ProblemError) -> HttpResponse | None:
    if not _wants_json(request):
        return None
    problems = [{"what": str(problem)} for problem in refusal.problems]
    return JsonResponse({"problems": problems}, status=409)


def _accepted(request: HttpRequest, done: Done) -> HttpResponse:
    if _wants_json(request):
        return JsonResponse({"said": done.said, "goes_to": done.goes_to})
    messages.success(request, done.said)
    return redirect(done.goes_to)


def form_problems(form: Any) -> ProblemError:
    """What a form's own checks found, field by field."""
    problems = [
        Problem(error, "" if name == "__all__" else str(form.fields[name].label or name))
        for name, errors in form.errors.items()
        for error in errors
    ]
    return ProblemError(*problems)
