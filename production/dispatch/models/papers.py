"""Papers: the workshop's own templates, and the papers made by them."""

from django.db import models

from bom.kernel.runs import Run
from production.dispatch.models.kept import Kept, person_key
from production.orders.models import Order


class PaperTemplate(Kept):
    """The workshop's own text of one paper; the last of its kind counts. What it says is the maker's responsibility."""

    kind = models.CharField(max_length=20)
    text = models.TextField()
    by = person_key()
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["kind", "pk"]

    def __str__(self) -> str:
        return self.kind


class PaperRun(Run):
    """Papers of many trailers, made in the background."""

    key = models.CharField(max_length=60, unique=True)
    title = models.CharField(max_length=120)
    kinds = models.CharField(max_length=200, blank=True, help_text="Which papers; the usual ones if empty.")
    papers = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.title


class PaperWanted(models.Model):
    """A trailer whose papers a run makes."""

    run = models.ForeignKey(PaperRun, on_delete=models.CASCADE, related_name="wanted")
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="papers_wanted")

    class Meta:
        ordering = ["run", "order"]
        constraints = [models.UniqueConstraint(fields=["run", "order"], name="paper_wanted_once")]

    def __str__(self) -> str:
        return f"{self.order_id} in {self.run_id}"


class Paper(models.Model):
    """One paper as it was made, a PDF."""

    run = models.ForeignKey(PaperRun, on_delete=models.CASCADE, related_name="made")
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="papers")
    kind = models.CharField(max_length=20)
    content = models.BinaryField()

    class Meta:
        ordering = ["run", "order", "pk"]
        constraints = [models.UniqueConstraint(fields=["run", "order", "kind"], name="paper_once_a_run")]

    def __str__(self) -> str:
        return f"{self.kind} of {self.order_id}"
