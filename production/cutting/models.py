"""Cut batches: one grade and thickness, nested on sheets, cut sheet by sheet at the laser."""

from django.conf import settings
from django.db import models

from bom.geometry.models import FlatPart
from bom.items.models import Item
from bom.kernel.runs import Run
from bom.structure.models import Revision
from inventory.stock.models import Lot, Posting
from production.orders.models import Order
from production.planning.models import Plan
from production.shop.models import WorkCentre


class CutBatch(models.Model):
    """Parts of one grade and thickness that are cut together. Its layout is stored and never worked out again."""

    class State(models.TextChoices):
        PROPOSED = "proposed", "proposed"
        RELEASED = "released", "released"
        BEGUN = "begun", "begun"
        DONE = "done", "done"
        DROPPED = "dropped", "dropped"

    OPEN = (State.RELEASED, State.BEGUN)

    number = models.CharField(max_length=20, unique=True)
    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="cut_batches")
    grade = models.CharField(max_length=20)
    thickness_mm = models.DecimalField(max_digits=6, decimal_places=2)
    state = models.CharField(max_length=10, choices=State, default=State.PROPOSED)
    needed_on = models.DateField(help_text="The first day an order needs a part of it.")
    starts_at = models.DateTimeField(null=True, blank=True)
    ends_at = models.DateTimeField(null=True, blank=True)
    minutes = models.DecimalField(max_digits=8, decimal_places=1, default=0)
    use = models.DecimalField(max_digits=5, decimal_places=4, default=0)
    bound_sheets = models.DecimalField(
        max_digits=8, decimal_places=3, default=0, help_text="No layout can use fewer sheets than this."
    )
    gap_mm = models.DecimalField(max_digits=5, decimal_places=1, default=5)
    margin_mm = models.DecimalField(max_digits=5, decimal_places=1, default=10)

    class Meta:
        ordering = ["starts_at", "number"]
        verbose_name_plural = "cut batches"
        permissions = [
            ("cut_sheets", "May cut sheets and count parts at the laser"),
            ("clear_stops", "May decide on parts that changed after they were laid out"),
        ]
        indexes = [models.Index(fields=["state", "starts_at"], name="cut_batch_state")]

    def __str__(self) -> str:
        return self.number


class CutSheet(models.Model):
    """One sheet of a batch: which raw sheet to fetch and how it is laid out."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        BEGUN = "begun", "begun"
        DONE = "done", "done"
        DROPPED = "dropped", "dropped"

    batch = models.ForeignKey(CutBatch, on_delete=models.CASCADE, related_name="sheets")
    number = models.PositiveSmallIntegerField()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="cut_sheets")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="cut_sheets")
    length_mm = models.DecimalField(max_digits=8, decimal_places=1)
    width_mm = models.DecimalField(max_digits=8, decimal_places=1)
    used_length_mm = models.DecimalField(max_digits=8, decimal_places=1)
    use = models.DecimalField(max_digits=5, decimal_places=4)
    minutes = models.DecimalField(max_digits=8, decimal_places=1)
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    began_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    problem = models.CharField(
        max_length=200, blank=True, help_text="What stopped it, in the operator's words."
    )
    cast = models.CharField(
        max_length=60, blank=True, help_text="Cast number read off the sheet; its parts carry it on."
    )
    offcut = models.OneToOneField(
        Lot,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="left_of",
        help_text="What was left of the sheet and went back to a shelf.",
    )
    posting = models.OneToOneField(
        Posting, on_delete=models.PROTECT, null=True, blank=True, related_name="cut_sheet"
    )

    class Meta:
        ordering = ["batch", "number"]
        constraints = [models.UniqueConstraint(fields=["batch", "number"], name="cut_sheet_number_once")]

    def __str__(self) -> str:
        return f"{self.batch_id} sheet {self.number}"


class CutPlacement(models.Model):
    """One part on a sheet: turned about its own origin, then moved; the sheet's corner is at 0, 0."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        GOOD = "good", "good"
        SCRAP = "scrap", "scrap"
        LOST = "lost", "lost"

    sheet = models.ForeignKey(CutSheet, on_delete=models.CASCADE, related_name="placements")
    part = models.ForeignKey(FlatPart, on_delete=models.PROTECT, related_name="placements")
    order = models.ForeignKey(
        Order, on_delete=models.PROTECT, null=True, blank=True, related_name="cut_placements"
    )
    x_mm = models.DecimalField(max_digits=9, decimal_places=3)
    y_mm = models.DecimalField(max_digits=9, decimal_places=3)
    rotation_deg = models.DecimalField(max_digits=7, decimal_places=3)
    mirrored = models.BooleanField(default=False)
    is_filler = models.BooleanField(
        default=False, help_text="For the shelf, and only because there was room."
    )
    state = models.CharField(max_length=8, choices=State, default=State.WAITING)
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["sheet", "id"]

    def __str__(self) -> str:
        return f"{self.part_id} on {self.sheet_id}"


