"""What stock is worth: how it is valued, costs and charges that were stated, and kept points of reckoning."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Coalesce

from bom.items.models import Item
from inventory.stock.models import Posting


class CostMethod(models.Model):
    """How stock is valued: one row without an item for the workshop, others for items that differ.

    The history of an item is valued by one method throughout; another choice values all of it anew.
    """

    class Method(models.TextChoices):
        AVERAGE = "average", "moving average"
        FIFO = "fifo", "first in, first out"

    item = models.OneToOneField(
        Item, on_delete=models.CASCADE, null=True, blank=True, related_name="cost_method"
    )
    method = models.CharField(max_length=8, choices=Method)

    class Meta:
        permissions = [("value_stock", "May say what stock cost and how it is valued")]
        constraints = [
            models.UniqueConstraint(
                Coalesce("item", 0), condition=Q(item__isnull=True), name="cost_method_one_of_the_workshop"
            )
        ]

    def __str__(self) -> str:
        return self.get_method_display()


class StatedCost(models.Model):
    """What one unit of an item cost that came with a posting, where no purchase line says it.

    Opening stock, goods without a paper, corrections of a price: the latest row counts, older ones are kept as
    they were. Written by `inventory.stock.stating`.
    """

    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="stated_costs")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="stated_costs")
    unit_cost = models.DecimalField(max_digits=12, decimal_places=4)
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(unit_cost__gte=0),
                name="stated_cost_not_negative",
                violation_error_message="A cost cannot be below zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.unit_cost} a unit"


class Charge(models.Model):
    """Freight, duty or another charge on deliveries, shared over what they brought; below zero for a credit.

    It counts as part of what the goods cost from the day they came. Written by `inventory.stock.stating`, never
    changed; a wrong one is taken off by its opposite.
    """

    class Kind(models.TextChoices):
        FREIGHT = "freight", "freight"
        DUTY = "duty", "duty"
        OTHER = "other", "other charge"

    class SharedBy(models.TextChoices):
        VALUE = "value", "value"
        MASS = "mass", "mass"
        QUANTITY = "quantity", "quantity"

    key = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=8, choices=Kind)
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    shared_by = models.CharField(max_length=8, choices=SharedBy)
    paper = models.CharField(max_length=80, help_text="Number of the bill or customs entry.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-id"]
        constraints = [models.CheckConstraint(condition=~Q(amount=0), name="charge_not_zero")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.amount}, {self.paper}"


class ChargeShare(models.Model):
    """The part of a charge that falls on an item of a posting; the parts add up to the charge exactly."""

    charge = models.ForeignKey(Charge, on_delete=models.CASCADE, related_name="shares")
    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="charge_shares")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="charge_shares")
    amount = models.DecimalField(max_digits=12, decimal_places=2)

    class Meta:
        ordering = ["charge", "id"]
        constraints = [
            models.UniqueConstraint(fields=["charge", "posting", "item"], name="charge_share_once"),
        ]

    def __str__(self) -> str:
        return f"{self.amount} of {self.charge_id}"


class CostPoint(models.Model):
    """The worth of all stock at a moment, kept so that later days need not be worked out from the beginning.

    A cache: `inventory.stock.valuing.rebuild_points` makes it anew and says what differed. `until` is exclusive.
    A point is passed over when something was written down later that happened before it: a posting above
    `last_posting`, a stated cost above `last_stated`, a share of a charge above `last_share`. What this guard
    misses: a purchase price or a standard cost changed after the goods had come; rebuild after such a change.
    """

    until = models.DateTimeField(unique=True)
    last_posting = models.BigIntegerField()
    last_stated = models.BigIntegerField()
    last_share = models.BigIntegerField()

    class Meta:
        ordering = ["-until"]

    def __str__(self) -> str:
        return f"worth until {self.until:%Y-%m-%d %H:%M}"


class ItemCost(models.Model):
    """One item at a cost point: where it lay, what was owed, and the latest cost known of one unit."""

    point = models.ForeignKey(CostPoint, on_delete=models.CASCADE, related_name="items")
    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="+")
    shelf = models.DecimalField(max_digits=16, decimal_places=4)
    work = models.DecimalField(max_digits=16, decimal_places=4)
    outside = models.DecimalField(max_digits=16, decimal_places=4)
    owed = models.DecimalField(max_digits=16, decimal_places=4)
    # SQLite keeps fifteen digits of a decimal; whole hundred-millionths of the currency are exact everywhere.
    latest_cost_e8 = models.BigIntegerField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["point", "item"], name="item_cost_once_a_point")]

    def __str__(self) -> str:
        return f"cost of {self.item_id}"


class CostLayer(models.Model):
    """So much of an item that came with one posting and was still there at a cost point."""

    item_cost = models.ForeignKey(ItemCost, on_delete=models.CASCADE, related_name="layers")
    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    quantity = models.DecimalField(max_digits=16, decimal_places=4)
    value_e8 = models.BigIntegerField()

    class Meta:
        ordering = ["item_cost", "at", "posting"]

    def __str__(self) -> str:
        return f"{self.quantity} of posting {self.posting_id}"
