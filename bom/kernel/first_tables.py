"""Making all tables of a new workshop in one step of a migration."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations.base import Operation
from django.db.migrations.operations.models import CreateModel
from django.db.migrations.state import ProjectState


class FirstTables(Operation):
    """These operations as one: the state walks through them, the database gets each table as it is after the last.

    One by one, each table, field and constraint would draw up the classes of all tables it is related to anew: more
    than a minute for two hundred tables, a second in one step.
    """

    reduces_to_sql = True
    reversible = True

    def __init__(self, operations: Sequence[Operation]) -> None:
        self.operations = operations

    def deconstruct(self) -> tuple[str, list[object], dict[str, object]]:
        return self.__class__.__name__, [list(self.operations)], {}

    def describe(self) -> str:
        return f"Make {len(self._names)} tables"

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        state.__dict__.pop("apps", None)  # drawn up once, afterwards
        for operation in self.operations:
            operation.state_forwards(app_label, state)

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        for name in self._names:
            model = to_state.apps.get_model(app_label, name)
            if self.allow_migrate_model(schema_editor.connection.alias, model):
                schema_editor.create_model(model)

    def database_backwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        for name in reversed(self._names):
            model = from_state.apps.get_model(app_label, name)
            if self.allow_migrate_model(schema_editor.connection.alias, model):
                schema_editor.delete_model(model)

    @property
    def _names(self) -> list[str]:
        return [operation.name for operation in self.operations if isinstance(operation, CreateModel)]
