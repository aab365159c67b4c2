"""People who sign in. The lowest room, so that every row may name who did it."""

from django.contrib.auth.models import AbstractUser


class User(AbstractUser):
    """A person in the workshop. Roles are groups; see `production.site.roles`."""

    def __str__(self) -> str:
        return self.get_full_name() or self.username
