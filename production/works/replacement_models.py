"""Made parts that were lost or spoilt after they were made, and are made again for their order."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bom.items.models import Item
from inventory.stock.models import Posting
from production.works.models import WorksOrder


class Replacement(models.Model):
    """So many pieces of a welded part are made again for an order.

    Works order and operations are the order's own, opened once more for these pieces; `made_at` is when the process
    that brings the part into being was done again, `called_off_at` when the lost part had turned up before. In between
    that process makes, and the laser and the saw owe, only what these pieces are made of.
    """

    key = models.CharField(max_length=60, unique=True)
    works_order = models.ForeignKey(WorksOrder, on_delete=models.PROTECT, related_name="replacements")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    pieces = models.DecimalField(max_digits=12, decimal_places=4)
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    made_at = models.DateTimeField(null=True, blank=True)
    posting = models.ForeignKey(
        Posting, on_delete=models.PROTECT, null=True, blank=True, related_name="+", help_text="What made it."
    )
    called_off_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        permissions = [("replace_part", "May have a lost or spoilt part made again")]
        constraints = [
            models.CheckConstraint(condition=Q(pieces__gt=0), name="replacement_above_zero"),
            models.UniqueConstraint(
                F("works_order"),
                F("item"),
                condition=Q(made_at__isnull=True, called_off_at__isnull=True),
                name="replacement_open_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pieces} of {self.item_id} for {self.works_order_id}"
