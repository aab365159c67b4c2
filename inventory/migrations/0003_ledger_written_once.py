"""On PostgreSQL a trigger refuses to change or remove what the ledger has written."""

from django.db import migrations

from inventory.stock.triggers import add_triggers, drop_triggers


class Migration(migrations.Migration):
    dependencies = [("inventory", "0002_reservation_made_by")]

    operations = [migrations.RunPython(add_triggers, drop_triggers)]
