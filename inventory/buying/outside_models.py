"""Work done on our own goods at a supplier's place: his terms, what is away on which load, claims, what he said."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bom.items.models import Item
from inventory.buying.models import PurchaseOrder, Supplier
from inventory.stock.models import Location, Lot, Posting


class OutsideService(models.Model):
    """Work that a supplier does on goods we send him: what a kilogram costs, the least he charges, how long it takes.

    `work` names it as the stations do (the code of the process); of several suppliers the preferred one is taken.
    `place` is where the ledger keeps what lies with him.
    """

    work = models.SlugField(max_length=20, help_text="As the route of an item names it: galvanise.")
    name = models.CharField(max_length=80, help_text="As it stands on an order: hot-dip galvanising.")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="services")
    place = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="services")
    price_per_kg = models.DecimalField(max_digits=10, decimal_places=4)
    minimum_kg = models.DecimalField(
        max_digits=10,
        decimal_places=2,
        default=Decimal(0),
        help_text="So much is charged at least for a load.",
    )
    days_away = models.PositiveSmallIntegerField(help_text="Working days, as the supplier states them.")
    is_preferred = models.BooleanField(default=True)

    class Meta:
        ordering = ["work", "-is_preferred", "supplier"]
        constraints = [
            models.UniqueConstraint(fields=["work", "supplier"], name="outside_service_once"),
            models.CheckConstraint(
                condition=Q(price_per_kg__gte=0) & Q(minimum_kg__gte=0),
                name="outside_service_figures",
                violation_error_message="A price and a minimum are zero or more.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.supplier}"


class OutsideLine(models.Model):
    """One load of our goods sent away for work: a line of a purchase order that buys work, not goods.

    It stands apart from `PurchaseOrderLine`, so that the goods, which were ours all along, are never counted as on
    order. Written by `outside` and `outside_claims` alone. The ledger says what lies at the supplier's place;
    `OutsidePiece` says of which load it is. The two agree for every item as long as nobody moves goods there past
    these verbs; `outside_queries.ledger_differences` says where they do not.

    `value` is what will be charged: the mass, at least `minimum_kg`, at the price that held when it left.
    `is_closed` means nothing of it lies outside any more: back, or written off.
    """

    order = models.ForeignKey(PurchaseOrder, on_delete=models.PROTECT, related_name="outside_lines")
    position = models.PositiveSmallIntegerField()
    service = models.ForeignKey(OutsideService, on_delete=models.PROTECT, related_name="lines")
    reference = models.CharField(max_length=40, help_text="Number of the load or of our delivery note.")
    mass_kg = models.DecimalField(max_digits=10, decimal_places=2)
    price_per_kg = models.DecimalField(max_digits=10, decimal_places=4)
    minimum_kg = models.DecimalField(max_digits=10, decimal_places=2)
    value = models.DecimalField(max_digits=12, decimal_places=2)
    posting = models.OneToOneField(Posting, on_delete=models.PROTECT, related_name="outside_line")
    wanted_on = models.DateField(help_text="The day it was to be back when it left.")
    due_on = models.DateField(help_text="The day it is expected back now.")
    confirmed_on = models.DateField(null=True, blank=True, help_text="The day the supplier named last.")
    came_at = models.DateTimeField(null=True, blank=True, help_text="When the first of it was back.")
    complete_at = models.DateTimeField(null=True, blank=True, help_text="When all of it was back.")
    is_closed = models.BooleanField(default=False)
    is_counted_at_station = models.BooleanField(
        default=False, help_text="A station counts it back, with its orders; buying only watches."
    )

    class Meta:
        ordering = ["order", "position"]
        permissions = [
            ("send_outside", "May send goods out for work and count them back"),
            ("claim_outside", "May claim what a supplier lost or spoilt, and settle a claim"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["order", "position"], name="outside_position_once"),
            models.CheckConstraint(
                condition=Q(mass_kg__gt=0),
                name="outside_mass_above_zero",
                violation_error_message="The mass sent must be above zero.",
            ),
        ]
        indexes = [models.Index(fields=["is_closed", "due_on"], name="outside_open")]

    def __str__(self) -> str:
        return f"load {self.reference}"

    @property
    def charged_kg(self) -> Decimal:
        """What is paid for: the mass, at least the minimum charge."""
        return max(self.mass_kg, self.minimum_kg)


class OutsidePiece(models.Model):
    """So much of an item on a load, for an order or for the shelf: sent, back, written off. The rest lies outside."""

    line = models.ForeignKey(OutsideLine, on_delete=models.CASCADE, related_name="pieces")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="outside_pieces")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    label = models.CharField(max_length=40, blank=True, help_text="For which order; empty for the shelf.")
    sent = models.DecimalField(max_digits=14, decimal_places=4)
    back = models.DecimalField(max_digits=14, decimal_places=4, default=Decimal(0))
    written_off = models.DecimalField(max_digits=14, decimal_places=4, default=Decimal(0))
    came_to = models.ForeignKey(Location, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["line", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(sent__gt=0)
                & Q(back__gte=0)
                & Q(back__lte=F("sent"))
                & Q(written_off__gte=0)
                & Q(written_off__lte=F("sent")),
                name="outside_piece_within_sent",
                violation_error_message="No more can come back than was sent.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.item_id} on {self.line_id}"

    @property
    def outside(self) -> Decimal:
        """What of it lies at the supplier's."""
        return self.sent - self.back - self.written_off


