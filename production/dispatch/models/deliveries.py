"""Trailers taken to their customers: places and distances, lorries, runs and what each brings where."""

from django.db import models
from django.db.models import F, Q

from production.dispatch.models.kept import person_key
from production.orders.models import Order


class DeliveryPlace(models.Model):
    """A place that trailers are taken to, as customers' places are written; one of them is the works."""

    name = models.CharField(max_length=80, unique=True)
    is_works = models.BooleanField("this is the works", default=False)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                fields=["is_works"],
                condition=Q(is_works=True),
                name="one_place_is_the_works",
                violation_error_message="Another place is the works already.",
            )
        ]

    def __str__(self) -> str:
        return self.name


class PlaceDistance(models.Model):
    """How far it is by road between two places, the same both ways. Written once for a pair, the lower id first."""

    near = models.ForeignKey(DeliveryPlace, on_delete=models.CASCADE, related_name="+")
    far = models.ForeignKey(DeliveryPlace, on_delete=models.CASCADE, related_name="+")
    km = models.DecimalField(max_digits=7, decimal_places=1)

    class Meta:
        ordering = ["near", "far"]
        constraints = [
            models.UniqueConstraint(fields=["near", "far"], name="distance_once_a_pair"),
            models.CheckConstraint(condition=Q(near__lt=F("far")), name="distance_lower_place_first"),
            models.CheckConstraint(
                condition=Q(km__gt=0),
                name="distance_above_zero",
                violation_error_message="Two places cannot be nowhere from each other.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.near_id} to {self.far_id}: {self.km} km"


class Lorry(models.Model):
    """What carries trailers to customers, and how many at once."""

    name = models.CharField(max_length=60, unique=True)
    trailers = models.PositiveSmallIntegerField("carries so many trailers")
    is_active = models.BooleanField("in use", default=True)

    class Meta:
        ordering = ["-trailers", "name"]
        verbose_name_plural = "lorries"
        constraints = [
            models.CheckConstraint(
                condition=Q(trailers__gte=1, trailers__lte=12),
                name="lorry_carries_some",
                violation_error_message="A lorry carries 1 to 12 trailers.",
            )
        ]

    def __str__(self) -> str:
        return self.name


class DeliveryRun(models.Model):
    """One lorry on one day. Once it has left, its trailers have gone; a run that is given up frees them."""

    class State(models.TextChoices):
        PLANNED = "planned", "planned"
        GONE = "gone", "gone"
        CANCELLED = "cancelled", "cancelled"

    number = models.CharField(max_length=20, unique=True)
    day = models.DateField()
    lorry = models.ForeignKey(Lorry, on_delete=models.PROTECT, related_name="runs")
    state = models.CharField(max_length=10, choices=State, default=State.PLANNED)
    is_shortest = models.BooleanField(default=False, help_text="No shorter way for the day's runs exists.")
    by = person_key()
    at = models.DateTimeField(auto_now_add=True)
    left_by = person_key(null=True, blank=True)
    left_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["day", "number"]
        permissions = [("plan_delivery", "May plan deliveries, places and lorries")]
        constraints = [
            models.UniqueConstraint(
                fields=["lorry", "day"],
                condition=~Q(state="cancelled"),
                name="one_run_a_lorry_and_day",
                violation_error_message="This lorry has a run on that day.",
            )
        ]

    def __str__(self) -> str:
        return self.number


class Delivery(models.Model):
    """One trailer on a run: where in the round it is handed over, and who took it."""

    run = models.ForeignKey(DeliveryRun, on_delete=models.CASCADE, related_name="deliveries")
    order = models.OneToOneField(Order, on_delete=models.PROTECT, related_name="delivery")
    place = models.ForeignKey(DeliveryPlace, on_delete=models.PROTECT, related_name="+")
    sequence = models.PositiveSmallIntegerField()
    received_by = models.CharField(max_length=120, blank=True)
    received_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["run", "sequence"]
        verbose_name_plural = "deliveries"
        constraints = [
            models.CheckConstraint(
                condition=(Q(received_by="") & Q(received_at__isnull=True))
                | (~Q(received_by="") & Q(received_at__isnull=False)),
                name="delivery_received_by_and_at",
            )
        ]

    def __str__(self) -> str:
        return f"{self.order_id} on {self.run_id}"
