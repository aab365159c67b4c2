"""Rows of the ratings: markets and their rules by issue, what bought parts are rated for, and each model's frame."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from bom.catalogue.models import TrailerModel
from bom.items.models import Item
from bom.ratings.rules import SUBJECTS


class Market(models.Model):
    """Where a trailer will be registered: whose rules it is held against."""

    code = models.CharField(max_length=8, unique=True)
    name = models.CharField(max_length=80)
    is_default = models.BooleanField(default=False, help_text="Taken where an order names no market.")

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(
                fields=["is_default"],
                condition=Q(is_default=True),
                name="market_one_default",
                violation_error_message="Another market is the default already.",
            )
        ]

    def __str__(self) -> str:
        return self.code


class RuleIssue(models.Model):
    """One issue of the rule book. Every change makes the next; rows of earlier issues are never changed."""

    number = models.PositiveIntegerField(unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    why = models.CharField(max_length=200)

    class Meta:
        ordering = ["-number"]

    def __str__(self) -> str:
        return f"issue {self.number}"


class RuleRow(models.Model):
    """What a market asks for on one subject, from a day on. Written once by `bom.ratings.rulebook`, never changed.

    A rating names the issue it was worked out by; with the day that gives back exactly the rules it used. `verified_by`
    says who has read the official text; without a name the figure is not verified, and every page says so.
    """

    class Bite(models.TextChoices):
        NONE = "", "a limit or a figure"
        OVER = "over", "over the figure; equal is still let off"
        FROM = "from", "from the figure on; equal counts"

    issue = models.ForeignKey(RuleIssue, on_delete=models.PROTECT, related_name="rows")
    market = models.ForeignKey(Market, on_delete=models.PROTECT, related_name="rules")
    subject = models.CharField(
        max_length=30, choices=[(subject.code, subject.name) for subject in SUBJECTS.values()]
    )
    value = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)
    word = models.CharField(max_length=20, blank=True)
    edge = models.CharField(max_length=4, choices=Bite, default=Bite.NONE, blank=True)
    clause = models.CharField(max_length=160)
    source = models.CharField(max_length=200)
    valid_from = models.DateField()
    is_withdrawn = models.BooleanField(default=False)
    verified_on = models.DateField(null=True, blank=True)
    verified_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["market", "subject", "-issue"]
        permissions = [("change_rules", "May change the rules of ratings")]
        constraints = [
            models.UniqueConstraint(fields=["issue", "market", "subject"], name="rule_once_an_issue"),
            models.CheckConstraint(
                condition=Q(value__isnull=False) | ~Q(word="") | Q(is_withdrawn=True),
                name="rule_has_an_answer",
                violation_error_message="A rule needs a figure or a word.",
            ),
            models.CheckConstraint(
                condition=Q(verified_on__isnull=True, verified_by__isnull=True)
                | Q(verified_on__isnull=False, verified_by__isnull=False),
                name="rule_verified_by_somebody",
                violation_error_message="Say who verified it and when, or neither.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.market_id} {self.subject}"


class ComponentRating(models.Model):
    """What the maker of a bought part rates it for: an axle, a wheel, a tyre or a coupling."""

    class Kind(models.TextChoices):
        AXLE = "axle", "axle"
        WHEEL = "wheel", "wheel"
        TYRE = "tyre", "tyre"
        COUPLING = "coupling", "coupling"

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="rating")
    kind = models.CharField(max_length=8, choices=Kind)
    capacity_kg = models.PositiveIntegerField(
        null=True,
        blank=True,
        help_text="Axle or wheel: mass it carries. Coupling: maximum mass of the trailer.",
    )
    is_braked = models.BooleanField(
        default=False, help_text="Axle: it has brakes. Coupling: it works overrun brakes."
    )
    load_index = models.PositiveSmallIntegerField(null=True, blank=True)
    speed_symbol = models.CharField(max_length=2, blank=True)
    dc_kn = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    s_kg = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["kind", "item"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind__in=["axle", "wheel"]) | Q(capacity_kg__isnull=False, capacity_kg__gt=0),
                name="rating_axle_has_capacity",
                violation_error_message="An axle or a wheel needs the mass it carries.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="tyre") | Q(load_index__isnull=False),
                name="rating_tyre_has_index",
                violation_error_message="A tyre needs its load index.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item_id} {self.kind}"


class ItemDuty(models.Model):
    """What a part is for in the eyes of a rule: a front lamp, a breakaway cable. A piece may have several."""

    class Duty(models.TextChoices):
        FRONT_LAMP = "front_lamp", "front position lamp"
        OUTLINE_LAMP = "outline_lamp", "end-outline marker lamp"
        SIDE_LAMP = "side_lamp", "side marker lamp"
        REAR_LAMP = "rear_lamp", "rear position, stop and direction lamp"
        FOG_LAMP = "fog_lamp", "rear fog lamp"
        REVERSING_LAMP = "reversing_lamp", "reversing lamp"
        PLATE_LAMP = "plate_lamp", "number plate lamp"
        TRIANGLE = "triangle", "rear reflector, triangle"
        SIDE_REFLECTOR = "side_reflector", "side reflector"
        FRONT_REFLECTOR = "front_reflector", "front reflector"
        BOARD = "board", "removable light board"
        BREAKAWAY = "breakaway", "breakaway cable"
        SECONDARY = "secondary", "secondary coupling"

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="duties")
    duty = models.CharField(max_length=16, choices=Duty)
    count = models.PositiveSmallIntegerField(default=1, help_text="How many one piece counts for.")

    class Meta:
        ordering = ["item", "duty"]
        verbose_name_plural = "item duties"
        constraints = [models.UniqueConstraint(fields=["item", "duty"], name="duty_once_an_item")]

    def __str__(self) -> str:
        return f"{self.item_id} {self.duty}"


class ModelFrame(models.Model):
    """Where things may stand on a model. Lengths in mm behind the centre of the coupling.

    `body_at_mm` is the centre of gravity of the trailer without axles and wheels; the bow touches its stop
    `bow_behind_post_mm` behind the winch post.
    """

    class Springs(models.TextChoices):
        SINGLE = "single", "one axle"
        APART = "apart", "each axle on rubber of its own"
        LINKED = "linked", "two axles on linked springs"

    model = models.OneToOneField(TrailerModel, on_delete=models.CASCADE, related_name="frame")
    springs = models.CharField(max_length=8, choices=Springs, default=Springs.SINGLE)
    spread_mm = models.PositiveIntegerField(default=0, help_text="Between the axles of a twin set.")
    drawbar_mm = models.PositiveIntegerField()
    body_at_mm = models.PositiveIntegerField()
    axle_from_mm = models.PositiveIntegerField()
    axle_to_mm = models.PositiveIntegerField()
    post_from_mm = models.PositiveIntegerField()
    post_to_mm = models.PositiveIntegerField()
    bow_behind_post_mm = models.PositiveIntegerField(default=150)
    front_support_from_mm = models.PositiveIntegerField()
    rear_support_mm = models.PositiveIntegerField()
    transom_before_mm = models.PositiveIntegerField(default=0)
    transom_beyond_mm = models.PositiveIntegerField(default=0)
    is_measured = models.BooleanField(default=False, help_text="Centre of gravity weighed, not estimated.")

    class Meta:
        ordering = ["model"]
        constraints = [
            models.CheckConstraint(
                condition=Q(axle_from_mm__lte=models.F("axle_to_mm"), axle_from_mm__gt=0),
                name="frame_axle_slots",
                violation_error_message="The axle slots end before they begin.",
            ),
            models.CheckConstraint(
                condition=Q(post_from_mm__lte=models.F("post_to_mm")),
                name="frame_post_range",
                violation_error_message="The range of the winch post ends before it begins.",
            ),
            models.CheckConstraint(
                condition=Q(springs="single", spread_mm=0) | (~Q(springs="single") & Q(spread_mm__gt=0)),
                name="frame_twin_has_spread",
                violation_error_message="Two axles need their distance; one axle has none.",
            ),
        ]

    def __str__(self) -> str:
        return f"frame of {self.model_id}"
