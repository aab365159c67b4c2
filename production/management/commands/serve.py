"""Serve the workshop: pages, and the embedded worker where no broker address is set."""

import signal
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from bom.kernel.errors import ProblemError
from production.site import serving
from production.site.roles import sync_roles


def _close(*_: object) -> None:
    raise KeyboardInterrupt


class Command(BaseCommand):
    help = "Bring the database up to date and serve the workshop."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            serving.refuse_if_taken(options["host"], options["port"])
            call_command("migrate", verbosity=0)
            sync_roles()
            self.serve(options["host"], options["port"], with_worker=not settings.BROKER_URL)
        except ProblemError as error:
            raise CommandError(str(error)) from error

    def serve(self, host: str, port: int, *, with_worker: bool) -> None:
        # A service manager ends us with SIGTERM, and a shell's background job has Ctrl+C switched off:
        # both close the children as Ctrl+C does.
        for sign in (signal.SIGTERM, signal.SIGINT):
            signal.signal(sign, _close)
        children = [serving.pages(host, port), *([serving.worker()] if with_worker else [])]
        for child in children:
            child.start()
        try:
            serving.wait_until_answering(host, port, children[0])
        except ProblemError:
            for child in children:
                child.end()
            raise
        self.stdout.write(f"The workshop is open at http://{host}:{port}/  (Ctrl+C closes it)")
        serving.watch(children, self.stdout.write)
