"""Children of the serving command: the page server and the embedded worker, started, watched and ended together."""

import socket
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings

from bom.kernel.errors import Problem, ProblemError

RESTARTS_ALLOWED = 5
SECONDS_TO_END = 15


@dataclass
class Child:
    """A process that is started again when it dies, a few times at most. Its words go to a log of its own."""

    name: str
    command: Sequence[str]
    restarts: int = 0
    process: "subprocess.Popen[bytes] | None" = field(default=None, repr=False)

    @property
    def log(self) -> Path:
        return Path(settings.DATA_DIR) / f"{self.name}.log"

    def start(self) -> None:
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(self.command, stdout=log, stderr=log, cwd=settings.BASE_DIR)

    def is_alive(self) -> bool:
        return self.process is not None and self.process.poll() is None

    def end(self) -> None:
        if self.process is None or self.process.poll() is not None:
            return
        self.process.terminate()
        try:
            self.process.wait(SECONDS_TO_END)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()

    def last_words(self, lines: int = 12) -> str:
        if not self.log.exists():
            return ""
        return "\n".join(self.log.read_text(errors="replace").splitlines()[-lines:])


def worker() -> Child:
    """One Celery worker that takes one task at a time, with the clock that closes silent runs."""
    return Child(
        "worker",
        [
            sys.executable, "-m", "celery", "-A", "production.config.celery", "worker",
            "--pool", "solo", "--beat", "--schedule", str(Path(settings.DATA_DIR) / "clock"),
            "--loglevel", "WARNING", "--without-gossip", "--without-mingle",
        ],
    )  # fmt: skip


def pages(host: str, port: int) -> Child:
    """The page server: one process with several threads is enough for a workshop on one machine."""
    return Child(
        "pages",
        [
            sys.executable, "-m", "gunicorn", "production.config.wsgi", "--bind", f"{host}:{port}",
            "--workers", "2", "--threads", "4", "--worker-class", "gthread", "--log-level", "warning",
        ],
    )  # fmt: skip


def refuse_if_taken(host: str, port: int) -> None:
    """Say so before anything is started when another program holds the port."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise ProblemError(
                Problem(
                    what=f"Port {port} is taken by another program.",
                    mend=f"Stop it, or choose another: --port {port + 1}.",
                )
            ) from error


def wait_until_answering(host: str, port: int, child: Child, seconds: int = 60) -> None:
    """Return once the page server accepts a connection; tell why if it ends instead."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if not child.is_alive():
            break
        try:
            with socket.create_connection((host, port), timeout=1):
                return
        except OSError:
            time.sleep(0.1)
    raise ProblemError(
        Problem(what="The page server did not start.", where=str(child.log), mend=child.last_words())
    )


def watch(children: Sequence[Child], say: Callable[[str], None]) -> None:
    """Keep the children alive until one has died too often or the person presses Ctrl+C."""
    try:
        while True:
            for child in children:
                if child.is_alive():
                    continue
                child.restarts += 1
                if child.restarts > RESTARTS_ALLOWED:
                    raise ProblemError(
                        Problem(
                            what=f"The {child.name} process ended {RESTARTS_ALLOWED} times.",
                            where=str(child.log),
                            mend=child.last_words(),
                        )
                    )
                say(f"The {child.name} process ended; starting it again (its log: {child.log}).")
                child.start()
            time.sleep(1)
    except KeyboardInterrupt:
        say("Closing the workshop.")
    finally:
        for child in children:
            child.end()
