"""Works orders: what the floor is told to do, operation by operation."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import Q

from bom.items.models import Item
from bom.structure.models import Process
from inventory.stock.models import Posting
from production.orders.models import Order


class WorksOrder(models.Model):
    """The work for one trailer (or, without an order, for the shelf)."""

    class State(models.TextChoices):
        CONFIRMED = "confirmed", "confirmed"
        RELEASED = "released", "released"
        BEGUN = "begun", "begun"
        DONE = "done", "done"
        CANCELLED = "cancelled", "cancelled"

    number = models.CharField(max_length=20, unique=True)
    order = models.OneToOneField(
        Order, on_delete=models.PROTECT, null=True, blank=True, related_name="works_order"
    )
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="works_orders")
    quantity = models.DecimalField(max_digits=12, decimal_places=4, default=Decimal(1))
    state = models.CharField(max_length=10, choices=State, default=State.CONFIRMED)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["number"]
        constraints = [models.CheckConstraint(condition=Q(quantity__gt=0), name="works_quantity_above_zero")]

    def __str__(self) -> str:
        return self.number


class WorksOperation(models.Model):
    """One process of a works order: the minutes of all its parts together, and how far it is.

    Finishing an operation posts what it made (see `production.works.tracking`): a sawn part appears when it is
    sawn, a chassis when it is welded, a trailer when it is assembled. Laser parts appear sheet by sheet.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        BEGUN = "begun", "begun"
        DONE = "done", "done"
        CANCELLED = "cancelled", "cancelled"

    works_order = models.ForeignKey(WorksOrder, on_delete=models.CASCADE, related_name="operations")
    sequence = models.PositiveSmallIntegerField()
    process = models.ForeignKey(Process, on_delete=models.PROTECT, related_name="works_operations")
    minutes = models.DecimalField(max_digits=10, decimal_places=2)
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    began_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    problem = models.CharField(max_length=200, blank=True)
    posting = models.OneToOneField(
        Posting,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="works_operation",
        help_text="What finishing it posted; none while it is unfinished or where nothing is posted.",
    )

    class Meta:
        ordering = ["works_order", "sequence"]
        permissions = [("report_work", "May start, stop and finish work at a station")]
        constraints = [
            models.UniqueConstraint(fields=["works_order", "sequence"], name="works_sequence_once"),
            models.CheckConstraint(condition=Q(minutes__gte=0), name="works_minutes_not_negative"),
        ]
        indexes = [models.Index(fields=["process", "state"], name="works_process_state")]

    def __str__(self) -> str:
        return f"{self.works_order_id} {self.process_id}"


class Swap(models.Model):
    """For one order so much of an item is replaced by another, because a person said so.

    The frozen bill stays as it was; what is picked and used up follows the swaps. `quantity` is in stock units, one
    for one.
    """

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="swaps")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    instead = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    quantity = models.DecimalField(max_digits=14, decimal_places=4)
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["order", "id"]
        permissions = [("accept_substitute", "May take a substitute for an order")]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="swap_above_zero"),
            models.CheckConstraint(condition=~Q(item=models.F("instead")), name="swap_is_another"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.instead_id} for {self.item_id}"
