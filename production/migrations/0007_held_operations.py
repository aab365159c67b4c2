import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ("production", "0006_machine_times"),
    ]

    operations = [
        migrations.AddField(
            model_name="planchange",
            name="was_released",
            field=models.BooleanField(
                default=False,
                help_text="Came with a plan that was released: what it asks for is in force already.",
            ),
        ),
        migrations.CreateModel(
            name="HeldOperation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("starts_at", models.DateTimeField()),
                ("at", models.DateTimeField(auto_now_add=True)),
                ("let_go_at", models.DateTimeField(blank=True, null=True)),
                (
                    "by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "let_go_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "operation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="holds",
                        to="production.worksoperation",
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        help_text="With which it was released.",
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="production.plan",
                    ),
                ),
            ],
            options={"ordering": ["starts_at", "pk"]},
        ),
        migrations.AddConstraint(
            model_name="heldoperation",
            constraint=models.UniqueConstraint(
                condition=models.Q(("let_go_at__isnull", True)),
                fields=("operation",),
                name="operation_held_once",
                violation_error_message="This operation is held already.",
            ),
        ),
    ]
