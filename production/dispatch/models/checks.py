"""Inspection: check lists, what was found, and what a permitted person let pass."""

from django.db import models
from django.db.models import F, Q

from bom.catalogue.models import TrailerModel
from production.dispatch.models.kept import Kept, person_key
from production.orders.models import Order


class CheckList(models.Model):
    """What an inspector looks at, for the trailers it is meant for: those of one model, or those of a condition."""

    name = models.CharField(max_length=80, unique=True)
    sequence = models.PositiveSmallIntegerField(default=10)
    model = models.ForeignKey(
        TrailerModel,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="check_lists",
        help_text="Only trailers of this model; every model where none is named.",
    )
    condition = models.CharField(
        max_length=500, blank=True, help_text="As on bill lines, e.g. model.braked; empty: always."
    )
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["sequence", "name"]
        permissions = [("set_checks", "May change check lists, the maker's data and papers")]

    def __str__(self) -> str:
        return self.name


class CheckLine(models.Model):
    """One thing to look at, or to measure where a unit stands. Old lines stay for the records that name them."""

    check_list = models.ForeignKey(CheckList, on_delete=models.CASCADE, related_name="lines")
    sequence = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=160)
    condition = models.CharField(max_length=500, blank=True)
    unit = models.CharField(max_length=12, blank=True, help_text="Filled in: a value is measured.")
    low = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    high = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    source = models.CharField(max_length=160, blank=True, help_text="Where the limits come from.")
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["check_list__sequence", "check_list", "sequence", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(low__isnull=True) | Q(high__isnull=True) | Q(low__lte=F("high")),
                name="check_line_low_below_high",
                violation_error_message="The lower limit cannot be above the upper one.",
            ),
            models.CheckConstraint(
                condition=~Q(unit="") | Q(low__isnull=True, high__isnull=True),
                name="check_line_limits_have_unit",
                violation_error_message="Limits need a unit.",
            ),
        ]

    def __str__(self) -> str:
        return self.words


class Inspection(models.Model):
    """The inspection of one trailer: its results, and who signed that it is passed."""

    order = models.OneToOneField(Order, on_delete=models.PROTECT, related_name="inspection")
    begun_by = person_key()
    begun_at = models.DateTimeField(auto_now_add=True)
    signed_by = person_key(null=True, blank=True)
    signed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["order"]
        constraints = [
            models.CheckConstraint(
                condition=Q(signed_by__isnull=True, signed_at__isnull=True)
                | Q(signed_by__isnull=False, signed_at__isnull=False),
                name="inspection_signed_by_and_at",
            )
        ]

    def __str__(self) -> str:
        return f"inspection of {self.order_id}"


class CheckResult(Kept):
    """What was found at one line, with the words and limits as they stood. A later result of the line follows it."""

    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="results")
    line = models.ForeignKey(CheckLine, on_delete=models.PROTECT, related_name="results")
    words = models.CharField(max_length=160)
    unit = models.CharField(max_length=12, blank=True)
    low = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    high = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    value = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    is_good = models.BooleanField()
    remark = models.CharField(max_length=200, blank=True)
    by = person_key()
    at = models.DateTimeField()

    class Meta:
        ordering = ["inspection", "pk"]

    def __str__(self) -> str:
        return f"{self.words}: {'good' if self.is_good else 'not good'}"


class Clearance(Kept):
    """A permitted person lets a check that failed pass, and says why. Once for each failed result."""

    result = models.OneToOneField(CheckResult, on_delete=models.PROTECT, related_name="clearance")
    reason = models.CharField(max_length=200)
    by = person_key()
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]
        permissions = [("clear_check", "May clear a check that failed")]

    def __str__(self) -> str:
        return self.reason
