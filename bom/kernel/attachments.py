"""Files that people hand in to be kept: known by their first bytes, bounded, stored under their own hash, shown safely.

Nothing of what the device says about a file is believed: not its name, not its type. A file is given out with the
type its bytes had, and a browser is told to guess nothing and to run nothing in it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import UploadedFile
from django.http import FileResponse, Http404

from bom.kernel.errors import Problem, ProblemError

MEGABYTE = 1024 * 1024
MOST_BYTES = 8 * MEGABYTE


@dataclass(frozen=True)
class Kind:
    """A kind of file that is kept: what a person calls it, its type (RFC 6838), and the ending of its name."""

    word: str
    type: str
    ending: str


JPEG, PNG = Kind("JPEG", "image/jpeg", "jpg"), Kind("PNG", "image/png", "png")
WEBP, PDF = Kind("WebP", "image/webp", "webp"), Kind("PDF", "application/pdf", "pdf")
PICTURES = (JPEG, PNG, WEBP)
PAPERS = (PDF, JPEG, PNG)


@dataclass(frozen=True)
class Attachment:
    """A file's bytes, and what its first bytes say it is."""

    content: bytes
    type: str
    ending: str

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.content).hexdigest()


def read_attachment(content: bytes, *, kinds: Collection[Kind], what: str) -> Attachment:
    """A file as it was sent, where it is one of `kinds`. `what` is what a person calls it: "photo".

    Known by: the SOI marker of ISO 10918-1, the signature of ISO 15948, the container of RFC 9649, and the header
    line of ISO 32000 with the end mark that the same standard asks for.

    Raises:
        ProblemError: it is empty, too large, or of another kind.
    """
    if len(content) > MOST_BYTES:
        raise ProblemError(too_large(len(content), what))
    found = _kind_of(content)
    if found is None or found not in kinds:
        words = [kind.word for kind in kinds]
        mend = f"Send a {', '.join(words[:-1])} or {words[-1]} file."
        raise ProblemError(Problem(f"The file is no {what} that is kept here", what, mend))
    return Attachment(content, found.type, found.ending)


def read_upload(sent: UploadedFile[Any] | None, *, kinds: Collection[Kind], what: str) -> Attachment | None:
    """The file of a form, none where none was sent. One that is too large is refused before it is read."""
    if sent is None:
        return None
    if (sent.size or 0) > MOST_BYTES:
        raise ProblemError(too_large(sent.size or 0, what))
    return read_attachment(sent.read(), kinds=kinds, what=what)


def too_large(size: int, what: str) -> Problem:
    return Problem(
        f"The {what} has {size / MEGABYTE:.1f} MB",
        what,
        f"At most {MOST_BYTES // MEGABYTE} MB are kept: make it smaller, or leave it out.",
    )


def keep(attachment: Attachment, folder: str) -> str:
    """Store the file under its own hash and return its name: the same file twice is one file."""
    name = f"{folder}/{attachment.sha256}.{attachment.ending}"
    if not default_storage.exists(name):
        name = default_storage.save(name, ContentFile(attachment.content))
    return name


def give_out(name: str, kind: str, *, called: str = "") -> FileResponse:
    """The file as it was kept. `called` is the name under which a browser saves it.

    Raises:
        Http404: no file was handed in, or it is gone from the data folder.
    """
    if not name or not default_storage.exists(name):
        raise Http404("No such file was handed in, or it is gone from the data folder.")
    answer = FileResponse(default_storage.open(name), content_type=kind, filename=called)
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Security-Policy"] = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
    answer["Cache-Control"] = "private, max-age=86400"
    return answer


def _kind_of(content: bytes) -> Kind | None:
    if content.startswith(b"\xff\xd8\xff"):
        return JPEG
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return PNG
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return WEBP
    if content.startswith((b"%PDF-1.", b"%PDF-2.")):
        return PDF if b"%%EOF" in content[-2048:] else None
    return None