class OutsideClaim(models.Model):
    """What the supplier lost or spoilt and is asked to make good: how many, why, and how it ended.

    Missing goods stay at his place in the ledger until they turn up (`found` counts them) or the claim is settled,
    which writes the rest off to scrap. Spoilt goods came back; where they cannot be used, `posting` scraps them.
    """

    class Kind(models.TextChoices):
        MISSING = "missing", "missing"
        DAMAGED = "damaged", "damaged"

    class State(models.TextChoices):
        OPEN = "open", "claimed"
        FOUND = "found", "found"
        MADE_GOOD = "made_good", "made good"
        REFUSED = "refused", "refused"

    piece = models.ForeignKey(OutsidePiece, on_delete=models.CASCADE, related_name="claims")
    key = models.CharField(max_length=80, unique=True)
    kind = models.CharField(max_length=8, choices=Kind)
    quantity = models.DecimalField(max_digits=14, decimal_places=4)
    found = models.DecimalField(max_digits=14, decimal_places=4, default=Decimal(0))
    reason = models.CharField(max_length=200)
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    posting = models.OneToOneField(
        Posting, on_delete=models.PROTECT, null=True, blank=True, related_name="outside_claim"
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    settled_at = models.DateTimeField(null=True, blank=True)
    credit = models.DecimalField(max_digits=12, decimal_places=2, default=Decimal(0))
    answer = models.CharField(max_length=200, blank=True, help_text="What the supplier said of it.")

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gt=0)
                & Q(found__gte=0)
                & Q(found__lte=F("quantity"))
                & Q(credit__gte=0),
                name="outside_claim_figures",
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="outside_claim_has_a_reason"),
        ]
        indexes = [models.Index(fields=["state"], name="outside_claim_state")]

    def __str__(self) -> str:
        return f"{self.quantity} {self.kind} of piece {self.piece_id}"


class OutsideAnswer(models.Model):
    """What the supplier said of a load: a day he promised (`promised_on`), or the answer to being asked."""

    line = models.ForeignKey(OutsideLine, on_delete=models.CASCADE, related_name="answers")
    key = models.CharField(max_length=80, unique=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()
    promised_on = models.DateField(null=True, blank=True)
    before_on = models.DateField(null=True, blank=True, help_text="When it was expected until then.")
    words = models.CharField(max_length=300, blank=True)
    again_on = models.DateField(null=True, blank=True, help_text="When to ask again.")

    class Meta:
        ordering = ["line", "at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(promised_on__isnull=False) | Q(again_on__isnull=False),
                name="outside_answer_says_something",
            )
        ]

    def __str__(self) -> str:
        return f"line {self.line_id} answered"
