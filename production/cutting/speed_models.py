"""What the laser's times are reckoned from: rows with a day and a source, and each sheet's own working."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models

from production.cutting.models import CutSheet

LEAST = MinValueValidator(Decimal("0.01"), "Must be above 0.")


class CutSpeed(models.Model):
    """How fast one thickness is cut and pierced, from a day on. The newest row that has begun holds.

    A row stands in the place of the shipped figure of its thickness; one of a grade stands before one of every grade.
    """

    grade = models.CharField(
        max_length=20, blank=True, help_text="Empty: every grade without a row of its own."
    )
    thickness_mm = models.DecimalField("thickness, mm", max_digits=6, decimal_places=2, validators=[LEAST])
    feed_mm_per_min = models.DecimalField("feed, mm/min", max_digits=8, decimal_places=1, validators=[LEAST])
    pierce_seconds = models.DecimalField(
        "one pierce, s", max_digits=6, decimal_places=2, validators=[MinValueValidator(Decimal(0))]
    )
    holds_from = models.DateField("from")
    source = models.CharField(
        max_length=160, help_text="Where the figures come from: the machine’s handbook, a trial and its day."
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["grade", "thickness_mm", "holds_from"]
        permissions = [("set_speeds", "May set the laser's feeds and pierce times")]
        constraints = [
            models.UniqueConstraint(
                fields=["grade", "thickness_mm", "holds_from"],
                name="cut_speed_once_a_day",
                violation_error_message=(
                    "There is a row of this grade and thickness from this day. Take it off first."
                ),
            ),
            models.CheckConstraint(
                condition=models.Q(thickness_mm__gt=0, feed_mm_per_min__gt=0, pierce_seconds__gte=0),
                name="cut_speed_above_zero",
                violation_error_message="Thickness and feed must be above 0, a pierce at least 0 s.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.grade or 'every grade'} {self.thickness_mm.normalize():f} mm"


class SheetHandling(models.Model):
    """What every sheet takes beside cutting, from a day on. The newest row that has begun holds."""

    travel_mm_per_min = models.DecimalField(
        "travel, mm/min", max_digits=9, decimal_places=1, validators=[LEAST]
    )
    sheet_minutes = models.DecimalField(
        "loading and unloading, min",
        max_digits=5,
        decimal_places=1,
        validators=[MinValueValidator(Decimal(0))],
    )
    holds_from = models.DateField(
        "from", unique=True, error_messages={"unique": "There is a row from this day. Take it off first."}
    )
    source = models.CharField(max_length=160, help_text="Where the figures come from.")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["holds_from"]
        verbose_name_plural = "sheet handling"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(travel_mm_per_min__gt=0, sheet_minutes__gte=0),
                name="sheet_handling_above_zero",
                violation_error_message="Travel must be above 0, loading at least 0 min.",
            )
        ]

    def __str__(self) -> str:
        return f"handling from {self.holds_from}"


class SheetReckoning(models.Model):
    """What the minutes of one sheet were reckoned from when it was laid out.

    It keeps the figures themselves, not the rows they came from, so that a later change of the table leaves it as it
    was. Sheets laid out before workings were kept have none.
    """

    sheet = models.OneToOneField(CutSheet, on_delete=models.CASCADE, related_name="reckoning")
    cut_length_mm = models.DecimalField(max_digits=12, decimal_places=1)
    pierces = models.PositiveIntegerField()
    travel_mm = models.DecimalField(max_digits=12, decimal_places=1)
    feed_mm_per_min = models.DecimalField(max_digits=8, decimal_places=1)
    pierce_seconds = models.DecimalField(max_digits=6, decimal_places=2)
    travel_mm_per_min = models.DecimalField(max_digits=9, decimal_places=1)
    sheet_minutes = models.DecimalField(max_digits=5, decimal_places=1)
    source = models.CharField(max_length=400)

    class Meta:
        ordering = ["sheet"]

    def __str__(self) -> str:
        return f"working of {self.sheet_id}"

    @property
    def cut_minutes(self) -> Decimal:
        return self.cut_length_mm / self.feed_mm_per_min

    @property
    def pierce_minutes(self) -> Decimal:
        return self.pierces * self.pierce_seconds / 60

    @property
    def travel_minutes(self) -> Decimal:
        return self.travel_mm / self.travel_mm_per_min


class MachineTime(models.Model):
    """A time during which the machine cut a sheet by its own record, without loading and unloading.

    It stands beside the operator's stretches and changes none of them.
    """

    sheet = models.ForeignKey(CutSheet, on_delete=models.CASCADE, related_name="machine_times")
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField()
    brought_in_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["sheet", "began_at"]
        constraints = [
            models.UniqueConstraint(fields=["sheet", "began_at"], name="machine_time_begins_once"),
            models.CheckConstraint(
                condition=models.Q(ended_at__gt=models.F("began_at")),
                name="machine_time_ends_after_it_begins",
                violation_error_message="A time ends after it begins.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sheet_id} from {self.began_at}"
