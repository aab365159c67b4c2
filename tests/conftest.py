"""The invented workshop, small: built once in a test run, after that its rows are copied in."""

from dataclasses import dataclass, field
from datetime import time

import pytest
from django.apps import apps
from django.core.management.color import no_style
from django.db import connection, models, transaction
from django.test import SimpleTestCase
from hypothesis import settings

from production.planning.models import Plan
from production.scheduling import planning
from production.site.demo import DemoSummary, build
from production.site.roles import sync_roles

# A busy machine is no fault of the code: no example fails by the clock.
settings.register_profile("workshop", deadline=None)
settings.load_profile("workshop")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """On PostgreSQL only what opens a database runs: arithmetic gives the same answer beside any."""
    if connection.vendor != "postgresql":
        return
    kept = [item for item in items if _opens_a_database(item)]
    config.hook.pytest_deselected(items=[item for item in items if item not in kept])
    items[:] = kept


def _opens_a_database(item: pytest.Item) -> bool:
    cls = getattr(item, "cls", None)
    return bool(
        {"db", "transactional_db"} & set(getattr(item, "fixturenames", ()))
        or item.get_closest_marker("django_db")
        or (isinstance(cls, type) and issubclass(cls, SimpleTestCase))
    )


# Permissions get other numbers whenever a test has flushed the database; the roles are then given theirs anew.
_LEFT_OUT = {"auth.Permission", "auth.Group_permissions", "contenttypes.ContentType"}


@dataclass
class Kept:
    """The rows of every table as the first build left them."""

    summary: DemoSummary | None = None
    tables: dict[type[models.Model], tuple[list[str], list[tuple]]] = field(default_factory=dict)

    def keep(self, summary: DemoSummary) -> None:
        self.summary = summary
        for model in apps.get_models(include_auto_created=True):
            if model._meta.label not in _LEFT_OUT and model._meta.managed:
                with connection.cursor() as cursor:
                    cursor.execute(f"SELECT * FROM {connection.ops.quote_name(model._meta.db_table)}")
                    columns = [column[0] for column in cursor.description]
                    rows = [tuple(map(_writable, row)) for row in cursor.fetchall()]
                    self.tables[model] = (columns, rows)

    def put_back(self) -> None:
        filled = {model: rows for model, rows in self.tables.items() if rows[1]}
        with transaction.atomic(), connection.cursor() as cursor:
            for model, (columns, rows) in filled.items():
                names = ", ".join(map(connection.ops.quote_name, columns))
                places = ", ".join(["%s"] * len(columns))
                table = connection.ops.quote_name(model._meta.db_table)
                cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({places})", rows)
            for statement in connection.ops.sequence_reset_sql(no_style(), list(filled)):
                cursor.execute(statement)
        sync_roles()


def _writable(value: object) -> object:
    """SQLite gives times of day out, but does not take them in."""
    return value.isoformat() if isinstance(value, time) else value


_KEPT = Kept()
_PLANNED = Kept()


@pytest.fixture
def workshop(db) -> DemoSummary:
    """The demonstration with eight open orders and eight weeks of history, as it stands today."""
    if _KEPT.summary is None:
        _KEPT.keep(build(orders=8, history_weeks=8))
    else:
        _KEPT.put_back()
    return _KEPT.summary


@pytest.fixture
def planned(transactional_db) -> Plan:
    """The demonstration with eight open orders and a released plan, as a browser finds it."""
    if _PLANNED.summary is None:
        summary = build(orders=8)
        plan = planning.start_plan(by=None, seconds=2)
        plan.refresh_from_db()
        assert plan.has_succeeded, plan.failure
        planning.release_plan(plan=plan, by=None)
        _PLANNED.keep(summary)
    else:
        _PLANNED.put_back()
    return Plan.objects.get(is_current=True)
