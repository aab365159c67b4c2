"""After a trailer has gone: recalls with their lists, and warranty claims."""

from django.db import models
from django.db.models import Q

from bom.items.models import Item
from production.dispatch.models.kept import person_key
from production.dispatch.models.records import Source
from production.orders.models import Order


class Recall(models.Model):
    """Trailers to be called back because of one source; the list is fixed when it is opened."""

    number = models.CharField(max_length=20, unique=True)
    source = models.ForeignKey(Source, on_delete=models.PROTECT, related_name="recalls")
    reason = models.CharField(max_length=300)
    by = person_key()
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-pk"]
        permissions = [("open_recall", "May open a recall and say who was told")]

    def __str__(self) -> str:
        return self.number


class RecallTrailer(models.Model):
    """One trailer of a recall: when its owner was told, and when it was put right."""

    recall = models.ForeignKey(Recall, on_delete=models.CASCADE, related_name="trailers")
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="recalls")
    told_on = models.DateField(null=True, blank=True)
    done_on = models.DateField(null=True, blank=True)
    by = person_key(null=True, blank=True)

    class Meta:
        ordering = ["recall", "order"]
        constraints = [models.UniqueConstraint(fields=["recall", "order"], name="trailer_once_a_recall")]

    def __str__(self) -> str:
        return f"{self.order_id} in {self.recall_id}"


class Claim(models.Model):
    """A warranty claim: which part failed on which trailer, and why. `source` is found from the record."""

    class Cause(models.TextChoices):
        MATERIAL = "material", "material or casting"
        WELD = "weld", "weld"
        COATING = "coating", "zinc or powder"
        BOUGHT = "bought", "bought part failed"
        FITTING = "fitting", "fitted wrongly"
        USE = "use", "use or wear"
        UNKNOWN = "unknown", "not known yet"

    number = models.CharField(max_length=20, unique=True)
    key = models.CharField(max_length=60, unique=True)
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="claims")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="claims")
    source = models.ForeignKey(Source, on_delete=models.PROTECT, null=True, blank=True, related_name="claims")
    cause = models.CharField(max_length=10, choices=Cause)
    words = models.CharField(max_length=300)
    reported_on = models.DateField()
    cost = models.DecimalField(max_digits=10, decimal_places=2, default=0)
    by = person_key()
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-reported_on", "-pk"]
        permissions = [("write_claim", "May write warranty claims down")]
        constraints = [models.CheckConstraint(condition=Q(cost__gte=0), name="claim_cost_not_negative")]

    def __str__(self) -> str:
        return self.number
