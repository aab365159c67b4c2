"""The triggers by which PostgreSQL refuses to change or remove rows of a trailer's record; used by migrations.

SQLite has none: there the workshop is the file's only user, and the code's own guard holds. TRUNCATE is not refused,
because throwing the demo away empties every table at once.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

Step = Callable[[StateApps, BaseDatabaseSchemaEditor], None]

FUNCTION = """
CREATE OR REPLACE FUNCTION production_kept() RETURNS trigger AS $$
BEGIN
    RAISE EXCEPTION 'A trailer''s record is never changed (%): write a further row.', TG_TABLE_NAME;
END;
$$ LANGUAGE plpgsql
"""


def keep(tables: Sequence[str]) -> tuple[Step, Step]:
    """The step that guards these tables, and the one that takes the guard away."""

    def add(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
        if schema_editor.connection.vendor != "postgresql":
            return
        # No parameters: the percent sign is the trigger's own.
        schema_editor.execute(FUNCTION, params=None)
        for table in tables:
            schema_editor.execute(
                f"CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION production_kept()"
            )

    def drop(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
        if schema_editor.connection.vendor == "postgresql":
            for table in tables:
                schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_kept ON {table}")

    return add, drop


SEALED_FUNCTION = """
CREATE OR REPLACE FUNCTION production_sealed() RETURNS trigger AS $$
BEGIN
    IF EXISTS (SELECT 1 FROM production_seal WHERE order_id = NEW.order_id) THEN
        RAISE EXCEPTION 'The record of this trailer is sealed: nothing is added to it.';
    END IF;
    RETURN NEW;
END;
$$ LANGUAGE plpgsql
"""


def add_sealed(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Nothing is added to the as-built record of a trailer after its seal."""
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(SEALED_FUNCTION, params=None)
        schema_editor.execute(
            "CREATE TRIGGER production_builtrow_sealed BEFORE INSERT ON production_builtrow "
            "FOR EACH ROW EXECUTE FUNCTION production_sealed()"
        )


def drop_sealed(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("DROP TRIGGER IF EXISTS production_builtrow_sealed ON production_builtrow")
