"""Dates offered for orders with the chance that they hold, and the promises that were made of them."""

from django.conf import settings
from django.db import models

from bom.kernel.runs import Run
from production.orders.models import Order
from production.planning.models import Plan


class PromiseRun(Run):
    """One order's earliest day in the released plan, and the plan lived through many times.

    Nothing that was promised is disturbed: every planned operation keeps its place, the order takes what is left. When
    somebody promises a day of it, that and the chance he wanted are written here, and later whether it was kept.
    """

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="promise_runs")
    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, null=True, related_name="promise_runs")
    futures = models.PositiveIntegerField(default=1000)
    earliest_at = models.DateTimeField(null=True, blank=True)
    because = models.CharField(max_length=300, blank=True, help_text="What keeps it from being sooner.")
    seconds = models.DecimalField(max_digits=7, decimal_places=2, default=0)
    promised_on = models.DateField(null=True, blank=True)
    wanted_chance = models.DecimalField(max_digits=4, decimal_places=3, null=True, blank=True)
    promised_at = models.DateTimeField(null=True, blank=True)
    promised_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"promise for {self.order_id}"


class PromisePoint(models.Model):
    """With the share `share` of the futures the order is finished by the end of the day."""

    run = models.ForeignKey(PromiseRun, on_delete=models.CASCADE, related_name="points")
    on = models.DateField()
    share = models.DecimalField(max_digits=5, decimal_places=4)

    class Meta:
        ordering = ["run", "on"]
        constraints = [models.UniqueConstraint(fields=["run", "on"], name="promise_point_once_a_day")]

    def __str__(self) -> str:
        return f"{self.share} by {self.on}"
