"""What is done to a powder batch, step by step, and how thick the powder came out."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from production.coating.models import PowderBatch, PowderLine


class Step(models.TextChoices):
    """The steps of a batch, in their order."""

    SWEEP = "sweep", "sweep blast"
    DEGAS = "degas", "de-gas"
    COAT = "coat", "coat"
    CURE = "cure", "cure"


class StepRule(models.Model):
    """How long a step takes at least and how hot the metal is meant to be. The workshop's own figures."""

    step = models.CharField(max_length=6, choices=Step, unique=True)
    least_minutes = models.PositiveSmallIntegerField(default=0)
    temperature_c = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Of the metal, not of the air; empty where it is not heated."
    )
    source = models.CharField(max_length=160, blank=True, help_text="Where the figures come from.")

    class Meta:
        ordering = ["pk"]
        permissions = [
            ("set_coating", "May change the figures of the powder steps and accept thin or thick powder")
        ]

    def __str__(self) -> str:
        return self.get_step_display()


class ThicknessRule(models.Model):
    """How thick the powder is to be; the newest row holds, older ones stay for the batches they judged."""

    least_um = models.PositiveSmallIntegerField()
    most_um = models.PositiveSmallIntegerField()
    readings = models.PositiveSmallIntegerField(default=5, help_text="At least so many on each frame.")
    source = models.CharField(max_length=160, blank=True, help_text="Where the figures come from.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(least_um__lte=F("most_um")),
                name="thickness_least_below_most",
                violation_error_message="The least thickness cannot be above the greatest.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.least_um} to {self.most_um} µm"


class PowderStep(models.Model):
    """One step of a batch: begun, ended, by whom, and how hot the metal was."""

    batch = models.ForeignKey(PowderBatch, on_delete=models.CASCADE, related_name="steps")
    step = models.CharField(max_length=6, choices=Step)
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    temperature_c = models.PositiveSmallIntegerField(null=True, blank=True)
    why_sooner = models.CharField(
        max_length=200, blank=True, help_text="Where it ended before its least time."
    )

    class Meta:
        ordering = ["batch", "began_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["batch", "step"], name="powder_step_once_a_batch"),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("began_at")),
                name="powder_step_ends_after_it_begins",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.step} of {self.batch_id}"


class ThicknessReading(models.Model):
    """One reading on a frame, in µm. A magnetic gauge reads zinc and powder together, so both are written down.

    The limits are those that held when it was read. Rows are added, never changed.
    """

    line = models.ForeignKey(PowderLine, on_delete=models.CASCADE, related_name="readings")
    spot = models.CharField(max_length=60)
    total_um = models.DecimalField(max_digits=6, decimal_places=1)
    zinc_um = models.DecimalField(max_digits=6, decimal_places=1, default=Decimal(0))
    least_um = models.PositiveSmallIntegerField(null=True, blank=True)
    most_um = models.PositiveSmallIntegerField(null=True, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["line", "at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(zinc_um__gte=0) & Q(total_um__gte=F("zinc_um")),
                name="thickness_total_above_zinc",
                violation_error_message="Zinc and powder together are no thinner than the zinc alone.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.powder_um} µm"

    @property
    def powder_um(self) -> Decimal:
        return self.total_um - self.zinc_um

    @property
    def is_within(self) -> bool:
        low = self.least_um is None or self.powder_um >= self.least_um
        return low and (self.most_um is None or self.powder_um <= self.most_um)
