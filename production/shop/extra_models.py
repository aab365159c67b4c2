"""What the shop does besides its usual hours: overtime, extra shifts, extra runs of the lorry."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from production.shop.models import WorkCentre


class ExtraHours(models.Model):
    """A work centre is open on one day besides the hours of its calendar, also where that day is a holiday."""

    class Kind(models.TextChoices):
        OVERTIME = "overtime", "overtime"
        SHIFT = "shift", "extra shift"

    work_centre = models.ForeignKey(WorkCentre, on_delete=models.CASCADE, related_name="extra_hours")
    date = models.DateField()
    kind = models.CharField(max_length=8, choices=Kind)
    starts = models.TimeField()
    ends = models.TimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["date", "work_centre", "kind"]
        verbose_name_plural = "extra hours"
        constraints = [
            models.UniqueConstraint(fields=["work_centre", "date", "kind"], name="extra_hours_once_a_day"),
            models.CheckConstraint(
                condition=Q(starts__lt=F("ends")),
                name="extra_hours_start_before_they_end",
                violation_error_message="Extra hours must start before they end.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.date} {self.starts:%H:%M} to {self.ends:%H:%M}"


class ExtraRun(models.Model):
    """A day on which the galvaniser's lorry calls besides its usual weekdays; it may take what it usually may."""

    date = models.DateField(unique=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["date"]

    def __str__(self) -> str:
        return f"lorry on {self.date}"


class OvertimeTerms(models.Model):
    """What an hour of overtime or of an extra shift costs against a usual hour of labour, from a day on."""

    from_day = models.DateField(unique=True)
    overtime_factor = models.DecimalField(max_digits=4, decimal_places=2)
    shift_factor = models.DecimalField(max_digits=4, decimal_places=2)
    extra_run_price = models.DecimalField(
        max_digits=8, decimal_places=2, help_text="What the haulier asks for a run that was not agreed."
    )

    class Meta:
        ordering = ["-from_day"]
        verbose_name_plural = "overtime terms"
        constraints = [
            models.CheckConstraint(
                condition=Q(overtime_factor__gt=0, shift_factor__gt=0, extra_run_price__gte=0),
                name="overtime_terms_make_sense",
                violation_error_message="Factors are above 0, and a run costs nothing or more.",
            )
        ]

    def __str__(self) -> str:
        return f"overtime terms from {self.from_day}"
