"""Items: everything that has a code, is bought or made, and may lie on a shelf."""

from decimal import Decimal

from django.db import models
from django.db.models import Q
from django.db.models.functions import Coalesce


class Colour(models.Model):
    """A colour that rollers or powder come in.

    `lightness` (0 dark to 100 light) orders powder batches: going from light to dark needs the shorter clean.
    """

    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=40)
    swatch = models.CharField(max_length=7, help_text="How it is drawn on screen, as #rrggbb.")
    lightness = models.PositiveSmallIntegerField(default=50)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Family(models.Model):
    """Items that differ only in colour or hand, so that a bill line can ask for "this roller in that colour"."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)

    class Meta:
        ordering = ["code"]
        verbose_name_plural = "families"

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class Item(models.Model):
    """One kind of thing: its identity, unit, physical figures and the rules by which it is planned.

    Stock quantities of the item everywhere are in its `unit`. Sections are kept in metres, sheets in pieces.
    """

    class Kind(models.TextChoices):
        BOUGHT = "bought", "bought"
        MADE = "made", "made"
        SHEET = "sheet", "raw sheet"
        SECTION = "section", "raw section"

    class Unit(models.TextChoices):
        PIECE = "pc", "piece"
        METRE = "m", "metre"
        KILOGRAM = "kg", "kilogram"
        LITRE = "l", "litre"
        SET = "set", "set"

    class Hand(models.TextChoices):
        NONE = "", "either"
        LEFT = "L", "left"
        RIGHT = "R", "right"

    class LotRule(models.TextChoices):
        AS_NEEDED = "as_needed", "as needed"
        FIXED = "fixed", "fixed quantity"
        MULTIPLE = "multiple", "multiple of pack"
        MINIMUM = "minimum", "at least"
        PERIODS = "periods", "days of need together"
        ECONOMIC = "economic", "economic quantity"
        LEAST_AVERAGE = "least_average", "least average cost"
        LEAST_TOTAL = "least_total", "least total cost"

    class Tracking(models.TextChoices):
        NONE = "none", "counted only"
        LOT = "lot", "by lot or cast"
        SERIAL = "serial", "by serial number"

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=Kind)
    unit = models.CharField(max_length=4, choices=Unit, default=Unit.PIECE)
    family = models.ForeignKey(Family, on_delete=models.PROTECT, null=True, blank=True, related_name="items")
    colour = models.ForeignKey(Colour, on_delete=models.PROTECT, null=True, blank=True, related_name="items")
    hand = models.CharField(max_length=1, choices=Hand, default=Hand.NONE, blank=True)
    group = models.CharField(
        max_length=40, blank=True, help_text="What stores call it: rollers, axles, fixings …"
    )

    mass_kg = models.DecimalField(max_digits=12, decimal_places=4, default=Decimal(0))
    surface_m2 = models.DecimalField(max_digits=12, decimal_places=5, default=Decimal(0))
    grade = models.CharField(max_length=20, blank=True, help_text="Steel grade, e.g. S355.")
    thickness_mm = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    length_mm = models.DecimalField(max_digits=10, decimal_places=1, null=True, blank=True)
    width_mm = models.DecimalField(max_digits=10, decimal_places=1, null=True, blank=True)
    is_hollow = models.BooleanField(default=False, help_text="Needs vent and drain holes before galvanising.")

    is_phantom = models.BooleanField(
        default=False, help_text="Never stocked: its parts go straight to what it is part of."
    )
    lead_days = models.PositiveSmallIntegerField(
        default=0, help_text="Working days to buy or to make one lot."
    )
    lot_rule = models.CharField(max_length=14, choices=LotRule, default=LotRule.AS_NEEDED)
    lot_size = models.DecimalField(max_digits=14, decimal_places=4, default=Decimal(0))
    safety_stock = models.DecimalField(max_digits=14, decimal_places=4, default=Decimal(0))
    tracking = models.CharField(max_length=6, choices=Tracking, default=Tracking.NONE)
    standard_cost = models.DecimalField(max_digits=12, decimal_places=4, default=Decimal(0))
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["code"]
        permissions = [("import_item", "May bring items in from a workbook")]
        constraints = [
            models.UniqueConstraint(
                "family",
                Coalesce("colour", 0),
                "hand",
                name="item_one_of_family_colour_hand",
                condition=Q(family__isnull=False),
                violation_error_message="This family already has an item of that colour and hand.",
            ),
            models.CheckConstraint(
                condition=Q(mass_kg__gte=0) & Q(surface_m2__gte=0) & Q(standard_cost__gte=0),
                name="item_figures_not_negative",
                violation_error_message="Mass, surface and cost cannot be negative.",
            ),
            models.CheckConstraint(
                condition=Q(lot_size__gte=0) & Q(safety_stock__gte=0),
                name="item_lot_not_negative",
                violation_error_message="Lot size and safety stock cannot be negative.",
            ),
            models.CheckConstraint(
                condition=~Q(lot_rule__in=["fixed", "multiple", "minimum", "periods"]) | Q(lot_size__gt=0),
                name="item_lot_rule_has_size",
                violation_error_message="This lot rule needs a lot size above zero.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="sheet")
                | (Q(thickness_mm__gt=0) & Q(length_mm__gt=0) & Q(width_mm__gt=0) & ~Q(grade="")),
                name="item_sheet_has_size",
                violation_error_message="A raw sheet needs a grade, thickness, length and width.",
            ),
        ]
        indexes = [models.Index(fields=["group", "code"], name="item_group_code")]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def is_made(self) -> bool:
        return self.kind == self.Kind.MADE


class ItemIdentifier(models.Model):
    """A number by which others know an item: a GTIN, a supplier's, a maker's or a former code.

    `holds` is how many stock units one thing with this number is: a box of ten has its own GTIN and holds 10.
    Written by `bom.items.identifying`, which checks the digits.
    """

    class Kind(models.TextChoices):
        GTIN = "gtin", "GTIN"
        SUPPLIER = "supplier", "supplier's code"
        MAKER = "maker", "maker's code"
        FORMER = "former", "former code of ours"

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="identifiers")
    kind = models.CharField(max_length=10, choices=Kind)
    code = models.CharField(max_length=60, help_text="A GTIN is kept with its 14 digits.")
    holds = models.DecimalField(max_digits=14, decimal_places=4, default=Decimal(1))

    class Meta:
        ordering = ["item", "kind", "code"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "code", "item"], name="identifier_once_an_item"),
            models.UniqueConstraint(
                fields=["code"],
                condition=Q(kind="gtin"),
                name="identifier_gtin_once",
                violation_error_message="This GTIN already belongs to an item.",
            ),
            models.CheckConstraint(
                condition=Q(holds__gt=0),
                name="identifier_holds_above_zero",
                violation_error_message="One thing with this number must hold more than nothing.",
            ),
        ]
        indexes = [models.Index(fields=["code"], name="identifier_code")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.code}"
