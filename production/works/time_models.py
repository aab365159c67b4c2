"""Corrections of standard times, each consented to by a person."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from bom.structure.models import Process


class TimeCorrection(models.Model):
    """From a moment on, the minutes of a process are multiplied by `factor`, because the floor took that much.

    It changes operations that nobody has begun, and those of orders confirmed from then on; the bills keep the times
    they were released with. Corrections of one process multiply. An undone one counts no more.
    """

    process = models.ForeignKey(Process, on_delete=models.PROTECT, related_name="corrections")
    factor = models.DecimalField(max_digits=5, decimal_places=3)
    operations = models.PositiveIntegerField(help_text="How many finished operations it was taken from.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        permissions = [("correct_times", "May correct standard times from what the floor took")]
        constraints = [
            models.CheckConstraint(
                condition=Q(factor__gt=0, factor__lte=10),
                name="time_correction_makes_sense",
                violation_error_message="A correction is above 0 and at most 10.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.process_id} times {self.factor}"
