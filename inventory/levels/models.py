"""Shelf levels: when to buy again and how much, on what evidence, and who decided."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import Q

from bom.items.models import Item
from bom.kernel.runs import Run

WEEKS_A_YEAR = 52


class ItemLevel(models.Model):
    """The reorder level of an item, with the figures it was worked out from (see `inventory.levels.arithmetic`).

    A manual level is set by a person and is left alone when levels are worked out again. The figures beside the
    level are always the latest; where they lead to another level than the one in force, a `LevelProposal` waits.
    Order cost and keeping rate are the item's own, or none: then those of `LevelRules` hold.
    """

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="level")
    reorder_point = models.DecimalField(max_digits=14, decimal_places=4, default=Decimal(0))
    is_manual = models.BooleanField(default=False)
    service_level = models.DecimalField(
        max_digits=5,
        decimal_places=4,
        default=Decimal("0.95"),
        help_text="Chance of not running out, 0 to 1.",
    )
    daily_mean = models.DecimalField(max_digits=14, decimal_places=6, default=Decimal(0))
    daily_deviation = models.DecimalField(max_digits=14, decimal_places=6, default=Decimal(0))
    yearly_use = models.DecimalField(max_digits=14, decimal_places=4, default=Decimal(0))
    days_seen = models.PositiveIntegerField(default=0)
    weeks_seen = models.PositiveIntegerField(
        default=0, help_text="Whole weeks the deviation comes from; 0 where it comes from single days."
    )
    method = models.CharField(
        max_length=30, blank=True, help_text="The forecast the mean comes from; empty for the history's mean."
    )
    is_counted = models.BooleanField(default=False, help_text="So few are used that they are counted.")
    lead_days = models.DecimalField(max_digits=7, decimal_places=2, default=Decimal(0))
    lead_deviation_days = models.DecimalField(max_digits=7, decimal_places=2, default=Decimal(0))
    deliveries_seen = models.PositiveIntegerField(default=0)
    lead_ends_on = models.DateField(
        null=True, blank=True, help_text="When what was ordered on the day of working out would come."
    )
    order_cost = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    holding_rate = models.DecimalField(max_digits=5, decimal_places=4, null=True, blank=True)
    worked_out_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["item"]
        permissions = [("settle_levels", "May set levels, accept them and put demand back")]
        constraints = [
            models.CheckConstraint(
                condition=Q(service_level__gt=0) & Q(service_level__lt=1),
                name="level_service_between_0_and_1",
                violation_error_message="A service level lies between 0 and 1, e.g. 0.95.",
            ),
            models.CheckConstraint(
                condition=(Q(order_cost__isnull=True) | Q(order_cost__gte=0))
                & (Q(holding_rate__isnull=True) | Q(holding_rate__gt=0)),
                name="level_costs_make_sense",
                violation_error_message="An order costs nothing or more; keeping stock costs more than nothing.",
            ),
        ]

    def __str__(self) -> str:
        return f"reorder level of {self.item_id}"

    @property
    def weekly_use(self) -> Decimal:
        """Use of a week, holidays and all."""
        return self.yearly_use / WEEKS_A_YEAR


class LevelRules(models.Model):
    """The rules that hold for all items: one row. The figures are common practice, no source; change them here."""

    a_share = models.DecimalField(max_digits=4, decimal_places=3, default=Decimal("0.80"))
    b_share = models.DecimalField(max_digits=4, decimal_places=3, default=Decimal("0.95"))
    order_cost = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal("18.00"))
    holding_rate = models.DecimalField(max_digits=5, decimal_places=4, default=Decimal("0.2500"))
    propose_share = models.DecimalField(max_digits=4, decimal_places=3, default=Decimal("0.100"))
    slow_days = models.PositiveSmallIntegerField(default=90)
    dead_days = models.PositiveSmallIntegerField(default=180)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(id=1), name="level_rules_one_row"),
            models.CheckConstraint(
                condition=Q(a_share__gt=0) & Q(a_share__lte=models.F("b_share")) & Q(b_share__lte=1),
                name="level_rules_cuts_rise",
                violation_error_message="The cuts rise: A above 0, B at least A and at most 1.",
            ),
            models.CheckConstraint(
                condition=Q(order_cost__gte=0) & Q(holding_rate__gt=0) & Q(propose_share__gte=0),
                name="level_rules_costs",
                violation_error_message="An order costs nothing or more; keeping stock costs more than nothing.",
            ),
            models.CheckConstraint(
                condition=Q(slow_days__gt=0) & Q(slow_days__lte=models.F("dead_days")),
                name="level_rules_idle_days_rise",
                violation_error_message="Stock is slow before it is dead.",
            ),
        ]

    def __str__(self) -> str:
        return "rules of the levels"

    @classmethod
    def current(cls) -> LevelRules:
        """The rules in force; the usual ones where nobody has changed any."""
        return cls.objects.filter(pk=1).first() or cls(pk=1)


class LevelRun(Run):
    """One working out of all levels, classes and forecasts in the background."""

    today = models.DateField()
    items_seen = models.PositiveIntegerField(default=0)
    forecasts_made = models.PositiveIntegerField(default=0)
    proposals_made = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"levels of {self.today}"


class DemandOneOff(models.Model):
    """A week of an item's use that is not counted as it was, with the reason. A person may put it back."""

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="one_offs")
    week = models.DateField(help_text="The Monday.")
    quantity = models.DecimalField(max_digits=14, decimal_places=4)
    instead = models.DecimalField(max_digits=14, decimal_places=4)
    reason = models.CharField(max_length=200)
    is_put_back = models.BooleanField(default=False)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    decided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["item", "week"]
        constraints = [models.UniqueConstraint(fields=["item", "week"], name="one_off_once_a_week")]

    def __str__(self) -> str:
        return f"{self.item_id}, week of {self.week}"


