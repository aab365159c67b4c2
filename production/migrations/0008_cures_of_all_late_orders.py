import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("production", "0007_held_operations")]

    operations = [
        migrations.AddField(
            model_name="curetrial",
            name="left_out",
            field=models.PositiveIntegerField(
                default=0, help_text="Cures that were found beyond those that are tried at once."
            ),
        ),
        migrations.AlterField(
            model_name="curetrial",
            name="order",
            field=models.ForeignKey(
                blank=True,
                help_text="None where all late and tight orders are cured at once.",
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="cure_trials",
                to="production.order",
            ),
        ),
        migrations.AlterField(
            model_name="cureoption",
            name="kind",
            field=models.CharField(
                choices=[
                    ("overtime", "overtime"),
                    ("lorry", "extra lorry"),
                    ("buy", "buy faster"),
                    ("swap", "swap"),
                    ("search", "search again"),
                ],
                max_length=8,
            ),
        ),
        migrations.CreateModel(
            name="CureEffect",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("slack_before", models.IntegerField()),
                ("slack_after", models.IntegerField()),
                (
                    "option",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="effects",
                        to="production.cureoption",
                    ),
                ),
                (
                    "order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="production.order",
                    ),
                ),
            ],
            options={"ordering": ["option", "slack_before", "pk"]},
        ),
        migrations.AddConstraint(
            model_name="cureeffect",
            constraint=models.UniqueConstraint(fields=("option", "order"), name="cure_effect_once"),
        ),
    ]