class CutStretch(models.Model):
    """A time during which a sheet was worked on, from start to stop or to done. Their sum is the time it took."""

    class End(models.TextChoices):
        STOPPED = "stopped", "stopped"
        DONE = "done", "done"

    sheet = models.ForeignKey(CutSheet, on_delete=models.CASCADE, related_name="stretches")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_as = models.CharField(max_length=8, choices=End, blank=True)
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["sheet", "began_at", "id"]
        verbose_name_plural = "cut stretches"
        constraints = [
            models.UniqueConstraint(
                fields=["sheet"],
                condition=models.Q(ended_at__isnull=True),
                name="cut_sheet_worked_on_once_at_a_time",
            )
        ]

    def __str__(self) -> str:
        return f"{self.sheet_id} from {self.began_at}"


class LaidPart(models.Model):
    """How a part stood when a batch was laid out: its revision and a digest of its outline.

    The layout keeps no outline of its own, so a part that is redrawn or revised later would be cut as it is not
    drawn any more. Where the part now differs from this row, its sheets stop until somebody permitted decides.
    """

    batch = models.ForeignKey(CutBatch, on_delete=models.CASCADE, related_name="laid_parts")
    part = models.ForeignKey(FlatPart, on_delete=models.PROTECT, related_name="laid")
    revision = models.ForeignKey(
        Revision, on_delete=models.PROTECT, null=True, blank=True, related_name="laid_parts"
    )
    outline = models.CharField(max_length=64, help_text="Digest of its contours.")

    class Meta:
        ordering = ["batch", "part"]
        constraints = [models.UniqueConstraint(fields=["batch", "part"], name="laid_part_once_a_batch")]

    def __str__(self) -> str:
        return f"{self.part_id} in {self.batch_id}"


class StopDecision(models.Model):
    """What somebody decided about a part that changed after it was laid out. It holds for that change only."""

    class Decision(models.TextChoices):
        CUT = "cut", "cut it as laid out"
        SCRAP = "scrap", "do not use it, cut it anew"

    laid = models.ForeignKey(LaidPart, on_delete=models.CASCADE, related_name="decisions")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    outline = models.CharField(max_length=64)
    decision = models.CharField(max_length=6, choices=Decision)
    note = models.CharField(max_length=200)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["laid", "-at", "-id"]

    def __str__(self) -> str:
        return f"{self.laid_id}: {self.decision}"


class BatchRenest(Run):
    """One laying out anew of a batch that nobody has begun, because parts join it; of a new batch where there is none.

    Nothing of the batch changes until the new layout has passed its checker and is stored, all at once.
    """

    batch = models.ForeignKey(
        CutBatch, on_delete=models.CASCADE, null=True, blank=True, related_name="renests"
    )
    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="+")
    grade = models.CharField(max_length=20)
    thickness_mm = models.DecimalField(max_digits=6, decimal_places=2)
    said = models.CharField(max_length=200, blank=True, help_text="What came of it, in a sentence.")

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"renest {self.pk} of {self.batch_id or 'a new batch'}"


class JoinedPart(models.Model):
    """So many of a part that join a batch: cut again, or wanted sooner."""

    renest = models.ForeignKey(BatchRenest, on_delete=models.CASCADE, related_name="parts")
    part = models.ForeignKey(FlatPart, on_delete=models.PROTECT, related_name="+")
    order = models.ForeignKey(Order, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    quantity = models.PositiveIntegerField()
    why = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["renest", "pk"]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.part_id}"


class ClampZone(models.Model):
    """A rectangle where a machine holds its sheets: nothing may be cut in it.

    Seen from the corner of the sheet that lies at the machine's stop, as layouts are. What is laid out already stays
    as it is.
    """

    work_centre = models.ForeignKey(WorkCentre, on_delete=models.CASCADE, related_name="clamp_zones")
    x_mm = models.DecimalField("from the left", max_digits=7, decimal_places=1)
    y_mm = models.DecimalField("from below", max_digits=7, decimal_places=1)
    length_mm = models.DecimalField("length", max_digits=7, decimal_places=1)
    width_mm = models.DecimalField("width", max_digits=7, decimal_places=1)
    note = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["work_centre", "x_mm", "y_mm"]
        permissions = [("set_clamps", "May say where a machine holds its sheets")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(length_mm__gt=0, width_mm__gt=0),
                name="clamp_zone_has_a_size",
                violation_error_message="Length and width of a clamp must be above 0 mm.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.length_mm:g} × {self.width_mm:g} mm at {self.x_mm:g}, {self.y_mm:g}"
