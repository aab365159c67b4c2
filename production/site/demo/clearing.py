"""Throwing the demonstration away in one go."""

from django.apps import apps
from django.core.management.color import no_style
from django.db import connection, transaction

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.planning.models import Plan
from production.site.demo.people import SIGN_INS, remove_people

APPS = ("bom", "inventory", "production")


def clear() -> None:
    """Empty every table of the workshop and take the demonstration's sign-ins away; superusers stay.

    Raises:
        ProblemError: this is no demonstration (its sign-ins are missing), other people sign in here, or a plan
            is being made just now. Nothing is lost then.
    """
    _refuse_unless_demonstration()
    with transaction.atomic(), connection.cursor() as cursor:
        # The ledger's rows cannot be deleted one by one, and should not be: the whole table goes.
        for statement in connection.ops.sql_flush(no_style(), _tables(), reset_sequences=True):
            cursor.execute(statement)
        remove_people()


def _tables() -> list[str]:
    """Every table of the workshop but the people's, with those between many and many."""
    models = [
        model
        for app in APPS
        for model in apps.get_app_config(app).get_models(include_auto_created=True)
        if model is not User and model not in (User.groups.through, User.user_permissions.through)
    ]
    return sorted({model._meta.db_table for model in models if model._meta.managed})


def _refuse_unless_demonstration() -> None:
    names = {person.name for person in SIGN_INS}
    others = User.objects.filter(is_superuser=False).exclude(username__in=names).order_by("username")
    if not User.objects.filter(username__in=names).exists():
        raise ProblemError(
            Problem(
                "None of the demonstration's sign-ins is here, so this may be real work",
                "demonstration",
                "Remove the data folder by hand if it really is to go.",
            )
        )
    if others:
        listed = ", ".join(user.username for user in others[:5])
        raise ProblemError(
            Problem(
                f"Other people sign in here ({listed}), so this may be real work",
                "demonstration",
                "Take their sign-ins away first if it is only the demonstration.",
            )
        )
    if Plan.objects.filter(state__in=("queued", "running")).exists():
        raise ProblemError(
            Problem(
                "A plan is being made just now", "demonstration", "Wait until it has ended, or cancel it."
            )
        )