class ItemClass(models.Model):
    """An item's class by yearly value and by regularity of use, with the figures and the day they were computed."""

    class Value(models.TextChoices):
        A = "A", "A"
        B = "B", "B"
        C = "C", "C"

    class Regularity(models.TextChoices):
        SMOOTH = "smooth", "smooth"
        INTERMITTENT = "intermittent", "intermittent"
        ERRATIC = "erratic", "erratic"
        LUMPY = "lumpy", "lumpy"
        UNUSED = "unused", "unused"

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="demand_class")
    value_class = models.CharField(max_length=1, choices=Value)
    rank = models.PositiveIntegerField()
    share = models.DecimalField(
        max_digits=7, decimal_places=6, help_text="Of the yearly value, with all dearer ones."
    )
    yearly_use = models.DecimalField(max_digits=14, decimal_places=4)
    unit_cost = models.DecimalField(max_digits=14, decimal_places=4)
    cost_basis = models.CharField(max_length=40, blank=True)
    yearly_value = models.DecimalField(max_digits=16, decimal_places=2)
    regularity = models.CharField(max_length=12, choices=Regularity)
    interval_weeks = models.DecimalField(max_digits=8, decimal_places=3)
    spread = models.DecimalField(max_digits=10, decimal_places=4)
    weeks_seen = models.PositiveIntegerField()
    computed_on = models.DateField()

    class Meta:
        ordering = ["rank"]

    def __str__(self) -> str:
        return f"{self.item_id}: {self.value_class}, {self.regularity}"


class Forecast(models.Model):
    """How much of an item the coming weeks will use, by the method that did best, and where it is used.

    `error` is the mean absolute error of a week over rolling origins, `naive_error` that of the naive forecast over
    the same, `scaled` the error over the naive error in the training weeks. Made for items whose orders do not
    reach past the lead time.
    """

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="forecast")
    method = models.CharField(max_length=30)
    weekly_mean = models.DecimalField(max_digits=14, decimal_places=4)
    weekly_deviation = models.DecimalField(
        max_digits=14, decimal_places=4, help_text="Root of the mean squared error of a week."
    )
    error = models.DecimalField(max_digits=14, decimal_places=4)
    naive_error = models.DecimalField(max_digits=14, decimal_places=4)
    scaled = models.DecimalField(max_digits=10, decimal_places=4, null=True)
    origins = models.PositiveSmallIntegerField()
    horizon_weeks = models.PositiveSmallIntegerField()
    weeks_seen = models.PositiveSmallIntegerField()
    orders_reach_on = models.DateField(null=True)
    computed_on = models.DateField()

    class Meta:
        ordering = ["item"]

    def __str__(self) -> str:
        return f"{self.item_id} by {self.method}"

    @property
    def better_by(self) -> Decimal:
        """Share of the naive error that the method saves, 0 to 1."""
        return 1 - self.error / self.naive_error if self.naive_error else Decimal(0)


class ForecastTrial(models.Model):
    """How one method did in the trial."""

    forecast = models.ForeignKey(Forecast, on_delete=models.CASCADE, related_name="trials")
    method = models.CharField(max_length=30)
    error = models.DecimalField(max_digits=14, decimal_places=4)
    scaled = models.DecimalField(max_digits=10, decimal_places=4, null=True)

    class Meta:
        ordering = ["forecast", "error", "method"]
        constraints = [
            models.UniqueConstraint(fields=["forecast", "method"], name="forecast_method_tried_once")
        ]

    def __str__(self) -> str:
        return self.method


class ForecastWeek(models.Model):
    """The use forecast for one coming week."""

    forecast = models.ForeignKey(Forecast, on_delete=models.CASCADE, related_name="weeks")
    week = models.DateField(help_text="The Monday.")
    quantity = models.DecimalField(max_digits=14, decimal_places=4)

    class Meta:
        ordering = ["forecast", "week"]
        constraints = [models.UniqueConstraint(fields=["forecast", "week"], name="forecast_week_once")]

    def __str__(self) -> str:
        return f"{self.quantity} in the week of {self.week}"


class LevelProposal(models.Model):
    """Another reorder level for an item, worked out from later figures: accepted, kept as it was, or undone."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        ACCEPTED = "accepted", "accepted"
        KEPT = "kept", "kept as it was"
        OVERTAKEN = "overtaken", "overtaken by a later one"

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="level_proposals")
    made_on = models.DateField()
    in_force = models.DecimalField(max_digits=14, decimal_places=4)
    proposed = models.DecimalField(max_digits=14, decimal_places=4)
    was_manual = models.BooleanField(default=False)
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    decided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_on", "item"]
        constraints = [
            models.UniqueConstraint(
                fields=["item"], condition=Q(state="waiting"), name="level_proposal_one_waiting"
            )
        ]

    def __str__(self) -> str:
        return f"{self.in_force} → {self.proposed} of {self.item_id}"

    @property
    def change(self) -> Decimal:
        return self.proposed - self.in_force

    @property
    def fall(self) -> Decimal:
        """By how much the level would fall."""
        return self.in_force - self.proposed
