from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("production", "0001_first")]

    operations = [
        migrations.AddIndex(
            model_name="builtrow",
            index=models.Index(fields=["item", "kind", "source", "quantity"], name="built_item_whole"),
        ),
        migrations.RemoveIndex(model_name="builtrow", name="built_item_order"),
    ]
