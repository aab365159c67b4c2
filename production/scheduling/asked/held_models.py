"""What somebody moved on the board and released: it keeps its time in later plans."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from production.planning.models import Plan
from production.scheduling.asked.question import operation_name
from production.works.models import WorksOperation


class HeldOperation(models.Model):
    """An operation that begins at `starts_at` in every plan, until its work is begun or it is let go.

    What is let go keeps its row, so that it can be held again and seen who did what.
    """

    operation = models.ForeignKey(WorksOperation, on_delete=models.CASCADE, related_name="holds")
    starts_at = models.DateTimeField()
    plan = models.ForeignKey(
        Plan, on_delete=models.SET_NULL, null=True, related_name="+", help_text="With which it was released."
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)
    let_go_at = models.DateTimeField(null=True, blank=True)
    let_go_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["starts_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["operation"],
                condition=Q(let_go_at__isnull=True),
                name="operation_held_once",
                violation_error_message="This operation is held already.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.operation_id} at {self.starts_at}"

    @property
    def order_number(self) -> str:
        order = self.operation.works_order.order
        return order.number if order is not None else ""

    @property
    def name(self) -> str:
        """As the scheduler calls it."""
        return operation_name(self.order_number, self.operation.process.code)

    @property
    def words(self) -> str:
        """ "order 2604, Weld"."""
        return f"order {self.order_number}, {self.operation.process.name}"
