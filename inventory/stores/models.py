"""What stores know about an item beyond its name, and the sheets on which people count."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from bom.items.models import Item
from inventory.stock.models import Location, Lot, Posting


class CountClass(models.Model):
    """How often a class of items is counted, and how far a count may be out before it is asked for again.

    Classes follow the value used in a year (see `inventory.stock.classes`): the first takes items until
    `share_to` percent of the value is reached, the next goes on from there.
    """

    code = models.CharField(max_length=2, unique=True)
    share_to = models.DecimalField(
        max_digits=5, decimal_places=2, help_text="Percent of the yearly value used, reached with this class."
    )
    days_between = models.PositiveSmallIntegerField(help_text="Calendar days from one count to the next.")
    recount_percent = models.DecimalField(
        max_digits=5, decimal_places=2, help_text="A count further out than this is asked for again."
    )
    recount_value = models.DecimalField(
        max_digits=10, decimal_places=2, help_text="… and so is a difference worth more than this."
    )

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=Q(share_to__gt=0) & Q(share_to__lte=100),
                name="count_class_share_of_100",
                violation_error_message="A share lies above 0 and at most at 100 percent.",
            ),
            models.CheckConstraint(
                condition=Q(days_between__gt=0) & Q(recount_percent__gte=0) & Q(recount_value__gte=0),
                name="count_class_figures",
                violation_error_message="Days are above zero, limits are not negative.",
            ),
        ]

    def __str__(self) -> str:
        return self.code


class HandlingRule(models.Model):
    """How stores handle one item. An item without a row is put where most of it lies and is handled plainly."""

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="handling")
    home = models.ForeignKey(
        Location,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="Its own place.",
    )
    bin_quantity = models.DecimalField(
        max_digits=14,
        decimal_places=4,
        default=Decimal(0),
        help_text="What a full bin holds, if two bins stand at work; 0 if it is picked and not kept in bins.",
    )
    is_inspected = models.BooleanField(default=False, help_text="Goes on hold when it comes, until released.")
    count_class = models.ForeignKey(
        CountClass,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="+",
        help_text="Its class set by hand; none: by the value used.",
    )

    class Meta:
        ordering = ["item"]
        constraints = [
            models.CheckConstraint(
                condition=Q(bin_quantity__gte=0),
                name="handling_bin_not_negative",
                violation_error_message="A bin cannot hold less than nothing.",
            )
        ]

    def __str__(self) -> str:
        return f"handling of {self.item_id}"


class Substitute(models.Model):
    """That one item may be taken instead of another: a proposal, never done without a person's yes."""

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="substitutes")
    instead = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="substitute_for")
    both_ways = models.BooleanField(default=False, help_text="The first may be taken for the second, too.")
    note = models.CharField(
        max_length=200, help_text="When, and what to mind: a longer screw, another colour."
    )

    class Meta:
        ordering = ["item", "instead"]
        constraints = [
            models.UniqueConstraint(fields=["item", "instead"], name="substitute_once"),
            models.CheckConstraint(
                condition=~Q(item=F("instead")),
                name="substitute_is_another",
                violation_error_message="An item is no substitute for itself.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instead_id} for {self.item_id}"


class BinSignal(models.Model):
    """An empty bin at work that asks to be replaced by a full one. An item has one open signal at most."""

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="bin_signals")
    raised_at = models.DateTimeField(default=timezone.now)
    raised_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    answered_by = models.OneToOneField(
        Posting, on_delete=models.PROTECT, null=True, blank=True, related_name="bin_signal"
    )

    class Meta:
        ordering = ["raised_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["item"], condition=Q(answered_by__isnull=True), name="bin_signal_open_once"
            )
        ]

    def __str__(self) -> str:
        return f"empty bin of {self.item_id}"


class CountSheet(models.Model):
    """A number of things to count, counted blind by one person and posted when another has approved it.

    Written by `inventory.stores.stocktaking` alone. A line's count is compared with what the ledger says lay
    there at the moment of counting, so goods may go on moving until the sheet is approved.
    """

    class State(models.TextChoices):
        COUNTING = "counting", "being counted"
        COUNTED = "counted", "waits for approval"
        DONE = "done", "done"
        CANCELLED = "cancelled", "cancelled"

    number = models.CharField(max_length=20, unique=True)
    state = models.CharField(max_length=10, choices=State, default=State.COUNTING)
    location = models.ForeignKey(
        Location,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="The place that is counted whole; none: chosen items, wherever they lie.",
    )
    note = models.CharField(max_length=120, blank=True)
    key = models.CharField(
        max_length=120, unique=True, help_text="The form that made it, so that it is made once."
    )
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    approved_at = models.DateTimeField(null=True, blank=True)
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    reason = models.CharField(
        max_length=200, blank=True, help_text="What the approver says of the differences."
    )
    posting = models.OneToOneField(
        Posting, on_delete=models.PROTECT, null=True, blank=True, related_name="count_sheet"
    )

    class Meta:
        ordering = ["-id"]
        permissions = [
            ("approve_count", "May approve a stocktake and post its differences"),
        ]

    def __str__(self) -> str:
        return self.number

    @property
    def is_open(self) -> bool:
        return self.state in (self.State.COUNTING, self.State.COUNTED)


class CountLine(models.Model):
    """One thing at one place to be counted. `book` and `difference` are set when the sheet is approved."""

    sheet = models.ForeignKey(CountSheet, on_delete=models.CASCADE, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="count_lines")
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="+")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    count_class = models.CharField(
        max_length=2, blank=True, help_text="The item's class when the sheet was made."
    )
    is_recount_asked = models.BooleanField(default=False)
    book = models.DecimalField(max_digits=16, decimal_places=4, null=True, blank=True)
    difference = models.DecimalField(max_digits=16, decimal_places=4, null=True, blank=True)
    unit_cost = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)

    class Meta:
        ordering = ["location__walk_order", "location__code", "item__code", "lot__code"]
        constraints = [
            models.UniqueConstraint(
                fields=["sheet", "item", "location", "lot"],
                condition=Q(lot__isnull=False),
                name="count_line_once_a_lot",
            ),
            models.UniqueConstraint(
                fields=["sheet", "item", "location"],
                condition=Q(lot__isnull=True),
                name="count_line_once_without_lot",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item_id} at {self.location_id}"


class CountEntry(models.Model):
    """What somebody counted on a line, and when his eyes were on the shelf. The latest entry counts."""

    line = models.ForeignKey(CountLine, on_delete=models.CASCADE, related_name="entries")
    quantity = models.DecimalField(max_digits=16, decimal_places=4)
    counted_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    key = models.CharField(
        max_length=120, unique=True, help_text="The form it came in; a repeat is the same count."
    )

    class Meta:
        ordering = ["line", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gte=0),
                name="count_entry_not_negative",
                violation_error_message="Count from zero up.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.quantity} on line {self.line_id}"
