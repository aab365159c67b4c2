"""The invented workshop, small: built once in a test run, after that its rows are copied in."""

import os
import pickle
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import time
from pathlib import Path

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


def _models() -> list[type[models.Model]]:
    every = apps.get_models(include_auto_created=True)
    return [model for model in every if model._meta.label not in _LEFT_OUT and model._meta.managed]


@dataclass
class Kept:
    """The rows of every table as the first build left them."""

    summary: DemoSummary | None = None
    tables: dict[str, tuple[list[str], list[tuple]]] = field(default_factory=dict)  # by the table's name

    def keep(self, summary: DemoSummary) -> None:
        self.summary = summary
        for model in _models():
            with connection.cursor() as cursor:
                cursor.execute(f"SELECT * FROM {connection.ops.quote_name(model._meta.db_table)}")
                columns = [column[0] for column in cursor.description]
                rows = [tuple(map(_writable, row)) for row in cursor.fetchall()]
                self.tables[model._meta.db_table] = (columns, rows)

    def put_back(self) -> None:
        filled = {name: rows for name, rows in self.tables.items() if rows[1]}
        with transaction.atomic(), connection.cursor() as cursor:
            for name, (columns, rows) in filled.items():
                names = ", ".join(map(connection.ops.quote_name, columns))
                places = ", ".join(["%s"] * len(columns))
                table = connection.ops.quote_name(name)
                cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({places})", rows)
            of_tables = [model for model in _models() if model._meta.db_table in filled]
            for statement in connection.ops.sequence_reset_sql(no_style(), of_tables):
                cursor.execute(statement)
        sync_roles()


def _writable(value: object) -> object:
    """SQLite gives times of day out, but does not take them in."""
    if isinstance(value, memoryview):
        return bytes(value)
    return value.isoformat() if isinstance(value, time) else value


_IN_THIS_PROCESS: dict[str, Kept] = {}


def _built_once(
    name: str, make: Callable[[], DemoSummary], tmp_path_factory: pytest.TempPathFactory
) -> DemoSummary:
    """Built by whichever process of the test run is first; the others take its rows from a file."""
    run = tmp_path_factory.getbasetemp()
    shared = (
        run.parent if "PYTEST_XDIST_WORKER" in os.environ else run
    ) / f"{name}-{connection.vendor}.pickle"
    kept = _IN_THIS_PROCESS.get(name)
    if kept is None and not shared.exists():
        kept = _IN_THIS_PROCESS[name] = Kept()
        kept.keep(make())
        _write_whole(shared, pickle.dumps(kept))
    else:
        kept = _IN_THIS_PROCESS[name] = kept or pickle.loads(shared.read_bytes())
        kept.put_back()
    assert kept.summary is not None
    return kept.summary


def _write_whole(file: Path, content: bytes) -> None:
    part = file.with_name(f"{file.name}.{os.getpid()}")
    part.write_bytes(content)
    part.replace(file)


@pytest.fixture
def workshop(db, tmp_path_factory) -> DemoSummary:
    """The demonstration with eight open orders and eight weeks of history, as it stands today."""
    return _built_once("workshop", lambda: build(orders=8, history_weeks=8), tmp_path_factory)


@pytest.fixture
def planned(transactional_db, tmp_path_factory) -> Plan:
    """The demonstration with eight open orders and a released plan, as a browser finds it."""

    def make() -> DemoSummary:
        summary = build(orders=8, history_weeks=12)
        plan = planning.start_plan(by=None, seconds=2)
        plan.refresh_from_db()
        assert plan.has_succeeded, plan.failure
        planning.release_plan(plan=plan, by=None)
        return summary

    _built_once("planned", make, tmp_path_factory)
    return Plan.objects.get(is_current=True)
