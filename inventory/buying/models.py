"""Suppliers, their prices, purchase orders, and what was heard of each line."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bom.items.models import Item
from inventory.stock.models import Posting


class Supplier(models.Model):
    """A firm we buy from."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    lead_days = models.PositiveSmallIntegerField(default=5, help_text="Working days, where an item has none.")
    minimum_value = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))
    delivery_weekday = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="0 Monday … 6 Sunday"
    )
    address = models.TextField(blank=True, help_text="As it stands on an order paper, one line each.")
    email = models.EmailField(blank=True, help_text="Where orders are sent; empty means by hand.")
    confirm_days = models.PositiveSmallIntegerField(
        default=3, help_text="Working days after which a line that nobody has confirmed is chased."
    )
    lead_percentile = models.PositiveSmallIntegerField(
        default=80, help_text="Plan by the lead time within which so many of 100 deliveries came."
    )
    fewest_deliveries = models.PositiveSmallIntegerField(
        default=5, help_text="Fewer deliveries of an item than this, and its stated lead time is planned by."
    )

    over_percent = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        null=True,
        blank=True,
        help_text="How much more than ordered is taken without asking, percent of the line; none: as of all.",
    )

    class Meta:
        ordering = ["code"]
        permissions = [("change_terms", "May change a supplier's terms, prices and our own address")]
        constraints = [
            models.CheckConstraint(
                condition=Q(lead_percentile__gte=1) & Q(lead_percentile__lte=99),
                name="supplier_percentile_1_to_99",
                violation_error_message="Write a whole number from 1 to 99.",
            ),
            models.CheckConstraint(
                condition=Q(delivery_weekday__isnull=True) | Q(delivery_weekday__lte=6),
                name="supplier_weekday_of_seven",
                violation_error_message="A weekday is 0 (Monday) to 6 (Sunday).",
            ),
            models.CheckConstraint(
                condition=Q(over_percent__isnull=True) | Q(over_percent__gte=0),
                name="supplier_over_not_negative",
                violation_error_message="Write zero or more percent, or leave it empty.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class BuyingRules(models.Model):
    """What holds for every supplier who has no term of his own. One row; without it the defaults hold."""

    over_percent = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        default=Decimal(10),
        help_text="How much more than ordered is taken without asking, percent of the line (common practice).",
    )

    class Meta:
        verbose_name_plural = "buying rules"
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="buying_rules_once"),
            models.CheckConstraint(
                condition=Q(over_percent__gte=0),
                name="buying_rules_over_not_negative",
                violation_error_message="Write zero or more percent.",
            ),
        ]

    def __str__(self) -> str:
        return "buying rules"

    @classmethod
    def current(cls) -> "BuyingRules":
        """The rules in force; not stored yet where nobody has changed them."""
        return cls.objects.first() or cls(pk=1)


class SupplierItem(models.Model):
    """That a supplier sells an item: price for one stock unit, pack and lead time."""

    supplier = models.ForeignKey(Supplier, on_delete=models.CASCADE, related_name="items")
    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="suppliers")
    price = models.DecimalField(max_digits=12, decimal_places=4)
    pack = models.DecimalField(max_digits=12, decimal_places=4, default=Decimal(1))
    lead_days = models.PositiveSmallIntegerField()
    is_preferred = models.BooleanField(default=True)
    their_code = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["item", "-is_preferred", "price"]
        constraints = [
            models.UniqueConstraint(fields=["supplier", "item"], name="supplier_item_once"),
            models.CheckConstraint(condition=Q(pack__gt=0) & Q(price__gte=0), name="supplier_item_figures"),
        ]

    def __str__(self) -> str:
        return f"{self.item_id} from {self.supplier_id}"


