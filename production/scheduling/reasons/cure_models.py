"""What would free orders that are late or tight, each tried by the scheduler in the background."""

from django.db import models

from bom.kernel.runs import Run
from production.orders.models import Order
from production.planning.models import Plan
from production.scheduling.asked.draft_models import PlanChange
from production.shop.extra_models import ExtraHours
from production.shop.models import WorkCentre

TIGHT_MINUTES = 3 * 1440


class CureTrial(Run):
    """Cures of one order, or of all late and tight ones, tried on a plan as the floor stood then; nothing is changed.

    `late_minutes` is the order's lateness when the scheduler has the same time without any cure, so that a cure is
    not praised for what searching alone would have gained; of a trial of all it is their sum. `late_hours` are the
    weighted hours of all orders then.
    """

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="cure_trials")
    order = models.ForeignKey(
        Order,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="cure_trials",
        help_text="None where all late and tight orders are cured at once.",
    )
    seconds = models.PositiveSmallIntegerField(
        default=3, help_text="Seconds the scheduler has for each cure."
    )
    late_minutes = models.PositiveIntegerField(default=0)
    late_hours = models.DecimalField(max_digits=12, decimal_places=1, default=0)
    left_out = models.PositiveIntegerField(
        default=0, help_text="Cures that were found beyond those that are tried at once."
    )

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"cures of {self.order_id or 'all late orders'}"


class CureOption(models.Model):
    """One cure and what it did: the order's lateness, everybody's weighted hours, who became late by it, its price."""

    class Kind(models.TextChoices):
        OVERTIME = "overtime", "overtime"
        LORRY = "lorry", "extra lorry"
        BUY = "buy", "buy faster"
        SWAP = "swap", "swap"
        SEARCH = "search", "search again"

    trial = models.ForeignKey(CureTrial, on_delete=models.CASCADE, related_name="options")
    kind = models.CharField(max_length=8, choices=Kind)
    sentence = models.CharField(max_length=300)
    late_minutes = models.PositiveIntegerField()
    late_hours = models.DecimalField(max_digits=12, decimal_places=1)
    newly_late = models.CharField(max_length=200, blank=True, help_text="Orders that become late by it.")
    price = models.DecimalField(
        max_digits=10, decimal_places=2, null=True, blank=True, help_text="None where it must be asked."
    )

    class Meta:
        ordering = ["trial", "late_minutes", "price", "pk"]

    def __str__(self) -> str:
        return self.sentence

    @property
    def frees(self) -> bool:
        return self.late_minutes == 0


class CureEffect(models.Model):
    """What a cure does to an order: minutes to spare without it (below 0 is late) and with it.

    Kept where the cure frees it; of searching again alone, for every order that was late or tight.
    """

    option = models.ForeignKey(CureOption, on_delete=models.CASCADE, related_name="effects")
    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="+")
    slack_before = models.IntegerField()
    slack_after = models.IntegerField()

    class Meta:
        ordering = ["option", "slack_before", "pk"]
        constraints = [models.UniqueConstraint(fields=["option", "order"], name="cure_effect_once")]

    def __str__(self) -> str:
        return f"{self.order_id} {self.slack_after}"

    @property
    def frees(self) -> bool:
        return is_freed(self.slack_before, self.slack_after)


def is_freed(before: int, after: int) -> bool:
    """By minutes to spare: a late order is in time, or one that was tight has three days."""
    return after >= 0 if before < 0 else before < TIGHT_MINUTES <= after


class CureStep(models.Model):
    """One change that a cure consists of; taking the cure writes it as a change of the plan."""

    option = models.ForeignKey(CureOption, on_delete=models.CASCADE, related_name="steps")
    kind = models.CharField(max_length=5, choices=PlanChange.Kind)
    operation = models.CharField(max_length=60, blank=True)
    begins_at = models.DateTimeField(null=True, blank=True)
    work_centre = models.ForeignKey(
        WorkCentre, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    date = models.DateField(null=True, blank=True)
    hours_kind = models.CharField(max_length=8, choices=ExtraHours.Kind, blank=True)
    starts = models.TimeField(null=True, blank=True)
    ends = models.TimeField(null=True, blank=True)

    class Meta:
        ordering = ["option", "pk"]

    def __str__(self) -> str:
        return f"{self.kind} {self.operation or self.date}"
