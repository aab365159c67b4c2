"""Drawing files on their way in: the table of layers, and each reading with what was found in it."""

from django.conf import settings
from django.db import models

from bom.geometry.dxf.paths import ROLES, UNITS
from bom.items.models import Item
from bom.kernel.runs import Run

ROLE_CHOICES = list(ROLES.items())
UNIT_CHOICES = [(name, name) for name in UNITS]


class LayerRule(models.Model):
    """What a layer of a drawing file is for, by its name; a name that ends in * speaks of all that begin alike."""

    name = models.CharField(
        max_length=100, unique=True, help_text="Capitals do not matter; * at the end for any rest."
    )
    role = models.CharField(max_length=10, choices=ROLE_CHOICES)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return f"{self.name}: {self.get_role_display()}"


class DrawingRead(Run):
    """A drawing file read in the background for one item: looked at first, taken over only when a person accepts it.

    What was found are its layers, paths and flaws. Until `accepted_at` is set nothing of the item has changed.
    """

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="drawing_reads")
    key = models.CharField(max_length=60, unique=True)
    file_name = models.CharField(max_length=200)
    stored_as = models.CharField(max_length=200)
    grade = models.CharField(max_length=20)
    thickness_mm = models.DecimalField(max_digits=6, decimal_places=2)
    unit_if_unstated = models.CharField(max_length=5, choices=UNIT_CHOICES, blank=True)
    unit = models.CharField(max_length=5, blank=True)
    unit_is_stated = models.BooleanField(default=False)
    is_whole = models.BooleanField(default=False)
    flaw_count = models.PositiveIntegerField(default=0)
    left_out = models.CharField(max_length=200, blank=True)
    accepted_at = models.DateTimeField(null=True, blank=True)
    accepted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.file_name} for {self.item.code}"


class ReadLayer(models.Model):
    """A layer of the file, how much it holds, and what it was taken for; an empty role where no rule spoke of it."""

    read = models.ForeignKey(DrawingRead, on_delete=models.CASCADE, related_name="layers")
    name = models.CharField(max_length=255)
    entities = models.PositiveIntegerField()
    role = models.CharField(max_length=10, choices=ROLE_CHOICES, blank=True)

    class Meta:
        ordering = ["read", "name"]
        constraints = [models.UniqueConstraint(fields=["read", "name"], name="read_layer_once")]

    def __str__(self) -> str:
        return self.name


class ReadPath(models.Model):
    """A contour, mark, bend line or loose entity of the file, in mm as drawn."""

    class Use(models.TextChoices):
        OUTSIDE = "outside", "outside"
        HOLE = "hole", "hole"
        MARK = "mark", "mark"
        BEND = "bend", "bend line"
        LOOSE = "loose", "part of no contour"

    read = models.ForeignKey(DrawingRead, on_delete=models.CASCADE, related_name="paths")
    sequence = models.PositiveIntegerField()
    use = models.CharField(max_length=10, choices=Use)
    layer = models.CharField(max_length=255)
    handle = models.CharField(max_length=40, blank=True)
    vertices = models.TextField()
    is_closed = models.BooleanField()

    class Meta:
        ordering = ["read", "sequence"]
        constraints = [models.UniqueConstraint(fields=["read", "sequence"], name="read_path_sequence_once")]

    def __str__(self) -> str:
        return f"{self.use} {self.handle}"


class ReadCurve(models.Model):
    """A spline or ellipse of the file that became chords, with where it begins."""

    read = models.ForeignKey(DrawingRead, on_delete=models.CASCADE, related_name="curves")
    sequence = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=20)
    layer = models.CharField(max_length=255)
    handle = models.CharField(max_length=40, blank=True)
    x_mm = models.FloatField()
    y_mm = models.FloatField()
    chords = models.PositiveIntegerField()

    class Meta:
        ordering = ["read", "sequence"]
        constraints = [models.UniqueConstraint(fields=["read", "sequence"], name="read_curve_sequence_once")]

    def __str__(self) -> str:
        return f"{self.kind} {self.handle}"


class ReadFlaw(models.Model):
    """Something wrong in the file, with its place."""

    read = models.ForeignKey(DrawingRead, on_delete=models.CASCADE, related_name="flaws")
    sequence = models.PositiveIntegerField()
    what = models.CharField(max_length=300)
    mend = models.CharField(max_length=300)
    layer = models.CharField(max_length=255, blank=True)
    handle = models.CharField(max_length=40, blank=True)
    x_mm = models.FloatField(null=True, blank=True)
    y_mm = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["read", "sequence"]
        constraints = [models.UniqueConstraint(fields=["read", "sequence"], name="read_flaw_sequence_once")]

    def __str__(self) -> str:
        return self.what
