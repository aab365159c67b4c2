"""The schedule that a plan holds: operations on work centres, the forecast of each order, and its causes."""

from django.db import models

from bom.kernel.runs import Run
from production.cutting.models import CutBatch
from production.orders.models import Order
from production.planning.models import Plan
from production.shop.models import WorkCentre
from production.works.models import WorksOperation


class PlannedOperation(models.Model):
    """When one operation (or one cut batch at the laser) is planned, and where."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="operations")
    work_centre = models.ForeignKey(WorkCentre, on_delete=models.PROTECT, related_name="planned_operations")
    operation = models.ForeignKey(
        WorksOperation, on_delete=models.CASCADE, null=True, blank=True, related_name="planned"
    )
    batch = models.ForeignKey(
        CutBatch, on_delete=models.CASCADE, null=True, blank=True, related_name="planned"
    )
    order = models.ForeignKey(
        Order, on_delete=models.CASCADE, null=True, blank=True, related_name="planned_operations"
    )
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    minutes = models.DecimalField(max_digits=10, decimal_places=1)
    is_fixed = models.BooleanField(default=False, help_text="Already begun; the plan did not move it.")

    class Meta:
        ordering = ["plan", "starts_at", "id"]
        indexes = [
            models.Index(fields=["plan", "work_centre", "starts_at"], name="planned_centre_start"),
            models.Index(fields=["plan", "order"], name="planned_plan_order"),
        ]

    def __str__(self) -> str:
        return f"{self.starts_at} {self.work_centre_id}"


class DayLoad(models.Model):
    """Minutes open and minutes planned at a work centre on one day of a plan."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="day_loads")
    work_centre = models.ForeignKey(WorkCentre, on_delete=models.PROTECT, related_name="day_loads")
    date = models.DateField()
    open_minutes = models.PositiveIntegerField()
    planned_minutes = models.PositiveIntegerField()
    wanted_minutes = models.PositiveIntegerField(
        default=0, help_text="What would fall on this day if only due dates counted: may be more than fits."
    )

    class Meta:
        ordering = ["plan", "date", "work_centre"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "work_centre", "date"], name="day_load_once"),
        ]

    def __str__(self) -> str:
        return f"{self.date} {self.work_centre_id}"


class OrderForecast(models.Model):
    """What a plan expects of an order: when its parts are there, when it is finished, how late that is."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="forecasts")
    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="forecasts")
    parts_on = models.DateField(help_text="The day its last part is there.")
    finishes_at = models.DateTimeField()
    due_on = models.DateField()
    days_late = models.IntegerField(default=0)

    class Meta:
        ordering = ["plan", "-days_late", "finishes_at"]
        constraints = [models.UniqueConstraint(fields=["plan", "order"], name="forecast_once_a_plan")]
        indexes = [models.Index(fields=["plan", "days_late"], name="forecast_plan_late")]

    def __str__(self) -> str:
        return f"{self.order_id} {self.finishes_at}"


class DelayCause(models.Model):
    """One link in the chain of reasons for an order's date, the last first: 1 is the finish itself."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="causes")
    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="causes")
    sequence = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=20)
    sentence = models.CharField(max_length=300)
    other_order = models.ForeignKey(Order, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["plan", "order", "sequence"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "order", "sequence"], name="cause_sequence_once")
        ]

    def __str__(self) -> str:
        return self.sentence


class WindowTrial(Run):
    """What gathering parts over more or fewer days would cost, tried out in the background; nothing is changed."""

    days = models.CharField(max_length=60, help_text="The windows tried, working days, by commas.")

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"windows of {self.days} days"


class WindowOption(models.Model):
    """One window of a trial. Every window cuts the same parts, so that the figures can be compared.

    `early_money` is the steel of parts cut before the day they are needed at their order's next station;
    `early_money_days` that money times the working days it lies.
    """

    trial = models.ForeignKey(WindowTrial, on_delete=models.CASCADE, related_name="options")
    days = models.PositiveSmallIntegerField()
    batches = models.PositiveIntegerField()
    sheets = models.PositiveIntegerField()
    sheet_m2 = models.DecimalField(max_digits=10, decimal_places=2)
    use = models.DecimalField(max_digits=5, decimal_places=4)
    minutes = models.DecimalField(max_digits=10, decimal_places=1)
    parts = models.PositiveIntegerField()
    sheet_money = models.DecimalField(max_digits=12, decimal_places=2)
    early_money = models.DecimalField(max_digits=12, decimal_places=2)
    early_money_days = models.DecimalField(max_digits=14, decimal_places=2)

    class Meta:
        ordering = ["trial", "days"]
        constraints = [models.UniqueConstraint(fields=["trial", "days"], name="window_once_a_trial")]

    def __str__(self) -> str:
        return f"{self.days} days"
