"""Plan versions and the parts plan each one holds."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import Q

from bom.items.models import Item
from bom.kernel.runs import Run
from production.orders.models import Order


class Plan(Run):
    """One version of the plan: parts, batches and the schedule, made by one background run.

    A plan changes nothing until the manager releases it; then its batches and dates are what the floor sees,
    and the plan released before it is superseded (it keeps its rows, for comparison).
    """

    class Way(models.TextChoices):
        WHOLE = "whole", "made from the order book"
        CHANGED = "changed", "made from another plan with changes"

    number = models.PositiveIntegerField(unique=True)
    way = models.CharField(max_length=8, choices=Way, default=Way.WHOLE)
    seconds = models.PositiveSmallIntegerField(default=20, help_text="Seconds the scheduler may search.")
    batch_days = models.PositiveSmallIntegerField(
        default=5, help_text="Parts needed within so many working days of each other are cut in one batch."
    )
    frozen_hours = models.PositiveSmallIntegerField(
        default=0, help_text="What the released plan begins within so many hours keeps its place."
    )
    moved = models.PositiveIntegerField(
        default=0,
        help_text="Operations that begin over four hours away from where the released plan had them.",
    )
    based_on = models.ForeignKey("self", on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    horizon_start = models.DateTimeField(null=True, blank=True)
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    is_current = models.BooleanField(default=False, help_text="The released plan that the floor works to.")
    orders_planned = models.PositiveIntegerField(default=0)
    orders_late = models.PositiveIntegerField(default=0)
    late_hours = models.DecimalField(max_digits=12, decimal_places=1, default=0, help_text="Weighted.")
    rule_late_hours = models.DecimalField(
        max_digits=12, decimal_places=1, default=0, help_text="Weighted, by the best simple dispatching rule."
    )
    bound_late_hours = models.DecimalField(max_digits=12, decimal_places=1, null=True, blank=True)
    sheets = models.PositiveIntegerField(default=0)
    sheet_use = models.DecimalField(
        max_digits=5, decimal_places=4, default=0, help_text="Area of parts over area of sheet used, 0 to 1."
    )
    run_seconds = models.DecimalField(max_digits=8, decimal_places=1, default=0)

    class Meta:
        ordering = ["-number"]
        permissions = [("run_plan", "May make a plan"), ("release_plan", "May release a plan to the floor")]
        constraints = [
            models.UniqueConstraint(
                fields=["is_current"],
                condition=Q(is_current=True),
                name="plan_one_current",
                violation_error_message="Another plan is the released one.",
            )
        ]

    def __str__(self) -> str:
        return f"plan {self.number}"

    @property
    def gap(self) -> Decimal | None:
        """(late − bound) ÷ late, from 0 to 1; None where nothing is late or no bound was kept."""
        if self.bound_late_hours is None or not self.late_hours:
            return None
        return (self.late_hours - self.bound_late_hours) / self.late_hours

    @classmethod
    def current(cls) -> "Plan | None":
        """The released plan that the floor works to; none before the first release."""
        return cls.objects.filter(is_current=True).first()


class PlanNote(models.Model):
    """Something the manager should know of a plan, in a sentence: sheets that are short, parts that fit nowhere."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="notes")
    sequence = models.PositiveSmallIntegerField()
    sentence = models.CharField(max_length=400)

    class Meta:
        ordering = ["plan", "sequence"]
        constraints = [models.UniqueConstraint(fields=["plan", "sequence"], name="plan_note_sequence_once")]

    def __str__(self) -> str:
        return self.sentence


class Suggestion(models.Model):
    """Buy or make so many of an item: when to begin, when it is needed, and (by its pegs) for which orders."""

    class Kind(models.TextChoices):
        BUY = "buy", "buy"
        MAKE = "make", "make"

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="suggestions")
    number = models.PositiveIntegerField()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="suggestions")
    kind = models.CharField(max_length=4, choices=Kind)
    quantity = models.DecimalField(max_digits=14, decimal_places=4)
    begin_on = models.DateField(help_text="Order or start on this day.")
    needed_on = models.DateField()
    days_past = models.PositiveSmallIntegerField(
        default=0, help_text="Working days by which it should have begun before today."
    )
    purchase_line = models.ForeignKey(
        "inventory.PurchaseOrderLine",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="suggestions",
    )

    class Meta:
        ordering = ["plan", "begin_on", "number"]
        constraints = [models.UniqueConstraint(fields=["plan", "number"], name="suggestion_number_once")]
        indexes = [models.Index(fields=["plan", "kind", "begin_on"], name="suggestion_plan_kind")]

    def __str__(self) -> str:
        return f"{self.kind} {self.quantity}"


