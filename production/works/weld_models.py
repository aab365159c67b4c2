"""What a person at a station must know of one made item, and what the inspection of a weld found."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from bom.items.models import Item
from bom.structure.models import Process
from production.works.card_models import JobCard


class JigSheet(models.Model):
    """How an item is set up for one process: its jig, the quality asked of it, whether it is inspected.

    Never changed: what is different is a new sheet with the next number, and the last one holds.
    """

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="jig_sheets")
    process = models.ForeignKey(Process, on_delete=models.PROTECT, related_name="jig_sheets")
    number = models.PositiveSmallIntegerField()
    jig = models.CharField(max_length=80, blank=True, help_text="Which jig, and how it is set.")
    quality = models.CharField(
        max_length=80, blank=True, help_text="What is asked of the weld, e.g. ISO 5817, level C."
    )
    is_inspected = models.BooleanField(
        default=False, help_text="The next step waits until somebody has inspected it."
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["item", "process", "-number"]
        permissions = [("write_notes", "May write jig sheets and notes for the stations")]
        constraints = [
            models.UniqueConstraint(fields=["item", "process", "number"], name="jig_sheet_number_once")
        ]

    def __str__(self) -> str:
        return f"sheet {self.number} of {self.item_id}"


class JigNote(models.Model):
    """One line of a jig sheet, in the order of the work."""

    sheet = models.ForeignKey(JigSheet, on_delete=models.CASCADE, related_name="notes")
    position = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=300)

    class Meta:
        ordering = ["sheet", "position"]
        constraints = [models.UniqueConstraint(fields=["sheet", "position"], name="jig_note_position_once")]

    def __str__(self) -> str:
        return self.words


class WeldInspection(models.Model):
    """What somebody found who looked at the welds of a card. One that is not good holds the next step until a
    permitted person clears it; a later good one does not clear it by itself, because somebody answers for it."""

    key = models.CharField(max_length=80, unique=True)
    card = models.ForeignKey(JobCard, on_delete=models.PROTECT, related_name="inspections")
    is_good = models.BooleanField()
    words = models.CharField(max_length=200, blank=True, help_text="What was found, and where.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    cleared_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    cleared_at = models.DateTimeField(null=True, blank=True)
    clearance = models.CharField(max_length=200, blank=True, help_text="Why it may go on.")

    class Meta:
        ordering = ["-at", "-pk"]
        permissions = [
            ("inspect_weld", "May inspect welds"),
            ("clear_weld", "May clear a weld that an inspection found not good"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(is_good=True) | ~Q(words=""),
                name="weld_fault_is_described",
                violation_error_message="Say what is wrong with the weld.",
            ),
            models.CheckConstraint(
                condition=Q(cleared_at__isnull=True, cleared_by__isnull=True, clearance="")
                | (Q(cleared_at__isnull=False, cleared_by__isnull=False) & ~Q(clearance="")),
                name="weld_cleared_by_at_and_why",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.card_id}: {'good' if self.is_good else self.words}"

    @property
    def holds(self) -> bool:
        """It stops the next step."""
        return not self.is_good and self.cleared_at is None
