"""What was worked out of costs and kept, so that lists need not work it out anew: a cache, written by one verb."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from bom.catalogue.models import Finish, TrailerModel
from bom.items.models import Item
from production.orders.models import FrozenBill, Order


class KnownUnitCost(models.Model):
    """What one stock unit of an item was worth at the end of a day, by the method its stock is valued with.

    Only items of which something ever came are here; for the others a supplier's price or the standard cost holds.
    """

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="known_unit_cost")
    cost = models.DecimalField(max_digits=16, decimal_places=8)
    basis = models.CharField(max_length=40)
    on = models.DateField()

    class Meta:
        ordering = ["item"]

    def __str__(self) -> str:
        return f"{self.cost} for {self.item_id}"


class CostSnapshot(models.Model):
    """The cost of an order by its frozen bill, or of a model as it is mostly ordered, as it was worked out once.

    `rests_on` is a mark of the prices, rates and allowances it was worked out with: where today's mark differs, it
    is stale. An order's snapshot with another bill or finish than the order has counts for nothing.
    """

    order = models.OneToOneField(
        Order, on_delete=models.CASCADE, null=True, blank=True, related_name="cost_snapshot"
    )
    model = models.OneToOneField(
        TrailerModel, on_delete=models.CASCADE, null=True, blank=True, related_name="cost_snapshot"
    )
    bill = models.ForeignKey(FrozenBill, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    finish = models.CharField(max_length=12, choices=Finish, blank=True)
    day = models.DateField()
    rests_on = models.CharField(max_length=64)
    cost = models.DecimalField(
        max_digits=12, decimal_places=2, null=True, help_text="None where the bill cannot be worked out."
    )
    price = models.DecimalField(max_digits=10, decimal_places=2)
    mass_kg = models.DecimalField(max_digits=10, decimal_places=3, default=Decimal(0))
    centre_mm = models.DecimalField(max_digits=10, decimal_places=1, null=True, blank=True)
    is_estimated = models.BooleanField(default=False)
    at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["order", "model"]
        constraints = [
            models.CheckConstraint(
                condition=Q(order__isnull=False, model__isnull=True, bill__isnull=False)
                | Q(order__isnull=True, model__isnull=False),
                name="cost_snapshot_of_an_order_or_a_model",
            )
        ]

    def __str__(self) -> str:
        return f"{self.cost} on {self.day}"

    @property
    def margin(self) -> Decimal | None:
        """None without a cost."""
        return None if self.cost is None else self.price - self.cost

    @property
    def margin_share(self) -> Decimal | None:
        """Of the price; None without a price or a cost."""
        return self.margin / self.price if self.price and self.margin is not None else None