class Peg(models.Model):
    """Which supply serves which order: from the shelf, from a purchase order on its way, or from a suggestion."""

    class Source(models.TextChoices):
        SHELF = "shelf", "on the shelf"
        RECEIPT = "receipt", "coming"
        SUGGESTION = "suggestion", "suggested"

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="pegs")
    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="pegs")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="pegs")
    source = models.CharField(max_length=10, choices=Source)
    suggestion = models.ForeignKey(
        Suggestion, on_delete=models.CASCADE, null=True, blank=True, related_name="pegs"
    )
    purchase_line = models.ForeignKey(
        "inventory.PurchaseOrderLine", on_delete=models.CASCADE, null=True, blank=True, related_name="pegs"
    )
    quantity = models.DecimalField(max_digits=14, decimal_places=4)
    needed_on = models.DateField()
    available_on = models.DateField()

    class Meta:
        ordering = ["plan", "order", "item"]
        indexes = [
            models.Index(fields=["plan", "order"], name="peg_plan_order"),
            models.Index(fields=["plan", "item", "needed_on"], name="peg_plan_item"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} for {self.order_id}"


class BookNeed(models.Model):
    """What all the plan's orders together need of an item by their frozen bills, whatever is there already."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="book_needs")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="book_needs")
    quantity = models.DecimalField(max_digits=20, decimal_places=6)
    orders = models.PositiveIntegerField(help_text="How many of the orders need it.")

    class Meta:
        ordering = ["plan", "item"]
        constraints = [models.UniqueConstraint(fields=["plan", "item"], name="book_need_item_once")]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.item_id}"


class SupplyChange(models.Model):
    """Something to change about a supply on its way, so that it comes when the plan needs it.

    `orders` wait for it. The supply is a line of a purchase order, or none where another item may be taken `instead`.
    """

    class Kind(models.TextChoices):
        FORWARD = "forward", "bring forward"
        BACK = "back", "push back"
        CANCEL = "cancel", "cancel"
        SPLIT = "split", "split"
        SUBSTITUTE = "substitute", "take another"

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="changes_of_supply")
    kind = models.CharField(max_length=10, choices=Kind)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    instead = models.ForeignKey(Item, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    purchase_line = models.ForeignKey(
        "inventory.PurchaseOrderLine", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    quantity = models.DecimalField(max_digits=14, decimal_places=4)
    stands_on = models.DateField(help_text="The day on which it comes as things stand.")
    wanted_on = models.DateField(null=True, blank=True, help_text="None: it is not wanted at all.")
    late_days = models.PositiveSmallIntegerField(
        default=0, help_text="Working days that the order which waits longest waits for it."
    )
    money = models.DecimalField(max_digits=14, decimal_places=2, default=0)
    sentence = models.CharField(max_length=300)
    orders = models.ManyToManyField(Order, related_name="+", blank=True)

    class Meta:
        ordering = ["plan", "-late_days", "-money"]
        indexes = [models.Index(fields=["plan", "-late_days", "-money"], name="supply_change_urgency")]

    def __str__(self) -> str:
        return self.sentence


class Shortage(models.Model):
    """A dated shortage that stops a named order: the part, how many, when it is needed and when it can be there."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="shortages")
    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="shortages")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="shortages")
    quantity = models.DecimalField(max_digits=14, decimal_places=4)
    needed_on = models.DateField()
    available_on = models.DateField()
    days_short = models.PositiveSmallIntegerField()
    suggestion = models.ForeignKey(
        Suggestion, on_delete=models.SET_NULL, null=True, blank=True, related_name="shortages"
    )
    purchase_line = models.ForeignKey(
        "inventory.PurchaseOrderLine",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="shortages",
    )

    class Meta:
        ordering = ["plan", "-days_short", "needed_on"]
        indexes = [
            models.Index(fields=["plan", "order"], name="shortage_plan_order"),
            models.Index(fields=["plan", "item"], name="shortage_plan_item"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} short for {self.order_id}"
