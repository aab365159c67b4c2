"""What a confirmed order asked for before it was changed: one row each time, kept as history."""

from django.conf import settings
from django.db import models

from bom.catalogue.models import ColourPlace, Finish, OptionChoice, Variant
from bom.items.models import Colour
from production.orders.models import FrozenBill, Hull, Order


class OrderVersion(models.Model):
    """A confirmed order as it stood until somebody changed it; written by `production.works.changing`, never changed.

    Its frozen bill and its hull stay as they were: a change writes new ones. `key` names the form that changed it,
    so that a repeat finds the change it made. `reason`, `by` and `at` say who changed it then, and why.
    """

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="versions")
    number = models.PositiveSmallIntegerField()
    key = models.CharField(max_length=60, unique=True)
    bill = models.ForeignKey(FrozenBill, on_delete=models.PROTECT, related_name="versions")
    next_bill = models.ForeignKey(FrozenBill, on_delete=models.PROTECT, related_name="+")
    variant = models.ForeignKey(Variant, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    finish = models.CharField(max_length=12, choices=Finish)
    hull = models.ForeignKey(Hull, on_delete=models.PROTECT, related_name="versions")
    asked_for = models.DateField()
    price = models.DecimalField(max_digits=10, decimal_places=2)
    next_price = models.DecimalField(max_digits=10, decimal_places=2)
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["order", "number"]
        constraints = [
            models.UniqueConstraint(fields=["order", "number"], name="order_version_number_once"),
        ]

    def __str__(self) -> str:
        return f"version {self.number} of {self.order_id}"


class OrderVersionChoice(models.Model):
    """A choice that a version had."""

    version = models.ForeignKey(OrderVersion, on_delete=models.CASCADE, related_name="choices")
    choice = models.ForeignKey(OptionChoice, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["version", "choice"]
        constraints = [models.UniqueConstraint(fields=["version", "choice"], name="choice_once_a_version")]

    def __str__(self) -> str:
        return self.choice.name


class OrderVersionColour(models.Model):
    """A colour that a version had."""

    version = models.ForeignKey(OrderVersion, on_delete=models.CASCADE, related_name="colours")
    place = models.CharField(max_length=10, choices=ColourPlace)
    colour = models.ForeignKey(Colour, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["version", "place"]
        constraints = [models.UniqueConstraint(fields=["version", "place"], name="place_once_a_version")]

    def __str__(self) -> str:
        return f"{self.get_place_display()}: {self.colour.name}"
