import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("production", "0003_floor_records")]

    operations = [
        migrations.AddField(
            model_name="downtime",
            name="units",
            field=models.PositiveSmallIntegerField(
                blank=True, help_text="How many of its bays or machines stand; none means all.", null=True
            ),
        ),
        migrations.AddConstraint(
            model_name="downtime",
            constraint=models.CheckConstraint(
                condition=models.Q(("starts_at__lt", models.F("ends_at"))),
                name="downtime_starts_before_it_ends",
                violation_error_message="A downtime must start before it ends.",
            ),
        ),
        migrations.AddField(
            model_name="plan",
            name="batch_days",
            field=models.PositiveSmallIntegerField(
                default=5,
                help_text="Parts needed within so many working days of each other are cut in one batch.",
            ),
        ),
        migrations.CreateModel(
            name="PlanNote",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("sequence", models.PositiveSmallIntegerField()),
                ("sentence", models.CharField(max_length=400)),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="notes",
                        to="production.plan",
                    ),
                ),
            ],
            options={"ordering": ["plan", "sequence"]},
        ),
        migrations.AddConstraint(
            model_name="plannote",
            constraint=models.UniqueConstraint(fields=("plan", "sequence"), name="plan_note_sequence_once"),
        ),
    ]
