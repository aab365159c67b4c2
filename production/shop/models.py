"""The shop: work centres, when they are open, lorry days and the oven."""

from decimal import Decimal

from django.db import models
from django.db.models import F, Q

from bom.structure.models import Process


class Weekday(models.IntegerChoices):
    MONDAY = 0, "Monday"
    TUESDAY = 1, "Tuesday"
    WEDNESDAY = 2, "Wednesday"
    THURSDAY = 3, "Thursday"
    FRIDAY = 4, "Friday"
    SATURDAY = 5, "Saturday"
    SUNDAY = 6, "Sunday"


class Calendar(models.Model):
    """Opening hours: shifts by weekday, and single days that differ."""

    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=60)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class CalendarShift(models.Model):
    """A shift on a weekday, in local time."""

    calendar = models.ForeignKey(Calendar, on_delete=models.CASCADE, related_name="shifts")
    weekday = models.PositiveSmallIntegerField(choices=Weekday)
    starts = models.TimeField()
    ends = models.TimeField()

    class Meta:
        ordering = ["calendar", "weekday", "starts"]
        constraints = [
            models.CheckConstraint(
                condition=Q(starts__lt=F("ends")),
                name="shift_starts_before_it_ends",
                violation_error_message="A shift must start before it ends.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.starts:%H:%M} to {self.ends:%H:%M}"


class CalendarDay(models.Model):
    """A day that differs: closed with its reason (a holiday), or an extra shift."""

    calendar = models.ForeignKey(Calendar, on_delete=models.CASCADE, related_name="days")
    date = models.DateField()
    is_open = models.BooleanField(default=False)
    starts = models.TimeField(null=True, blank=True)
    ends = models.TimeField(null=True, blank=True)
    reason = models.CharField(max_length=80)

    class Meta:
        ordering = ["calendar", "date"]
        constraints = [models.UniqueConstraint(fields=["calendar", "date"], name="calendar_day_once")]

    def __str__(self) -> str:
        return f"{self.date}: {self.reason}"


class WorkCentre(models.Model):
    """A station: what process it does, how many bays or machines it has, and when it is open."""

    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=60)
    process = models.ForeignKey(Process, on_delete=models.PROTECT, related_name="work_centres")
    units = models.PositiveSmallIntegerField(default=1)
    calendar = models.ForeignKey(Calendar, on_delete=models.PROTECT, related_name="work_centres")
    hourly_rate = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0))
    sequence = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["sequence", "code"]

    def __str__(self) -> str:
        return self.name


class Downtime(models.Model):
    """Hours in which units of a work centre stand: a service, a breakdown, an absence."""

    work_centre = models.ForeignKey(WorkCentre, on_delete=models.CASCADE, related_name="downtimes")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    units = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="How many of its bays or machines stand; none means all."
    )
    reason = models.CharField(max_length=80)

    class Meta:
        ordering = ["starts_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(starts_at__lt=F("ends_at")),
                name="downtime_starts_before_it_ends",
                violation_error_message="A downtime must start before it ends.",
            )
        ]

    def __str__(self) -> str:
        return self.reason


class LorryDay(models.Model):
    """A weekday on which the galvaniser's lorry calls, and what a load may be."""

    weekday = models.PositiveSmallIntegerField(choices=Weekday, unique=True)
    leaves_at = models.TimeField()
    max_kg = models.PositiveIntegerField()
    bath_length_mm = models.PositiveIntegerField()
    minimum_charge_kg = models.PositiveIntegerField(default=0)
    price_per_kg = models.DecimalField(max_digits=8, decimal_places=3, default=Decimal(0))
    back_after_days = models.PositiveSmallIntegerField(help_text="Working days until the load is back.")

    class Meta:
        ordering = ["weekday"]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.leaves_at:%H:%M}"


class Oven(models.Model):
    """The powder oven: how many frames a batch holds, and how long a batch and a colour change take."""

    work_centre = models.OneToOneField(WorkCentre, on_delete=models.CASCADE, related_name="oven")
    frames = models.PositiveSmallIntegerField()
    rail_length_mm = models.PositiveIntegerField()
    batch_minutes = models.PositiveSmallIntegerField()
    change_to_darker_minutes = models.PositiveSmallIntegerField()
    change_to_lighter_minutes = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["work_centre"]

    def __str__(self) -> str:
        return f"oven of {self.work_centre.name}"


class WorkCentreRate(models.Model):
    """What an hour at a work centre costs from a day on, until the next one begins.

    `labour_per_hour` pays the people, `overhead_per_hour` the machine, the building and what goes with them. A work
    centre without one is reckoned with the hourly rate on its own row.
    """

    work_centre = models.ForeignKey(WorkCentre, on_delete=models.CASCADE, related_name="rates")
    from_day = models.DateField()
    labour_per_hour = models.DecimalField(max_digits=8, decimal_places=2)
    overhead_per_hour = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0))
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["work_centre", "-from_day"]
        permissions = [
            ("change_rate", "May change hourly rates and allowances"),
            ("see_cost", "May see what things cost and what is earned on them"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["work_centre", "from_day"], name="rate_once_a_day"),
            models.CheckConstraint(
                condition=Q(labour_per_hour__gte=0) & Q(overhead_per_hour__gte=0),
                name="rate_not_negative",
                violation_error_message="An hour cannot cost less than nothing.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.work_centre} from {self.from_day}"

    @property
    def together(self) -> Decimal:
        return self.labour_per_hour + self.overhead_per_hour


class CostAllowance(models.Model):
    """What costs are reckoned with where nothing better is known, from a day on, until the next one begins.

    Shares are from 0 to 1. `sheet_yield` and `bar_yield`: how much of a sheet or bar becomes good parts, where no nest
    says it. `scrap_share`: what is spoilt, of material and own work. `usual_load_kg`: a lorry load to the galvaniser,
    where no load is known.
    """

    from_day = models.DateField(unique=True)
    sheet_yield = models.DecimalField(max_digits=4, decimal_places=3)
    bar_yield = models.DecimalField(max_digits=4, decimal_places=3)
    scrap_share = models.DecimalField(max_digits=4, decimal_places=3)
    usual_load_kg = models.PositiveIntegerField()
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-from_day"]
        constraints = [
            models.CheckConstraint(
                condition=Q(sheet_yield__gt=0, sheet_yield__lte=1, bar_yield__gt=0, bar_yield__lte=1),
                name="allowance_yield_is_share",
                violation_error_message="A yield is above 0 and at most 1.",
            ),
            models.CheckConstraint(
                condition=Q(scrap_share__gte=0, scrap_share__lt=1),
                name="allowance_scrap_is_share",
                violation_error_message="The scrap allowance is from 0 to less than 1.",
            ),
        ]

    def __str__(self) -> str:
        return f"allowances from {self.from_day}"
