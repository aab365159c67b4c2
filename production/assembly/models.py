"""Kits, and what the bays know of parts: torques, plugs, the numbers read off them."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bom.items.models import Item
from production.orders.models import Order


class Kit(models.Model):
    """The kit of one order; made at confirmation, picked from the shelf, used up in assembly."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        BEGUN = "begun", "begun"
        DONE = "done", "complete"
        CANCELLED = "cancelled", "cancelled"

    order = models.OneToOneField(Order, on_delete=models.CASCADE, related_name="kit")
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    completed_at = models.DateTimeField(null=True, blank=True)
    bay = models.PositiveSmallIntegerField(null=True, blank=True, help_text="The assembly bay that took it.")

    class Meta:
        ordering = ["order"]

    def __str__(self) -> str:
        return f"kit of {self.order_id}"


class KitLine(models.Model):
    """So many of a bought part in a kit, and how many are picked."""

    kit = models.ForeignKey(Kit, on_delete=models.CASCADE, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="kit_lines")
    wanted = models.DecimalField(max_digits=14, decimal_places=4)
    picked = models.DecimalField(max_digits=14, decimal_places=4, default=Decimal(0))

    class Meta:
        ordering = ["kit", "item"]
        constraints = [
            models.UniqueConstraint(fields=["kit", "item"], name="kit_line_once"),
            models.CheckConstraint(
                condition=Q(picked__gte=0) & Q(picked__lte=F("wanted")),
                name="kit_picked_within_wanted",
                violation_error_message="No more can be picked than the kit wants.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.wanted} of {self.item_id}"


class Fastener(models.Model):
    """A bought part that is tightened to a torque: its thread, and the torque where its maker or the workshop sets one.

    Without a torque of its own the figure is worked out from the thread (`production.assembly.torques`).
    """

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="fastener")
    diameter_mm = models.PositiveSmallIntegerField("thread, mm")
    low_nm = models.PositiveSmallIntegerField("at least, N·m", null=True, blank=True)
    high_nm = models.PositiveSmallIntegerField("at most, N·m", null=True, blank=True)
    source = models.CharField("who says so", max_length=160, blank=True)

    class Meta:
        ordering = ["diameter_mm", "item"]
        constraints = [
            models.CheckConstraint(
                condition=Q(low_nm__isnull=True, high_nm__isnull=True) | Q(low_nm__lte=F("high_nm")),
                name="fastener_torques_in_order",
                violation_error_message="Give both torques, the lower one first, or none.",
            )
        ]

    def __str__(self) -> str:
        return f"M{self.diameter_mm} {self.item_id}"


class Plug(models.Model):
    """A bought part that is the trailer's plug, and how many contacts it has."""

    class Poles(models.IntegerChoices):
        SEVEN = 7, "7, ISO 1724"
        THIRTEEN = 13, "13, ISO 11446"

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="plug")
    poles = models.PositiveSmallIntegerField("contacts", choices=Poles)

    class Meta:
        ordering = ["item"]

    def __str__(self) -> str:
        return f"{self.poles} contacts, {self.item_id}"


class NumberRule(models.Model):
    """The number of this part is read off while the trailer is built, and how it looks.

    Parts kept by serial number are read off without a rule; this one says more about the number.
    """

    class Form(models.TextChoices):
        ANY = "any", "any letters and digits"
        MASK = "mask", "as the pattern shows"
        TYRE = "tyre", "tyre identification number"

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="number_rule")
    form = models.CharField("how it looks", max_length=4, choices=Form, default=Form.ANY)
    mask = models.CharField("pattern", max_length=40, blank=True)

    class Meta:
        ordering = ["item"]
        constraints = [
            models.CheckConstraint(
                condition=(Q(form="mask") & ~Q(mask="")) | (~Q(form="mask") & Q(mask="")),
                name="number_rule_mask_with_form",
                violation_error_message="Give a pattern if, and only if, the number looks as a pattern shows.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_form_display()} {self.item_id}"


class FittedNumber(models.Model):
    """A number read off a part of one trailer, until it is taken back. What a tyre bears may stand on several.

    The as-built record takes these over when the trailer leaves.
    """

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="fitted_numbers")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="fitted_numbers")
    code = models.CharField(max_length=60)
    is_shared = models.BooleanField(default=False, help_text="Of a batch: other parts may bear it too.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    taken_back_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    taken_back_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["order", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["item", "code"],
                condition=Q(is_shared=False, taken_back_at__isnull=True),
                name="fitted_number_on_one_trailer",
                violation_error_message="This number is on a trailer already.",
            ),
        ]
        indexes = [models.Index(fields=["order", "item"], name="fitted_order_item")]

    def __str__(self) -> str:
        return self.code


class NotRead(models.Model):
    """A number of a part that nobody could read: why, and who answers for it."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="numbers_not_read")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["order", "pk"]
        constraints = [models.UniqueConstraint(fields=["order", "item"], name="not_read_once_an_item")]

    def __str__(self) -> str:
        return self.reason
