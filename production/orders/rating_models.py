"""What was rated and set up for an order, each time it was, and the vehicle that is to tow it."""

from decimal import Decimal

from django.conf import settings
from django.db import models

from production.orders.models import Order


class TowingVehicle(models.Model):
    """What will pull the trailer, as far as its limits are known. Masses in kg from its papers; none where unknown."""

    order = models.OneToOneField(Order, on_delete=models.CASCADE, related_name="vehicle")
    name = models.CharField(max_length=80)
    max_mass_kg = models.PositiveIntegerField(null=True, blank=True)
    unladen_kg = models.PositiveIntegerField(null=True, blank=True)
    braked_kg = models.PositiveIntegerField(null=True, blank=True)
    unbraked_kg = models.PositiveIntegerField(null=True, blank=True)
    nose_kg = models.PositiveIntegerField(null=True, blank=True)
    train_kg = models.PositiveIntegerField(null=True, blank=True)
    d_kn = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)

    class Meta:
        ordering = ["order"]

    def __str__(self) -> str:
        return self.name


class RatingRecord(models.Model):
    """One rating of an order as it was worked out: by which rules, when, with what outcome. Kept, never changed.

    Confirming an order writes the first; working it out again (a towing vehicle became known, the nose was weighed)
    writes the next. `rule_issue` and `rules_on` give back exactly the rules it was held against. `note` is what the
    person wrote who let an order go on although something was not met.
    """

    class Outcome(models.TextChoices):
        MET = "met", "met"
        NOT_MET = "not met", "not met"
        PERSON = "needs a person", "needs a person"

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="ratings")
    number = models.PositiveSmallIntegerField()
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    reason = models.CharField(max_length=200)
    market = models.CharField(max_length=8, blank=True)
    rule_issue = models.PositiveIntegerField(default=0)
    rules_on = models.DateField()
    own_kg = models.DecimalField(max_digits=9, decimal_places=3)
    overall = models.CharField(max_length=16, choices=Outcome)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["order", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["order", "number"], name="rating_number_once_an_order")
        ]

    def __str__(self) -> str:
        return f"rating {self.number} of {self.order_id}"


class RatingResult(models.Model):
    """One check of a rating, in the words in which it was said; `margin` is the share of the limit that is left."""

    rating = models.ForeignKey(RatingRecord, on_delete=models.CASCADE, related_name="results")
    sequence = models.PositiveSmallIntegerField()
    code = models.CharField(max_length=20)
    name = models.CharField(max_length=80)
    outcome = models.CharField(max_length=16, choices=RatingRecord.Outcome)
    says = models.CharField(max_length=400)
    working = models.CharField(max_length=400, blank=True)
    margin = models.DecimalField(max_digits=8, decimal_places=4, null=True, blank=True)
    clauses = models.CharField(max_length=400, blank=True)
    is_verified = models.BooleanField(
        default=False, help_text="Every rule it rests on was verified by a person."
    )

    class Meta:
        ordering = ["rating", "sequence"]
        constraints = [models.UniqueConstraint(fields=["rating", "sequence"], name="result_once_a_rating")]

    def __str__(self) -> str:
        return f"{self.name}: {self.outcome}"


def _mm(**kwargs: object) -> "models.DecimalField[Decimal, Decimal]":
    return models.DecimalField(max_digits=8, decimal_places=1, **kwargs)  # type: ignore[arg-type]


def _kg(**kwargs: object) -> "models.DecimalField[Decimal, Decimal]":
    return models.DecimalField(max_digits=9, decimal_places=3, **kwargs)  # type: ignore[arg-type]


class SetUpRecord(models.Model):
    """The set-up that belongs to a rating: every figure put in, and where everything goes. Kept, never changed.

    The names are those of `bom.ratings.frame`: what was put in (`HullFigures`, `Frame`, `Aim`) gives the working again
    at any time, to the same figures; the results stand here so that others can read and print them.
    """

    rating = models.OneToOneField(RatingRecord, on_delete=models.CASCADE, related_name="set_up")
    hull_kg = _kg()
    hull_length_mm = _mm()
    bow_to_transom_mm = _mm()
    centre_mm = _mm(help_text="Hull's centre of gravity, forward from the transom.")
    centre_is = models.CharField(max_length=10)
    gear_kg = _kg()
    gear_at_mm = _mm()
    body_kg = _kg()
    body_at_mm = _mm()
    running_gear_kg = _kg()
    axle_from_mm = _mm()
    axle_to_mm = _mm()
    post_from_mm = _mm()
    post_to_mm = _mm()
    bow_behind_post_mm = _mm()
    rear_support_mm = _mm()
    front_support_from_mm = _mm()
    spread_mm = _mm()
    shares_equally = models.BooleanField()
    transom_before_mm = _mm()
    transom_beyond_mm = _mm()
    step_mm = _mm()
    length_mm = _mm(help_text="The trailer's, from the coupling.")
    drawbar_mm = _mm()
    wanted_share = models.DecimalField(max_digits=6, decimal_places=4)
    rear_share = models.DecimalField(max_digits=6, decimal_places=4)
    wanted_kg = models.DecimalField(
        max_digits=9, decimal_places=3, null=True, blank=True, help_text="Nose load wanted outright."
    )

    axle_mm = _mm()
    post_mm = _mm()
    transom_mm = _mm()
    front_support_mm = _mm()
    laden_kg = _kg()
    nose_kg = _kg()
    front_axle_kg = _kg()
    rear_axle_kg = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    is_wanted_met = models.BooleanField()

    class Meta:
        ordering = ["rating"]

    def __str__(self) -> str:
        return f"set-up of {self.rating_id}"
