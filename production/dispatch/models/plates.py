"""The maker's data and the serial plate of each trailer."""

from django.db import models
from django.db.models import Q

from bom.catalogue.models import TrailerModel
from production.dispatch.models.kept import Kept, person_key
from production.orders.models import Order


class Maker(models.Model):
    """Who makes the trailers, as it stands on the plate: one row, filled in by the workshop.

    The WMI is given by the national body for ISO 3780; the program invents none and checks only its form.
    """

    name = models.CharField(max_length=120)
    address = models.TextField(blank=True)
    wmi = models.CharField("maker's code (WMI)", max_length=3)
    small_code = models.CharField(
        "small maker's code", max_length=3, blank=True, help_text="Places 12 to 14, where the WMI ends in 9."
    )
    descriptor = models.CharField(
        max_length=5, help_text="Places 4 to 8, for models that have none of their own."
    )
    plant = models.CharField(max_length=1, default="0", help_text="Place 11.")
    has_check_digit = models.BooleanField("check digit in place 9", default=False)
    has_year = models.BooleanField("model year in place 10", default=False)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="maker_is_one")]

    def __str__(self) -> str:
        return self.name


class ModelDescriptor(models.Model):
    """Places 4 to 8 of the VIN for one model."""

    model = models.OneToOneField(TrailerModel, on_delete=models.CASCADE, related_name="vin_descriptor")
    descriptor = models.CharField(max_length=5)

    class Meta:
        ordering = ["model"]

    def __str__(self) -> str:
        return self.descriptor


class SerialPlate(Kept):
    """The plate of one trailer: its VIN and the masses on it. A number is given once, ever, under a maker's mark.

    `order` says for which trailer it was given; a plate that was spoilt stays as a row and is followed by another
    (`instead_of`), whose number is its own.
    """

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="plates")
    mark = models.CharField(max_length=6)
    number = models.PositiveIntegerField()
    vin = models.CharField(max_length=17, unique=True)
    model_year = models.PositiveSmallIntegerField()
    max_mass_kg = models.PositiveIntegerField()
    axles = models.PositiveSmallIntegerField()
    instead_of = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="followed_by"
    )
    reason = models.CharField(max_length=200, blank=True)
    by = person_key()
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["mark", "number"]
        permissions = [("give_plate", "May give a trailer its serial plate")]
        constraints = [
            models.UniqueConstraint(fields=["mark", "number"], name="plate_number_once_a_maker"),
            models.UniqueConstraint(
                fields=["order"], condition=Q(instead_of__isnull=True), name="first_plate_once_an_order"
            ),
        ]

    def __str__(self) -> str:
        return self.vin
