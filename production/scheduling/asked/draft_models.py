"""What a plan was made from, and the changes that somebody tries on it before they become a plan of their own."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from production.planning.models import Plan
from production.shop.extra_models import ExtraHours
from production.shop.models import WorkCentre


class PlanQuestion(models.Model):
    """What the scheduler was asked for a plan and what it answered, sealed.

    It is read only as a whole, to ask the same again with one thing changed; what people look things up in are the
    plan's own rows. `production.scheduling.asked.sealing` says how it is written.
    """

    plan = models.OneToOneField(Plan, on_delete=models.CASCADE, related_name="question")
    sealed = models.BinaryField()

    class Meta:
        ordering = ["plan"]

    def __str__(self) -> str:
        return f"question of plan {self.plan_id}"


class PlanChange(models.Model):
    """One thing changed on a plan: an operation moved, a work centre open longer, an extra run of the lorry.

    Changes are tried one on top of the other. The last one can be undone and done again; a new one forgets what was
    undone. When the changes are made a plan of their own, that plan keeps copies that are `in_plan`: its hours and
    runs come into force when it is released.
    """

    class Kind(models.TextChoices):
        MOVE = "move", "moved"
        HOURS = "hours", "open longer"
        RUN = "run", "extra lorry"

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="changes")
    sequence = models.PositiveIntegerField()
    kind = models.CharField(max_length=5, choices=Kind)
    operation = models.CharField(max_length=60, blank=True, help_text="As the scheduler calls it.")
    begins_at = models.DateTimeField(null=True, blank=True)
    work_centre = models.ForeignKey(
        WorkCentre, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    date = models.DateField(null=True, blank=True)
    hours_kind = models.CharField(max_length=8, choices=ExtraHours.Kind, blank=True)
    starts = models.TimeField(null=True, blank=True)
    ends = models.TimeField(null=True, blank=True)
    is_undone = models.BooleanField(default=False)
    in_plan = models.BooleanField(default=False, help_text="Part of this plan, not tried on top of it.")
    was_released = models.BooleanField(
        default=False, help_text="Came with a plan that was released: what it asks for is in force already."
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["plan", "sequence"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "in_plan", "sequence"], name="plan_change_sequence_once"),
            models.CheckConstraint(
                condition=Q(kind="move", begins_at__isnull=False)
                | Q(kind="hours", work_centre__isnull=False, date__isnull=False, starts__isnull=False)
                | Q(kind="run", date__isnull=False),
                name="plan_change_is_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.operation or self.date}"
