"""Movements say when they happened, as their postings do; the latest of an item or a place stand in an index."""

import django.db.models.deletion
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

COPY = """
UPDATE inventory_movement SET happened_at = (
    SELECT p.happened_at FROM inventory_posting p WHERE p.id = inventory_movement.posting_id
)
"""


def copy_moments(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """On PostgreSQL past the trigger that holds movements as they were written: nothing they said is changed."""
    is_guarded = schema_editor.connection.vendor == "postgresql"
    switch = "ALTER TABLE inventory_movement {} TRIGGER inventory_movement_written_once"
    if is_guarded:
        schema_editor.execute(switch.format("DISABLE"))
    schema_editor.execute(COPY)
    if is_guarded:
        schema_editor.execute(switch.format("ENABLE"))


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0015_over_delivery_of_the_house"),
    ]

    operations = [
        migrations.AddField("movement", "happened_at", models.DateTimeField(editable=False, null=True)),
        migrations.RunPython(copy_moments, migrations.RunPython.noop),
        migrations.AlterField("movement", "happened_at", models.DateTimeField(editable=False)),
        migrations.RemoveIndex("movement", "movement_item_location"),
        migrations.RemoveIndex("posting", "posting_happened"),
        migrations.RemoveIndex("posting", "posting_reversals"),
        migrations.AlterField(
            "movement",
            "item",
            models.ForeignKey(
                db_index=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="movements",
                to="bom.item",
            ),
        ),
        migrations.AlterField(
            "movement",
            "location",
            models.ForeignKey(
                db_index=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="movements",
                to="inventory.location",
            ),
        ),
        migrations.AddIndex(
            "movement",
            models.Index(fields=["item", "happened_at", "posting"], name="movement_latest_item"),
        ),
        migrations.AddIndex(
            "movement",
            models.Index(fields=["location", "happened_at", "posting"], name="movement_latest_place"),
        ),
        migrations.AddIndex(
            "posting",
            models.Index(
                fields=["happened_at", "reverses"],
                name="posting_reversals",
                condition=models.Q(reverses__isnull=False),
            ),
        ),
        migrations.AddIndex("posting", models.Index(fields=["happened_at", "id"], name="posting_latest")),
        migrations.AddIndex(
            "posting", models.Index(fields=["kind", "happened_at", "id"], name="posting_latest_kind")
        ),
    ]
