import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("production", "0003_parts_made_again")]

    operations = [
        migrations.AlterField(
            model_name="powderbatch",
            name="plan",
            field=models.ForeignKey(
                blank=True,
                help_text="The plan that chose it; none from the time before the first plan.",
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="powder_batches",
                to="production.plan",
            ),
        ),
    ]
