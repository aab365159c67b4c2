"""Orders: who asked for which trailer, for which hull, by when, and the bill frozen at confirmation."""

from datetime import date
from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import Q

from bom.catalogue.models import ColourPlace, Finish, OptionChoice, TrailerModel, Variant
from bom.items.models import Colour, Item
from bom.ratings.models import Market
from bom.structure.models import Revision
from inventory.stock.models import Purpose


class NumberSeries(models.Model):
    """The last number given out of a series. Its row is locked while the next is taken, so none is given twice."""

    code = models.SlugField(max_length=20, unique=True)
    last = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["code"]
        verbose_name_plural = "number series"

    def __str__(self) -> str:
        return f"{self.code} {self.last}"


class Customer(models.Model):
    """Who orders: a boat builder, a dealer, or one owner."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    place = models.CharField(max_length=80, blank=True)
    is_trade = models.BooleanField(default=False)
    variants = models.ManyToManyField(Variant, blank=True, related_name="customers")

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Hull(models.Model):
    """The boat that one trailer is set up for.

    The centre of gravity is measured (weighed on two supports), estimated by somebody, or not known; then a share of
    the length is assumed and said to be. Gear is what lies in the hull on the road and is not in its mass.
    """

    class Keel(models.TextChoices):
        UNKNOWN = "", "not written down"
        FLAT = "flat", "flat bottom"
        SHALLOW = "shallow_vee", "shallow vee"
        DEEP = "deep_vee", "deep vee"
        LONG = "long", "long keel"
        FIN = "fin", "fin keel"
        BILGE = "bilge", "bilge keels"
        TWIN = "two_hulls", "two hulls"

    class Chine(models.TextChoices):
        UNKNOWN = "", "not written down"
        HARD = "hard", "hard chine"
        ROUND = "round", "round bilge"
        STEPPED = "stepped", "stepped bottom"

    name = models.CharField(max_length=80)
    mass_kg = models.PositiveIntegerField()
    length_mm = models.PositiveIntegerField()
    beam_mm = models.PositiveIntegerField()
    bow_to_transom_mm = models.PositiveIntegerField()
    centre_of_gravity_mm = models.PositiveIntegerField(
        null=True, blank=True, help_text="From the transom, forward."
    )
    is_measured = models.BooleanField(default=False, help_text="Centre of gravity measured, not estimated.")
    keel = models.CharField(max_length=12, choices=Keel, default=Keel.UNKNOWN, blank=True)
    chine = models.CharField(max_length=12, choices=Chine, default=Chine.UNKNOWN, blank=True)
    gear_kg = models.PositiveIntegerField(default=0, help_text="Fuel, anchor and the like, not in the mass.")
    gear_at_mm = models.PositiveIntegerField(
        null=True, blank=True, help_text="Where the gear lies, from the transom, forward."
    )

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def centre_word(self) -> str:
        """How the centre of gravity is known, in a word."""
        if self.centre_of_gravity_mm is None:
            return "not known"
        return "measured" if self.is_measured else "estimated"


class FrozenBill(models.Model):
    """An expanded bill that never changes. Orders whose expansion is the same share one, known by its digest."""

    digest = models.CharField(max_length=64, unique=True)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="frozen_bills")
    frozen_at = models.DateTimeField(auto_now_add=True)
    mass_kg = models.DecimalField(max_digits=10, decimal_places=3, default=Decimal(0))
    chassis_kg = models.DecimalField(
        max_digits=10, decimal_places=3, default=Decimal(0), help_text="Mass that goes to the galvaniser."
    )

    class Meta:
        ordering = ["-frozen_at"]

    def __str__(self) -> str:
        return self.digest[:12]


class FrozenLine(models.Model):
    """One edge of a frozen bill: so many of `item` in each `parent`, by the named revision of the parent."""

    bill = models.ForeignKey(FrozenBill, on_delete=models.CASCADE, related_name="lines")
    parent = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="frozen_lines")
    position = models.PositiveSmallIntegerField()
    quantity_per = models.DecimalField(max_digits=16, decimal_places=6)
    revision = models.CharField(max_length=4, blank=True)

    class Meta:
        ordering = ["bill", "parent", "position"]
        constraints = [
            models.UniqueConstraint(fields=["bill", "parent", "item", "position"], name="frozen_line_once")
        ]

    def __str__(self) -> str:
        return f"{self.quantity_per} of {self.item_id}"


class FrozenTotal(models.Model):
    """How many of an item one trailer of a frozen bill needs in all.

    `revision` is the issue of a made item's bill and operations that was used; none for what is not made.
    """

    bill = models.ForeignKey(FrozenBill, on_delete=models.CASCADE, related_name="totals")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="frozen_totals")
    quantity = models.DecimalField(max_digits=16, decimal_places=6)
    revision = models.ForeignKey(
        Revision, on_delete=models.PROTECT, null=True, blank=True, related_name="frozen_totals"
    )

    class Meta:
        ordering = ["bill", "item"]
        constraints = [models.UniqueConstraint(fields=["bill", "item"], name="frozen_total_once")]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.item_id}"


class Order(models.Model):
    """One trailer for one customer and one hull.

    A draft may be edited; confirming freezes the bill and creates the works order. `asked_for` is the customer's
    wish, `promised_on` what we told him; only a released plan or a person changes a promise.
    """

    class State(models.TextChoices):
        DRAFT = "draft", "draft"
        CONFIRMED = "confirmed", "confirmed"
        RELEASED = "released", "released"
        BEGUN = "begun", "begun"
        DONE = "done", "done"
        GONE = "gone", "gone"
        CANCELLED = "cancelled", "cancelled"

    OPEN = (State.CONFIRMED, State.RELEASED, State.BEGUN)

    number = models.CharField(max_length=20, unique=True)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="orders")
    model = models.ForeignKey(TrailerModel, on_delete=models.PROTECT, related_name="orders")
    variant = models.ForeignKey(
        Variant, on_delete=models.PROTECT, null=True, blank=True, related_name="orders"
    )
    finish = models.CharField(max_length=12, choices=Finish)
    hull = models.ForeignKey(Hull, on_delete=models.PROTECT, related_name="orders")
    market = models.ForeignKey(
        Market,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="orders",
        help_text="Where it will be registered; the default market where none is named.",
    )
    copied_from = models.ForeignKey(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="copies"
    )
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT)
    asked_for = models.DateField()
    promised_on = models.DateField(null=True, blank=True)
    weight = models.PositiveSmallIntegerField(
        default=1, help_text="How much a late day hurts: 1 usual, 3 most."
    )
    price = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))
    note = models.TextField(blank=True)
    bill = models.ForeignKey(
        FrozenBill, on_delete=models.PROTECT, null=True, blank=True, related_name="orders"
    )
    purpose = models.OneToOneField(
        Purpose, on_delete=models.PROTECT, null=True, blank=True, related_name="production_order"
    )
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    cancelled_from = models.CharField(
        max_length=10,
        choices=State,
        blank=True,
        help_text="The state it goes back to if the cancelling is undone.",
    )
    cancel_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["number"]
        permissions = [
            ("confirm_order", "May confirm an order"),
            ("cancel_order", "May cancel an order"),
            ("import_order", "May bring orders in from a workbook"),
            ("accept_rating", "May let an order go on although a rating is not met"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["draft", "cancelled"]) | Q(bill__isnull=False, purpose__isnull=False),
                name="order_confirmed_has_bill",
                violation_error_message="A confirmed order must have its frozen bill.",
            )
        ]
        indexes = [
            models.Index(fields=["state", "asked_for"], name="order_state_asked"),
            models.Index(fields=["state", "promised_on"], name="order_state_promised"),
        ]

    def __str__(self) -> str:
        return self.number

    @property
    def is_open(self) -> bool:
        return self.state in self.OPEN

    @property
    def due_on(self) -> date:
        """The date it is held to: the promise where one was made, else the customer's wish."""
        return self.promised_on or self.asked_for


class OrderChoice(models.Model):
    """A choice made on an order."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="choices")
    choice = models.ForeignKey(OptionChoice, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["order", "choice"]
        constraints = [models.UniqueConstraint(fields=["order", "choice"], name="choice_once_an_order")]

    def __str__(self) -> str:
        return self.choice.name


class OrderColour(models.Model):
    """A colour asked for on an order."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="colours")
    place = models.CharField(max_length=10, choices=ColourPlace)
    colour = models.ForeignKey(Colour, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["order", "place"]
        constraints = [models.UniqueConstraint(fields=["order", "place"], name="place_once_an_order")]

    def __str__(self) -> str:
        return f"{self.get_place_display()}: {self.colour.name}"
