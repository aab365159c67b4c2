"""The as-built record: sources, the rows of a trailer, its seal and its owners."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Coalesce

from bom.items.models import Item
from inventory.buying.models import Supplier
from inventory.stock.models import Lot
from production.dispatch.models.kept import Kept, person_key
from production.orders.models import Order


class Source(models.Model):
    """What something on a trailer came from: a lot, a serial number, a cast of steel, a lorry load, a powder batch.

    Lots of the stores have their source from the day a trailer with them leaves (`lot`); serial numbers that were only
    read off a part have one of their own.
    """

    class Kind(models.TextChoices):
        LOT = "lot", "lot"
        SERIAL = "serial", "serial number"
        CAST = "cast", "steel cast"
        LOAD = "load", "galvanising load"
        POWDER = "powder", "powder batch"

    kind = models.CharField(max_length=8, choices=Kind)
    code = models.CharField(max_length=60, db_index=True)
    item = models.ForeignKey(
        Item, on_delete=models.PROTECT, null=True, blank=True, related_name="built_sources"
    )
    lot = models.OneToOneField(
        Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="built_source"
    )
    supplier = models.ForeignKey(
        Supplier, on_delete=models.PROTECT, null=True, blank=True, related_name="built_sources"
    )

    class Meta:
        ordering = ["code", "pk"]
        constraints = [
            models.UniqueConstraint("kind", "code", Coalesce("item", 0), name="source_once_a_kind_and_item")
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.code}"


class Origin(Kept):
    """That `source` was made from `made_from`: a bar from a cast, a part's lot from a sheet's lot."""

    source = models.ForeignKey(Source, on_delete=models.PROTECT, related_name="origins")
    made_from = models.ForeignKey(Source, on_delete=models.PROTECT, related_name="became")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["source", "made_from"], name="origin_once"),
            models.CheckConstraint(condition=~Q(source=F("made_from")), name="origin_is_another"),
        ]

    def __str__(self) -> str:
        return f"{self.source_id} from {self.made_from_id}"


class BuiltRow(Kept):
    """One line of a trailer's as-built record, written until the trailer leaves and never changed.

    What the guard misses: on SQLite whoever opens the file can change it; the seals then no longer agree, and the
    record's page says so.
    """

    class Kind(models.TextChoices):
        PART = "part", "part"
        COATED = "coated", "coated"
        PERSON = "person", "person"
        MEASURED = "measured", "measured"
        DOCUMENT = "document", "document"

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="built_rows")
    kind = models.CharField(max_length=8, choices=Kind)
    item = models.ForeignKey(
        Item, on_delete=models.PROTECT, null=True, blank=True, related_name="+", db_index=False
    )
    source = models.ForeignKey(
        Source, on_delete=models.PROTECT, null=True, blank=True, related_name="built_rows", db_index=False
    )
    quantity = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    words = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        db_index=False,
    )
    at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["order", "pk"]
        indexes = [
            models.Index(fields=["source", "order"], name="built_source_order"),
            # Holds all that a part's or supplier's rate of claims asks, so that the rows themselves are not read.
            models.Index(fields=["item", "kind", "source", "quantity"], name="built_item_whole"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.words}"


class Seal(Kept):
    """The as-built record of a trailer is closed. Each seal holds a digest of its rows and of the seal before it."""

    order = models.OneToOneField(Order, on_delete=models.PROTECT, related_name="seal")
    number = models.PositiveIntegerField(unique=True)
    rows = models.PositiveIntegerField()
    previous = models.CharField(max_length=64, blank=True)
    digest = models.CharField(max_length=64, unique=True)
    by = person_key()
    at = models.DateTimeField()

    class Meta:
        ordering = ["number"]

    def __str__(self) -> str:
        return f"seal {self.number}"


class Owner(Kept):
    """Who has the trailer now, where that is not who ordered it; the last row counts."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="owners")
    name = models.CharField(max_length=120)
    contact = models.CharField(max_length=200, blank=True)
    since = models.DateField()
    by = person_key()

    class Meta:
        ordering = ["order", "pk"]

    def __str__(self) -> str:
        return self.name