class SupplierPrice(models.Model):
    """A price break: what one stock unit costs from a quantity on, while it is valid.

    Where none fits the quantity and the day, `SupplierItem.price` holds. See `inventory.buying.pricing`.
    """

    sold = models.ForeignKey(SupplierItem, on_delete=models.CASCADE, related_name="breaks")
    from_quantity = models.DecimalField(max_digits=14, decimal_places=4)
    price = models.DecimalField(max_digits=12, decimal_places=4)
    valid_from = models.DateField()
    valid_until = models.DateField(
        null=True, blank=True, help_text="Last day; none means until further notice."
    )

    class Meta:
        ordering = ["sold", "from_quantity", "valid_from"]
        constraints = [
            models.UniqueConstraint(
                fields=["sold", "from_quantity", "valid_from"], name="price_break_once_a_day"
            ),
            models.CheckConstraint(
                condition=Q(from_quantity__gt=0) & Q(price__gte=0),
                name="price_break_figures",
                violation_error_message="A break needs a quantity above zero and a price of zero or more.",
            ),
            models.CheckConstraint(
                condition=Q(valid_until__isnull=True) | Q(valid_until__gte=F("valid_from")),
                name="price_break_ends_after_it_begins",
                violation_error_message="The last day lies before the first.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.price} from {self.from_quantity}"


class PurchaseOrder(models.Model):
    """An order to a supplier.

    A draft above the limit of whoever releases it waits for another person's approval (`approving.py`); any
    change to its lines withdraws what was asked and approved. Released, it is on order until every line has come
    or is closed.
    """

    class State(models.TextChoices):
        DRAFT = "draft", "draft"
        RELEASED = "released", "released"
        DONE = "done", "done"
        CANCELLED = "cancelled", "cancelled"

    number = models.CharField(max_length=20, unique=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT)
    ordered_on = models.DateField(null=True, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    asked_at = models.DateTimeField(null=True, blank=True)
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    approved_at = models.DateTimeField(null=True, blank=True)
    approved_value = models.DecimalField(max_digits=16, decimal_places=2, null=True, blank=True)
    released_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    cancelled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    cancelled_at = models.DateTimeField(null=True, blank=True)
    cancel_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-number"]
        permissions = [
            ("release_purchaseorder", "May release a purchase order to the supplier"),
            ("approve_purchaseorder", "May approve a purchase order that is above another's limit"),
            ("confirm_purchaseorder", "May enter what a supplier confirmed, and chase a line"),
        ]

    def __str__(self) -> str:
        return self.number


class PurchaseOrderLine(models.Model):
    """So much of an item, due on a date; `received` counts what goods-in has booked against it.

    `quantity` and `due_on` are what is expected now: the supplier's confirmation changes them, and planning reads
    them. `asked_quantity` and `wanted_on` are what we ordered, kept at release (none while it is a draft).
    """

    order = models.ForeignKey(PurchaseOrder, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="purchase_lines")
    quantity = models.DecimalField(max_digits=14, decimal_places=4)
    received = models.DecimalField(max_digits=14, decimal_places=4, default=Decimal(0))
    price = models.DecimalField(max_digits=12, decimal_places=4)
    due_on = models.DateField()
    asked_quantity = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    wanted_on = models.DateField(null=True, blank=True)
    confirmed_on = models.DateField(null=True, blank=True, help_text="The day the supplier named last.")
    rest_of = models.ForeignKey(
        "self",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="rests",
        help_text="The line of which the supplier brings this part later.",
    )
    is_closed = models.BooleanField(default=False, help_text="No more will come, whatever was ordered.")

    class Meta:
        ordering = ["order", "position"]
        constraints = [
            models.UniqueConstraint(fields=["order", "position"], name="purchase_position_once"),
            models.CheckConstraint(
                condition=Q(quantity__gt=0),
                name="purchase_quantity_above_zero",
                violation_error_message="The quantity bought must be above zero.",
            ),
            models.CheckConstraint(condition=Q(received__gte=0), name="purchase_received_not_negative"),
        ]
        indexes = [models.Index(fields=["item", "is_closed"], name="purchase_item_open")]

    def __str__(self) -> str:
        return f"{self.order_id} line {self.position}"


class Receipt(models.Model):
    """One delivery booked in against a line, and the posting that brought it on the shelf.

    Lead times are learnt from these rows. A delivery taken back keeps its row; its posting is reversed.
    """

    line = models.ForeignKey(PurchaseOrderLine, on_delete=models.PROTECT, related_name="receipts")
    posting = models.OneToOneField(Posting, on_delete=models.PROTECT, related_name="receipt")
    quantity = models.DecimalField(max_digits=14, decimal_places=4)

    class Meta:
        ordering = ["line", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="receipt_quantity_above_zero"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} on line {self.line_id}"


class Confirmation(models.Model):
    """What a supplier said of a line: the day and quantity promised, who typed it in and when.

    The first one is the promise that on-time deliveries are measured by; later ones only move what is expected.
    """

    line = models.ForeignKey(PurchaseOrderLine, on_delete=models.CASCADE, related_name="confirmations")
    key = models.CharField(max_length=60, unique=True)
    promised_on = models.DateField()
    quantity = models.DecimalField(max_digits=14, decimal_places=4)
    before_on = models.DateField(help_text="When it was expected until then.")
    before_quantity = models.DecimalField(max_digits=14, decimal_places=4)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["line", "at", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="confirmation_quantity_above_zero"),
        ]

    def __str__(self) -> str:
        return f"line {self.line_id} promised for {self.promised_on}"


class Chase(models.Model):
    """That a supplier was asked about a line: who asked, when, what was answered, and when to ask again."""

    line = models.ForeignKey(PurchaseOrderLine, on_delete=models.CASCADE, related_name="chases")
    key = models.CharField(max_length=60, unique=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()
    answer = models.CharField(max_length=300)
    again_on = models.DateField()

    class Meta:
        ordering = ["line", "-at", "-id"]

    def __str__(self) -> str:
        return f"line {self.line_id} chased"


class BuyingLimit(models.Model):
    """How much money a person, or everybody of a role, may bind by one purchase order.

    `releases_up_to`: without anybody else. `approves_up_to`: what others have asked for; none means any value.
    A person's own row stands before those of his roles; of several roles the highest counts. As long as there is
    no row at all, no limit is in force.
    """

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, null=True, blank=True, related_name="buying_limit"
    )
    role = models.OneToOneField(
        "auth.Group", on_delete=models.CASCADE, null=True, blank=True, related_name="buying_limit"
    )
    releases_up_to = models.DecimalField(max_digits=12, decimal_places=2)
    approves_up_to = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)

    class Meta:
        ordering = ["role", "person"]
        permissions = [("set_limits", "May set how much money a person may bind by an order")]
        constraints = [
            models.CheckConstraint(
                condition=Q(person__isnull=True, role__isnull=False)
                | Q(person__isnull=False, role__isnull=True),
                name="limit_of_a_person_or_a_role",
                violation_error_message="A limit is a person's or a role's, not both.",
            ),
            models.CheckConstraint(
                condition=Q(releases_up_to__gte=0),
                name="limit_not_negative",
                violation_error_message="A limit cannot be below zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"limit of {self.person or self.role}"


class SupplierReturn(models.Model):
    """Goods sent back to the supplier, and whether he is to send others in their place.

    Where they are to be replaced the line is open again for so much. One taken back keeps its row; its posting is
    reversed.
    """

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="returns")
    line = models.ForeignKey(
        PurchaseOrderLine, on_delete=models.PROTECT, null=True, blank=True, related_name="returns"
    )
    posting = models.OneToOneField(Posting, on_delete=models.PROTECT, related_name="supplier_return")
    quantity = models.DecimalField(max_digits=14, decimal_places=4)
    is_replaced = models.BooleanField(
        default=False, help_text="The supplier is to send others in their place."
    )

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="supplier_return_above_zero"),
            models.CheckConstraint(
                condition=Q(is_replaced=False) | Q(line__isnull=False),
                name="supplier_return_replaces_on_a_line",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} back to {self.supplier_id}"
