"""The triggers by which PostgreSQL refuses to change or remove what the ledger has written; used by migrations.

SQLite has none: there the workshop is the file's only user, and the code's own guard holds. TRUNCATE is not refused,
because throwing the demo away empties every table at once.
"""

from __future__ import annotations

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

TABLES = ("inventory_posting", "inventory_movement")

MAKE_FUNCTION = """
CREATE OR REPLACE FUNCTION inventory_written_once() RETURNS trigger AS $$
BEGIN
    RAISE EXCEPTION 'The ledger is never changed (%): reverse the posting and post what is right.', TG_TABLE_NAME;
END;
$$ LANGUAGE plpgsql
"""


def add_triggers(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor != "postgresql":
        return
    # No parameters: the percent sign is the trigger's own.
    schema_editor.execute(MAKE_FUNCTION, params=None)
    for table in TABLES:
        schema_editor.execute(
            f"CREATE TRIGGER {table}_written_once BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION inventory_written_once()"
        )


def drop_triggers(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor != "postgresql":
        return
    for table in TABLES:
        schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_written_once ON {table}")
    schema_editor.execute("DROP FUNCTION IF EXISTS inventory_written_once()")
