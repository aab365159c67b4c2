"""What is said after something was done: what was posted, and the way to take it back."""

from __future__ import annotations

from django.http import HttpRequest
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.people.models import User
from bom.templatetags.workshop import quantity_text
from inventory.stock.models import Posting

SHOWN = 3


def sentence(done: Posting) -> str:
    """ "moved, 5 to A2." """
    came = [row for row in done.movements.select_related("location") if row.quantity > 0]
    parts = [f"{quantity_text(row.quantity)} to {row.location.code}" for row in came[:SHOWN]]
    return f"{done.get_kind_display()}, {', '.join(parts)}{' …' if len(came) > SHOWN else ''}."


def done_message(what: str, done: Posting) -> SafeString:
    """What was posted, and beside it the way back."""
    return with_undo(f"{what}: {sentence(done)}", done)


def with_undo(said: str, done: Posting) -> SafeString:
    """A sentence with the way back beside it."""
    address = reverse("stores:posting", args=[done.pk])
    return format_html('{} <a href="{}?undo=yes#undo">Undo</a>', said, address)


def person(request: HttpRequest) -> User | None:
    return request.user if isinstance(request.user, User) else None
