"""Bar batches: one section, sawn bar by bar, and what the saw reckons with."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from bom.items.models import Item
from bom.kernel.runs import Run
from inventory.stock.models import Lot, Posting
from production.orders.models import Order
from production.planning.models import Plan


class SawRules(models.Model):
    """What the saw reckons with: one row. The usual values are common practice, no source."""

    kerf_mm = models.DecimalField(
        max_digits=4, decimal_places=1, default=3, validators=[MinValueValidator(0), MaxValueValidator(20)]
    )
    trim_mm = models.DecimalField(
        max_digits=5,
        decimal_places=1,
        default=15,
        validators=[MinValueValidator(0), MaxValueValidator(500)],
        help_text="Cut off the end of every bar, its own saw cut counted in.",
    )
    shortest_offcut_mm = models.DecimalField(
        max_digits=6,
        decimal_places=1,
        default=500,
        validators=[MinValueValidator(0), MaxValueValidator(12000)],
        help_text="A rest at least this long goes back to a shelf.",
    )
    window_days = models.PositiveSmallIntegerField(
        default=3,
        validators=[MinValueValidator(1), MaxValueValidator(30)],
        help_text="What is planned at the saw within so many days is sawn together.",
    )

    class Meta:
        verbose_name_plural = "saw rules"
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="saw_rules_are_one_row")]

    def __str__(self) -> str:
        return f"saw cut {self.kerf_mm} mm, trim {self.trim_mm} mm"

    @classmethod
    def in_force(cls) -> "SawRules":
        return cls.objects.filter(pk=1).first() or cls(
            pk=1, kerf_mm=Decimal(3), trim_mm=Decimal(15), shortest_offcut_mm=Decimal(500)
        )


class BarLength(models.Model):
    """A length in which a section is bought. Without a price of its own a bar costs its metres."""

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="bar_lengths")
    length_mm = models.DecimalField(max_digits=8, decimal_places=1, validators=[MinValueValidator(100)])
    price = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)

    class Meta:
        ordering = ["item", "length_mm"]
        constraints = [
            models.UniqueConstraint(
                fields=["item", "length_mm"],
                name="bar_length_once_a_section",
                violation_error_message="This length of the section is there already.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.item_id} in {self.length_mm} mm"


class BarBatch(models.Model):
    """Pieces of one section that are sawn together, with the plan of their bars.

    Until its first bar is begun a batch is made anew whenever what the saw owes changes; from then on it is frozen.
    """

    class State(models.TextChoices):
        RELEASED = "released", "released"
        BEGUN = "begun", "begun"
        DONE = "done", "done"

    OPEN = (State.RELEASED, State.BEGUN)

    number = models.CharField(max_length=20, unique=True)
    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="bar_batches")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="bar_batches")
    state = models.CharField(max_length=10, choices=State, default=State.RELEASED)
    needed_on = models.DateField()
    starts_at = models.DateTimeField(null=True, blank=True)
    kerf_mm = models.DecimalField(max_digits=4, decimal_places=1)
    trim_mm = models.DecimalField(max_digits=5, decimal_places=1)
    shortest_offcut_mm = models.DecimalField(max_digits=6, decimal_places=1)
    cost = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    bound = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    first_fit_cost = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    is_proven = models.BooleanField(default=False, help_text="No cheaper plan of bars exists.")
    waste = models.DecimalField(max_digits=5, decimal_places=4, default=0)
    said = models.CharField(max_length=300, blank=True, help_text="Pieces that found no bar, and why.")

    class Meta:
        ordering = ["starts_at", "number"]
        verbose_name_plural = "bar batches"
        indexes = [models.Index(fields=["state", "starts_at"], name="bar_batch_state")]

    def __str__(self) -> str:
        return self.number


class SawBar(models.Model):
    """One bar of a batch: a whole one of a length, or an offcut, and what is sawn from it."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        BEGUN = "begun", "begun"
        DONE = "done", "done"

    batch = models.ForeignKey(BarBatch, on_delete=models.CASCADE, related_name="bars")
    number = models.PositiveSmallIntegerField()
    length_mm = models.DecimalField(max_digits=8, decimal_places=1)
    rest_mm = models.DecimalField(max_digits=8, decimal_places=1)
    lot = models.ForeignKey(
        Lot,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="saw_bars",
        help_text="The offcut it is planned on; from done on, the lot it was taken from.",
    )
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    began_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    problem = models.CharField(max_length=200, blank=True)
    cast = models.CharField(max_length=60, blank=True)
    offcut = models.OneToOneField(
        Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="left_of_bar"
    )
    posting = models.OneToOneField(
        Posting, on_delete=models.PROTECT, null=True, blank=True, related_name="saw_bar"
    )

    class Meta:
        ordering = ["batch", "number"]
        constraints = [models.UniqueConstraint(fields=["batch", "number"], name="saw_bar_number_once")]

    def __str__(self) -> str:
        return f"{self.batch_id} bar {self.number}"

    @property
    def is_offcut(self) -> bool:
        return self.lot is not None and self.lot.kind == Lot.Kind.OFFCUT


class SawCut(models.Model):
    """One piece on a bar, in the order of the cuts, with the ends it gets."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        GOOD = "good", "good"
        SCRAP = "scrap", "scrap"
        LOST = "lost", "lost"

    BAD = (State.SCRAP, State.LOST)

    bar = models.ForeignKey(SawBar, on_delete=models.CASCADE, related_name="cuts")
    sequence = models.PositiveSmallIntegerField()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="saw_cuts")
    order = models.ForeignKey(Order, on_delete=models.PROTECT, null=True, blank=True, related_name="saw_cuts")
    length_mm = models.DecimalField(max_digits=8, decimal_places=1)
    first_deg = models.DecimalField(max_digits=4, decimal_places=1, default=0)
    second_deg = models.DecimalField(max_digits=4, decimal_places=1, default=0)
    state = models.CharField(max_length=8, choices=State, default=State.WAITING)
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["bar", "sequence"]
        constraints = [models.UniqueConstraint(fields=["bar", "sequence"], name="saw_cut_sequence_once")]

    def __str__(self) -> str:
        return f"{self.item_id} of {self.bar_id}"


class BarGather(Run):
    """One gathering of what the saw owes: of one section, or of all where none is named."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="+")
    item = models.ForeignKey(Item, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    said = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"gathering {self.pk} for the saw"
