"""The catalogue: trailer models, the options each offers, the rules between options, and named variants."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from bom.items.models import Colour, Item


class Finish(models.TextChoices):
    """What is done to the welded chassis. A model states which of these it permits."""

    GALVANISED = "galvanised", "hot-dip galvanised"
    DUPLEX = "duplex", "galvanised and powder coated"
    PAINTED = "painted", "blasted and powder coated"


class TrailerModel(models.Model):
    """A model of the range. `item` is the made item whose bill is expanded for an order of this model."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="trailer_model")
    max_mass_kg = models.PositiveIntegerField()
    axles = models.PositiveSmallIntegerField(default=1)
    braked = models.BooleanField(default=False)
    own_mass_kg = models.PositiveIntegerField(help_text="Mass of the standard trailer without load.")
    length_mm = models.PositiveIntegerField()
    width_mm = models.PositiveIntegerField()
    hull_length_min_mm = models.PositiveIntegerField()
    hull_length_max_mm = models.PositiveIntegerField()
    base_price = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["max_mass_kg", "code"]
        permissions = [("import_range", "May bring options and prices in from a file")]
        constraints = [
            models.CheckConstraint(
                condition=Q(hull_length_min_mm__lte=models.F("hull_length_max_mm")),
                name="model_hull_length_range",
                violation_error_message="The shortest hull cannot be longer than the longest.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class ModelFinish(models.Model):
    """A finish that a model permits, and what it adds to the price."""

    model = models.ForeignKey(TrailerModel, on_delete=models.CASCADE, related_name="finishes")
    finish = models.CharField(max_length=12, choices=Finish)
    price = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))

    class Meta:
        ordering = ["model", "finish"]
        constraints = [models.UniqueConstraint(fields=["model", "finish"], name="finish_once_a_model")]

    def __str__(self) -> str:
        return self.get_finish_display()


class OptionGroup(models.Model):
    """A question put to the customer: which winch, which supports, which lights."""

    code = models.SlugField(max_length=30, unique=True)
    name = models.CharField(max_length=80)
    sequence = models.PositiveSmallIntegerField(default=0)
    is_required = models.BooleanField(default=True)

    class Meta:
        ordering = ["sequence", "code"]

    def __str__(self) -> str:
        return self.name


class OptionChoice(models.Model):
    """One answer to an option group's question."""

    group = models.ForeignKey(OptionGroup, on_delete=models.CASCADE, related_name="choices")
    code = models.SlugField(max_length=30)
    name = models.CharField(max_length=80)
    sequence = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["group", "sequence", "code"]
        constraints = [models.UniqueConstraint(fields=["group", "code"], name="choice_code_once_a_group")]

    def __str__(self) -> str:
        return self.name


class ModelOption(models.Model):
    """A choice that a model offers, its price on that model, and whether it is the standard one."""

    model = models.ForeignKey(TrailerModel, on_delete=models.CASCADE, related_name="options")
    choice = models.ForeignKey(OptionChoice, on_delete=models.CASCADE, related_name="offers")
    is_default = models.BooleanField(default=False)
    price = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))

    class Meta:
        ordering = ["model", "choice"]
        constraints = [models.UniqueConstraint(fields=["model", "choice"], name="choice_once_a_model")]

    def __str__(self) -> str:
        return f"{self.model.code}: {self.choice.name}"


class OptionRule(models.Model):
    """A rule between choices: whenever `when` holds, `then` must hold; else the order is refused with `sentence`.

    Both are CEL conditions over option, colour, finish, model and hull. No model means every model.
    """

    model = models.ForeignKey(
        TrailerModel, on_delete=models.CASCADE, null=True, blank=True, related_name="rules"
    )
    when = models.CharField(max_length=300)
    then = models.CharField(max_length=300)
    sentence = models.CharField(max_length=200, help_text="Why it is so, said to the order desk.")

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return self.sentence


class Variant(models.Model):
    """One version of a repeat customer's named set of choices on a model.

    A version is never changed; `production.orders.variants` makes the next, which is then the current one. Orders
    keep the version they were made with. The agreed `price` covers the set as it stands: what an order changes is
    charged or credited at the model's list prices (see `bom.catalogue.configuring.price_lines`).
    """

    code = models.SlugField(max_length=40)
    version = models.PositiveSmallIntegerField(default=1)
    is_current = models.BooleanField(default=True)
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    note = models.CharField(max_length=200, blank=True, help_text="What this version changed, and why.")
    name = models.CharField(max_length=120)
    model = models.ForeignKey(TrailerModel, on_delete=models.PROTECT, related_name="variants")
    finish = models.CharField(max_length=12, choices=Finish)
    price = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)

    class Meta:
        ordering = ["code", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["code", "version"], name="variant_version_once"),
            models.UniqueConstraint(
                fields=["code"],
                condition=Q(is_current=True),
                name="variant_one_current",
                violation_error_message="Another version of this variant is the current one.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def key(self) -> str:
        """How forms name it: the code, with its version where a newer one has taken its place."""
        return self.code if self.is_current else f"{self.code}.{self.version}"


class VariantChoice(models.Model):
    """A choice fixed by a variant."""

    variant = models.ForeignKey(Variant, on_delete=models.CASCADE, related_name="choices")
    choice = models.ForeignKey(OptionChoice, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["variant", "choice"]
        constraints = [models.UniqueConstraint(fields=["variant", "choice"], name="choice_once_a_variant")]

    def __str__(self) -> str:
        return self.choice.name


class ColourPlace(models.TextChoices):
    """Where an order may ask for a colour."""

    PORT = "port", "rollers, port"
    STARBOARD = "starboard", "rollers, starboard"
    POWDER = "powder", "powder coat"


class VariantColour(models.Model):
    """A colour fixed by a variant."""

    variant = models.ForeignKey(Variant, on_delete=models.CASCADE, related_name="colours")
    place = models.CharField(max_length=10, choices=ColourPlace)
    colour = models.ForeignKey(Colour, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["variant", "place"]
        constraints = [models.UniqueConstraint(fields=["variant", "place"], name="place_once_a_variant")]

    def __str__(self) -> str:
        return f"{self.get_place_display()}: {self.colour.name}"
