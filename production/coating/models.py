"""Coating: lorry loads to the galvaniser and powder batches by colour."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bom.items.models import Colour, Item
from production.orders.models import Order
from production.planning.models import Plan


class GalvanisingLoad(models.Model):
    """What one lorry takes to the galvaniser, and when it is back."""

    class State(models.TextChoices):
        PROPOSED = "proposed", "proposed"
        RELEASED = "released", "released"
        AWAY = "away", "away"
        BACK = "back", "back"
        DROPPED = "dropped", "dropped"

    number = models.CharField(max_length=20, unique=True)
    plan = models.ForeignKey(
        Plan,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="loads",
        help_text="The plan that chose it; none from the time before the first plan.",
    )
    state = models.CharField(max_length=10, choices=State, default=State.PROPOSED)
    leaves_at = models.DateTimeField()
    back_at = models.DateTimeField()
    max_kg = models.PositiveIntegerField()
    minimum_charge_kg = models.PositiveIntegerField(default=0)
    bath_length_mm = models.PositiveIntegerField()
    left_at = models.DateTimeField(null=True, blank=True)
    came_back_at = models.DateTimeField(null=True, blank=True)
    weighed_out_kg = models.DecimalField(
        max_digits=10, decimal_places=1, null=True, blank=True, help_text="Weighed black, before the bath."
    )
    weighed_back_kg = models.DecimalField(
        max_digits=10, decimal_places=1, null=True, blank=True, help_text="Weighed with its zinc."
    )

    class Meta:
        ordering = ["leaves_at", "number"]
        permissions = [("coat_parts", "May send and receive galvanising loads and run powder batches")]
        indexes = [models.Index(fields=["state", "leaves_at"], name="load_state_leaves")]

    def __str__(self) -> str:
        return self.number


class LoadLine(models.Model):
    """A welded assembly on a load. It may not leave until someone has signed that its cavities are vented.

    What came back damaged is used all the same, galvanised once more, or scrapped (`then`). A line that `repeats`
    another carries what that one lacks.
    """

    class Then(models.TextChoices):
        USE = "use", "used all the same"
        AGAIN = "again", "galvanised once more"
        SCRAP = "scrap", "scrapped"

    load = models.ForeignKey(GalvanisingLoad, on_delete=models.CASCADE, related_name="lines")
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="load_lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="load_lines")
    quantity = models.DecimalField(max_digits=10, decimal_places=4)
    mass_kg = models.DecimalField(max_digits=10, decimal_places=2, help_text="Of the whole quantity.")
    length_mm = models.PositiveIntegerField(default=0)
    vents_checked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    vents_checked_at = models.DateTimeField(null=True, blank=True)
    counted_out = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True, help_text="Counted onto the lorry."
    )
    came_back = models.DecimalField(
        max_digits=10,
        decimal_places=4,
        null=True,
        blank=True,
        help_text="Counted back; none while it is away.",
    )
    damaged = models.DecimalField(
        max_digits=10, decimal_places=4, default=Decimal(0), help_text="Of those that came back."
    )
    damage = models.CharField(max_length=200, blank=True, help_text="What is wrong with them.")
    then = models.CharField(max_length=6, choices=Then, default=Then.USE)
    repeats = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="repeated_by",
        help_text="The line whose lost or spoilt parts this one makes good.",
    )

    class Meta:
        ordering = ["load", "order"]
        constraints = [
            models.UniqueConstraint(fields=["load", "order", "item"], name="load_line_once"),
            models.CheckConstraint(
                condition=Q(came_back__isnull=True) | Q(came_back__gte=0, came_back__lte=F("quantity")),
                name="load_line_back_within_sent",
                violation_error_message="No more can come back than was sent.",
            ),
            models.CheckConstraint(
                condition=Q(damaged=0) | Q(damaged__gt=0, damaged__lte=F("came_back")) & ~Q(damage=""),
                name="load_line_damage_within_back",
                violation_error_message="No more can be damaged than came back, and it is said what is wrong.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order_id} on {self.load_id}"

    @property
    def missing(self) -> Decimal:
        """How many did not come back; none while it is away."""
        return self.quantity - self.came_back if self.came_back is not None else Decimal(0)

    @property
    def lacking(self) -> Decimal:
        """How many its order still wants after the load came back: lost, spoilt, or to be galvanised once more."""
        return self.missing + (self.damaged if self.then != self.Then.USE else Decimal(0))


class PowderBatch(models.Model):
    """Frames of one colour that go through the oven together."""

    class State(models.TextChoices):
        PROPOSED = "proposed", "proposed"
        RELEASED = "released", "released"
        BEGUN = "begun", "begun"
        DONE = "done", "done"
        DROPPED = "dropped", "dropped"

    number = models.CharField(max_length=20, unique=True)
    plan = models.ForeignKey(
        Plan,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="powder_batches",
        help_text="The plan that chose it; none from the time before the first plan.",
    )
    colour = models.ForeignKey(Colour, on_delete=models.PROTECT, related_name="powder_batches")
    state = models.CharField(max_length=10, choices=State, default=State.PROPOSED)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    change_minutes = models.PositiveSmallIntegerField(default=0)
    frames = models.PositiveSmallIntegerField(help_text="How many the oven holds.")
    began_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["starts_at", "number"]
        verbose_name_plural = "powder batches"
        indexes = [models.Index(fields=["state", "starts_at"], name="powder_state_starts")]

    def __str__(self) -> str:
        return self.number


class PowderLine(models.Model):
    """An order's frame in a powder batch, and how it came out. A frame that is coated again gets a line in another
    batch that `repeats` this one."""

    class Outcome(models.TextChoices):
        OPEN = "", "not judged yet"
        GOOD = "good", "good"
        ACCEPTED = "accepted", "accepted as it is"
        AGAIN = "again", "to be coated again"

    batch = models.ForeignKey(PowderBatch, on_delete=models.CASCADE, related_name="lines")
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="powder_lines")
    outcome = models.CharField(max_length=8, choices=Outcome, default=Outcome.OPEN, blank=True)
    reason = models.CharField(max_length=200, blank=True)
    judged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    judged_at = models.DateTimeField(null=True, blank=True)
    repeats = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="repeated_by"
    )

    class Meta:
        ordering = ["batch", "order"]
        constraints = [
            models.UniqueConstraint(fields=["batch", "order"], name="powder_line_once"),
            models.CheckConstraint(
                condition=~Q(outcome__in=["again", "accepted"]) | ~Q(reason=""),
                name="powder_line_says_why",
                violation_error_message="Say why it is coated again, or accepted as it is.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order_id} in {self.batch_id}"
