"""Look for alerts now, and mail the letters of today that have not gone yet."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from production.planning.alerting import digest, watching


class Command(BaseCommand):
    help = "Look for alerts; with --mail also send today's letters. Safe to repeat: a letter goes once a day."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--mail", action="store_true", help="Send the letters to those who asked.")

    def handle(self, *args: Any, **options: Any) -> None:
        found = watching.watch()
        self.stdout.write(f"{found.open} open, {found.new} new, {found.news} with news, {found.gone} gone.")
        if options["mail"]:
            self.stdout.write(f"{digest.send_digests()} letters sent.")
