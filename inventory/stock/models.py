"""The stock ledger: where things are, how they came there, and for whom they are kept."""

from decimal import Decimal
from typing import Any, Never

from django.conf import settings
from django.db import models
from django.db.models import Q

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError


class Location(models.Model):
    """A place that can hold stock. Outside places are places too, so that every movement has two ends.

    `floor` is the lowest balance allowed; none means the place may go below zero, as suppliers do (they give
    what we never saw arrive) and as conversion does (sheets go in, parts come out).
    """

    class Kind(models.TextChoices):
        SUPPLIER = "supplier", "supplier"
        SHELF = "shelf", "shelf"
        WORK = "work", "work in progress"
        OUTSIDE = "outside", "away for outside work"
        CONVERSION = "conversion", "made into something else"
        SCRAP = "scrap", "scrap"
        CUSTOMER = "customer", "customer"
        COUNT = "count", "count difference"
        HOLD = "hold", "on hold"

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=12, choices=Kind)
    floor = models.DecimalField(max_digits=16, decimal_places=4, null=True, blank=True, default=Decimal(0))
    walk_order = models.PositiveIntegerField(default=0, help_text="Order in which a picker walks past it.")
    is_goods_in = models.BooleanField(
        default=False,
        help_text="Goods are set down here when they come, until they are put away. They may be picked from it.",
    )

    class Meta:
        ordering = ["walk_order", "code"]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class Lot(models.Model):
    """A lot, a cast of steel, one serial number or one offcut with its outline."""

    class Kind(models.TextChoices):
        LOT = "lot", "lot"
        CAST = "cast", "steel cast"
        SERIAL = "serial", "serial number"
        OFFCUT = "offcut", "offcut"

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="lots")
    code = models.CharField(max_length=60)
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.LOT)
    cast = models.CharField(max_length=60, blank=True, help_text="Cast number of the steel, where known.")
    received_on = models.DateField(null=True, blank=True)
    length_mm = models.DecimalField(max_digits=10, decimal_places=1, null=True, blank=True)
    width_mm = models.DecimalField(max_digits=10, decimal_places=1, null=True, blank=True)
    outline = models.TextField(blank=True, help_text="Vertices of an offcut, as in bom.geometry.outlines.")
    holes = models.TextField(blank=True, help_text="Holes already cut in an offcut, a contour on each line.")

    class Meta:
        ordering = ["item", "code"]
        constraints = [models.UniqueConstraint(fields=["item", "code"], name="lot_code_once_an_item")]

    def __str__(self) -> str:
        return self.code


class Purpose(models.Model):
    """What stock is wanted for: one row for each order, known here by its number only.

    Orders live a floor above; they point down to their purpose, so stock can be kept and issued for an order
    without knowing what an order is.
    """

    code = models.CharField(max_length=30, unique=True)
    label = models.CharField(max_length=120, blank=True)
    needed_on = models.DateField(null=True, blank=True)
    is_open = models.BooleanField(default=True)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.code


class ReasonCode(models.Model):
    """A coded reason, so that what is scrapped, held, sent back or given to another order can be added up by cause."""

    class Use(models.TextChoices):
        SCRAP = "scrap", "scrap"
        HOLD = "hold", "put on hold"
        SEND_BACK = "sent_back", "send back to the supplier"
        REASSIGN = "reassign", "give to another order"

    use = models.CharField(max_length=10, choices=Use)
    code = models.SlugField(max_length=20)
    name = models.CharField(max_length=80)
    is_active = models.BooleanField(
        default=True, help_text="Old codes stay on old postings and are not offered."
    )

    class Meta:
        ordering = ["use", "name"]
        constraints = [models.UniqueConstraint(fields=["use", "code"], name="reason_code_once_a_use")]

    def __str__(self) -> str:
        return self.name


class WrittenOnceRows(models.QuerySet[Any]):
    """Rows that bulk changes refuse to touch."""

    def update(self, **kwargs: Any) -> Never:
        raise _written_once("rows")

    def delete(self) -> Never:
        raise _written_once("rows")


class WrittenOnce(models.Model):
    """A row that can be added and never changed or removed. PostgreSQL holds this by a trigger as well."""

    objects = WrittenOnceRows.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise _written_once(str(self))
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> Never:
        raise _written_once(str(self))


def _written_once(what: str) -> ProblemError:
    return ProblemError(
        Problem(
            what=f"The ledger is never changed ({what})",
            where="ledger",
            mend="Reverse the posting and post what is right.",
        )
    )


