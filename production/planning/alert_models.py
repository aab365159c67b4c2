"""Alerts, what was news about them, what may be done, who silenced them, and who is mailed."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from bom.items.models import Item
from production.orders.models import Order
from production.planning.models import Suggestion


class AlertWatch(models.Model):
    """One row, locked by whoever looks for alerts, so that two never look at once; and when it was last done."""

    only = models.BooleanField(default=True, editable=False, unique=True)
    looked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(only=True), name="alert_watch_one_row")]

    def __str__(self) -> str:
        return f"looked at {self.looked_at}"


class Alert(models.Model):
    """Something that runs short: a shelf under its level, or a dated shortage that stops a named order.

    Written by `production.planning.alerting.watching` alone. One row lives from the first sighting until the
    trouble is gone; if it comes back, that is a new row. `quantity`, `needed_on` and `there_on` are as last seen;
    the `told_…` fields are the worst that was ever said of it, so that only what is worse than that is news.
    """

    class Kind(models.TextChoices):
        SHORTAGE = "shortage", "stops an order"
        SHELF = "shelf", "shelf under its level"

    kind = models.CharField(max_length=10, choices=Kind)
    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="alerts")
    order = models.ForeignKey(Order, on_delete=models.CASCADE, null=True, blank=True, related_name="alerts")
    first_seen = models.DateTimeField()
    last_seen = models.DateTimeField()
    gone_at = models.DateTimeField(null=True, blank=True)
    quantity = models.DecimalField(max_digits=14, decimal_places=4, help_text="Short by; of a shelf, to buy.")
    needed_on = models.DateField(null=True, blank=True, help_text="Of a shelf: the day it runs out.")
    there_on = models.DateField(null=True, blank=True)
    told_quantity = models.DecimalField(max_digits=14, decimal_places=4)
    told_needed_on = models.DateField(null=True, blank=True)
    told_there_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["kind", "needed_on", "item"]
        permissions = [
            ("silence_alert", "May silence an alert for a time"),
            ("set_digest", "May have a role's alerts mailed"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind="shelf", order__isnull=True) | Q(kind="shortage", order__isnull=False),
                name="alert_of_a_shelf_or_an_order",
            ),
            models.UniqueConstraint(
                fields=["item"], condition=Q(kind="shelf", gone_at__isnull=True), name="alert_shelf_open_once"
            ),
            models.UniqueConstraint(
                fields=["order", "item"],
                condition=Q(kind="shortage", gone_at__isnull=True),
                name="alert_shortage_open_once",
            ),
        ]
        indexes = [models.Index(fields=["gone_at", "kind", "needed_on"], name="alert_open")]

    def __str__(self) -> str:
        return f"{self.item_id} {self.kind}"

    @property
    def days_short(self) -> int:
        """Calendar days from the need to the day it is there; 0 where one of them is not known."""
        if self.needed_on is None or self.there_on is None:
            return 0
        return max(0, (self.there_on - self.needed_on).days)


class AlertNews(models.Model):
    """Why an alert is told (again): first seen, worse than ever told, or its silence is over. Read in order of id."""

    class Kind(models.TextChoices):
        NEW = "new", "new"
        WORSE_DATE = "date", "worse date"
        LARGER = "larger", "larger quantity"
        SILENCE_OVER = "again", "silence is over"

    alert = models.ForeignKey(Alert, on_delete=models.CASCADE, related_name="news")
    kind = models.CharField(max_length=10, choices=Kind)
    words = models.CharField(max_length=200)
    at = models.DateTimeField()

    class Meta:
        ordering = ["id"]
        verbose_name_plural = "alert news"

    def __str__(self) -> str:
        return self.words


class AlertAct(models.Model):
    """One thing that may be done about an alert, the most useful first. Worked out anew at every look."""

    class Kind(models.TextChoices):
        BUY = "buy", "buy"
        EXPEDITE = "expedite", "bring forward"
        MOVE = "move", "move from another order"
        SUBSTITUTE = "substitute", "use another part"

    alert = models.ForeignKey(Alert, on_delete=models.CASCADE, related_name="acts")
    rank = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=10, choices=Kind)
    words = models.CharField(max_length=300)
    suggestion = models.ForeignKey(
        Suggestion, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    purchase_line = models.ForeignKey(
        "inventory.PurchaseOrderLine", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    from_order = models.ForeignKey(Order, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    instead = models.ForeignKey(Item, on_delete=models.CASCADE, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["alert", "rank"]
        constraints = [models.UniqueConstraint(fields=["alert", "rank"], name="alert_act_rank_once")]

    def __str__(self) -> str:
        return self.words


class Silence(models.Model):
    """That a person does not want to hear of an alert until after a day, and why. News breaks it."""

    alert = models.ForeignKey(Alert, on_delete=models.CASCADE, related_name="silences")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    until = models.DateField(help_text="The last day of silence.")
    reason = models.CharField(max_length=200)
    ended_at = models.DateTimeField(null=True, blank=True, help_text="By news, by a person, or by its day.")

    class Meta:
        ordering = ["alert", "-at"]
        constraints = [
            models.UniqueConstraint(
                fields=["alert"], condition=Q(ended_at__isnull=True), name="alert_silenced_once"
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="silence_has_a_reason"),
        ]

    def __str__(self) -> str:
        return f"alert {self.alert_id} until {self.until}"


class DigestWish(models.Model):
    """Who wants alerts by mail: a person, or everybody of a role. A person's own wish stands before his roles'."""

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, null=True, blank=True, related_name="digest_wish"
    )
    role = models.OneToOneField(
        "auth.Group", on_delete=models.CASCADE, null=True, blank=True, related_name="digest_wish"
    )
    shortages = models.BooleanField(default=True)
    shelves = models.BooleanField(default=True)

    class Meta:
        ordering = ["role", "person"]
        constraints = [
            models.CheckConstraint(
                condition=Q(person__isnull=True, role__isnull=False)
                | Q(person__isnull=False, role__isnull=True),
                name="wish_of_a_person_or_a_role",
            )
        ]

    def __str__(self) -> str:
        return f"alerts for {self.person or self.role}"


class Digest(models.Model):
    """One letter of alerts to a person on a day: at most one, and none without news.

    The row is the claim: it is written before the letter goes and marked after, so that two clocks send one
    letter, and a letter whose sender died is sent by the next.
    """

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="digests")
    day = models.DateField()
    up_to = models.PositiveBigIntegerField(help_text="The last news told, by id.")
    alerts = models.PositiveIntegerField()
    claimed_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["person", "-day"]
        constraints = [models.UniqueConstraint(fields=["person", "day"], name="digest_once_a_day")]

    def __str__(self) -> str:
        return f"{self.person_id} {self.day}"
