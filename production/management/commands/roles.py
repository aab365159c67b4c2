"""Make the groups of the roles and give each its permissions."""

from typing import Any

from django.core.management.base import BaseCommand

from production.site.roles import sync_roles


class Command(BaseCommand):
    help = "Make the groups of the roles and give each its permissions. Safe to repeat."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(f"Roles: {', '.join(sorted(sync_roles()))}.")