class Posting(WrittenOnce):
    """One event in the ledger: its movements sum to zero for every item.

    Written only by `inventory.stock.ledger`. `key` names the event for the sender: a repeat returns the first
    posting instead of making a second. Rows are never changed; a correction is the mirror posting, once
    (`reverses` is unique). `happened_at` is when the hand moved the thing, `recorded_at` when we heard of it.
    """

    class Kind(models.TextChoices):
        OPENING = "opening", "opening stock"
        RECEIPT = "receipt", "goods-in"
        MOVE = "move", "moved"
        ISSUE = "issue", "issued to work"
        RETURN = "return", "returned to the shelf"
        MAKE = "make", "made"
        SCRAP = "scrap", "scrapped"
        COUNT = "count", "counted"
        DISPATCH = "dispatch", "gone to the customer"
        REVERSAL = "reversal", "reversed"
        HOLD = "hold", "put on hold"
        FREED = "freed", "released from hold"
        SEND_BACK = "sent_back", "sent back to the supplier"

    key = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=10, choices=Kind)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=200, blank=True)
    reason_code = models.ForeignKey(
        ReasonCode, on_delete=models.PROTECT, null=True, blank=True, related_name="postings"
    )
    purpose = models.ForeignKey(
        Purpose, on_delete=models.PROTECT, null=True, blank=True, related_name="postings"
    )
    reverses = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )

    class Meta:
        ordering = ["-happened_at", "-id"]
        permissions = [
            ("receive_goods", "May book goods in"),
            ("issue_stock", "May pick, issue and return stock"),
            ("count_stock", "May post a count"),
            ("scrap_stock", "May scrap stock"),
            ("reverse_posting", "May reverse a posting"),
            ("hold_stock", "May put goods on hold and release them"),
            ("send_back", "May send goods back to the supplier"),
        ]
        indexes = [
            # The ledger's pages are numbered from this index alone; so are those of one kind of posting.
            models.Index(fields=["happened_at", "id"], name="posting_latest"),
            models.Index(fields=["kind", "happened_at", "id"], name="posting_latest_kind"),
            # Few postings are reversals: those of a span of days are read from these few.
            models.Index(
                fields=["happened_at", "reverses"],
                name="posting_reversals",
                condition=Q(reverses__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.key}"


class Movement(WrittenOnce):
    """One side of a posting: so much of an item into (plus) or out of (minus) a location.

    `happened_at` is its posting's, written with it, so that the latest movements of an item or at a place are read
    from an index however many there are. Neither can change; the audit compares them.
    """

    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="movements")
    # Both keys are led by an index of their own below.
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="movements", db_index=False)
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="movements", db_index=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="movements")
    quantity = models.DecimalField(max_digits=16, decimal_places=4)
    happened_at = models.DateTimeField(editable=False)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(condition=~Q(quantity=0), name="movement_quantity_not_zero"),
        ]
        indexes = [
            models.Index(fields=["item", "happened_at", "posting"], name="movement_latest_item"),
            models.Index(fields=["location", "happened_at", "posting"], name="movement_latest_place"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.item_id}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.happened_at = self.posting.happened_at
        super().save(*args, **kwargs)


class Balance(models.Model):
    """What lies where: the sum of movements, kept up by the ledger and rebuildable from it."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="balances")
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="balances")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="balances")
    quantity = models.DecimalField(max_digits=16, decimal_places=4, default=Decimal(0))

    class Meta:
        ordering = ["item", "location"]
        constraints = [
            models.UniqueConstraint(
                fields=["item", "location", "lot"],
                condition=Q(lot__isnull=False),
                name="balance_once_a_lot",
            ),
            models.UniqueConstraint(
                fields=["item", "location"],
                condition=Q(lot__isnull=True),
                name="balance_once_without_lot",
            ),
        ]
        indexes = [models.Index(fields=["location", "item"], name="balance_location_item")]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.item_id} at {self.location_id}"


class Reservation(models.Model):
    """So much of an item on the shelf is kept for a purpose. Written only by `inventory.stock.reserving`."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="reservations")
    purpose = models.ForeignKey(Purpose, on_delete=models.CASCADE, related_name="reservations")
    quantity = models.DecimalField(max_digits=16, decimal_places=4)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["item", "purpose"]
        permissions = [("reserve_stock", "May keep stock for an order")]
        constraints = [
            models.UniqueConstraint(fields=["item", "purpose"], name="reservation_once_a_purpose"),
            models.CheckConstraint(
                condition=Q(quantity__gt=0),
                name="reservation_above_zero",
                violation_error_message="A reservation must be for more than nothing.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.item_id} for {self.purpose_id}"


class ReservationChange(WrittenOnce):
    """What a person decided about a reservation: kept, let go, or given from one order to another, and why.

    Picking and using what is kept is not written here: the ledger says it.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="reservation_changes")
    source = models.ForeignKey(Purpose, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    target = models.ForeignKey(Purpose, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    quantity = models.DecimalField(max_digits=16, decimal_places=4)
    reason_code = models.ForeignKey(ReasonCode, on_delete=models.PROTECT, null=True, blank=True)
    reason = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="reservation_change_above_zero"),
            models.CheckConstraint(
                condition=Q(source__isnull=False) | Q(target__isnull=False),
                name="reservation_change_has_an_order",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.item_id} from {self.source_id} to {self.target_id}"
