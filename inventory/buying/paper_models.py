"""Our own address, and the order papers that went to suppliers."""

from django.db import models
from django.db.models import Q

from bom.kernel.runs import Run
from inventory.buying.models import PurchaseOrder


class Letterhead(models.Model):
    """What stands at the head of every paper we send: one row, changed on its own page."""

    name = models.CharField(max_length=120)
    address = models.TextField(blank=True, help_text="One line each.")
    deliver_to = models.TextField(blank=True, help_text="Where goods come to; empty means the same address.")
    email = models.EmailField(blank=True)
    telephone = models.CharField(max_length=40, blank=True)
    terms = models.TextField(blank=True, help_text="Sentences at the foot of an order.")
    only = models.BooleanField(default=True, editable=False, unique=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(only=True), name="letterhead_one_row")]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> "Letterhead":
        """The letterhead, or an empty one that says where to fill it in."""
        return cls.objects.first() or cls(name="(our name is not filled in: Buying, Our address)")


class OrderPaper(Run):
    """One sending of a purchase order: the PDF and the workbook exactly as they went out, with their hashes.

    Drawn in the background. The files are kept in the row, so that they are saved and restored together with the
    order they belong to; `sending.open_file` refuses a file that no longer has its hash.
    """

    order = models.ForeignKey(PurchaseOrder, on_delete=models.PROTECT, related_name="papers")
    copy = models.PositiveSmallIntegerField(help_text="1 for the first sending.")
    key = models.CharField(max_length=60, unique=True)
    pdf = models.BinaryField(null=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)
    workbook = models.BinaryField(null=True)
    workbook_sha256 = models.CharField(max_length=64, blank=True)
    mailed_to = models.EmailField(blank=True)

    class Meta:
        ordering = ["order", "-copy"]
        constraints = [models.UniqueConstraint(fields=["order", "copy"], name="order_paper_copy_once")]

    def __str__(self) -> str:
        return f"{self.order_id} copy {self.copy}"
