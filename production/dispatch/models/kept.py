"""What every row of a trailer's record shares: it is added, never changed."""

from typing import Any, Never

from django.conf import settings
from django.db import models

from bom.kernel.errors import Problem, ProblemError


def person_key(**kwargs: Any) -> Any:
    return models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", **kwargs)


class KeptRows(models.QuerySet[Any]):
    """Rows that bulk changes refuse to touch."""

    def update(self, **kwargs: Any) -> Never:
        raise kept_problem("rows")

    def delete(self) -> Never:
        raise kept_problem("rows")


class Kept(models.Model):
    """A row of the trailer's record: added, never changed or removed. PostgreSQL holds this by a trigger as well."""

    objects = KeptRows.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise kept_problem(str(self))
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> Never:
        raise kept_problem(str(self))


def kept_problem(what: str) -> ProblemError:
    return ProblemError(
        Problem(
            f"A trailer's record is never changed ({what})",
            "record",
            "Write a further row with what is right.",
        )
    )
