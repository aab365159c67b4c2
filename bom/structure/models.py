"""Structure: what a made item consists of, in revisions, and the operations that make it."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from bom.items.models import Item
from bom.structure.effectivity import Issue, Start


class Process(models.Model):
    """A kind of work, in the order the metal goes: laser, saw, fold, weld, galvanise, powder, assemble, inspect.

    Work centres (who does it) belong to the shop; a bill only knows what kind of work is needed.
    """

    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=40)
    sequence = models.PositiveSmallIntegerField(unique=True)

    class Meta:
        ordering = ["sequence"]
        verbose_name_plural = "processes"

    def __str__(self) -> str:
        return self.name


class Revision(models.Model):
    """One issue of an item's bill and operations. A released revision is never edited; a new one replaces it.

    It holds from `effective_from` on; with `from_number`, only for trailers of that number and above (see
    `bom.structure.effectivity`).
    """

    class State(models.TextChoices):
        DRAFT = "draft", "draft"
        RELEASED = "released", "released"

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="revisions")
    letter = models.CharField(max_length=4)
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT)
    effective_from = models.DateField()
    from_number = models.PositiveIntegerField(
        null=True, blank=True, help_text="The first trailer it holds for; none means by the day alone."
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["item", "-effective_from", "-letter"]
        permissions = [("release_revision", "May release a revision of a bill")]
        constraints = [
            models.CheckConstraint(
                condition=Q(from_number__isnull=True) | Q(from_number__gte=1),
                name="revision_number_from_one",
                violation_error_message="Trailers are numbered from 1 on.",
            ),
            models.UniqueConstraint(
                fields=["item", "letter"],
                name="revision_letter_once_an_item",
                violation_error_message="This item already has a revision of that letter.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item.code} revision {self.letter}"

    @property
    def start(self) -> Start:
        """From when it holds."""
        return Start(self.effective_from, self.from_number)

    @property
    def issue(self) -> Issue:
        """Its effectivity as plain data."""
        return Issue(self.pk, self.letter, self.start)


class BillLine(models.Model):
    """One line of a bill: a component, or a family from which colour and hand pick the component.

    `quantity`, `condition`, `colour_of` and `hand_of` are expressions in CEL (the Common Expression Language),
    checked by `bom.structure.editing` before they are saved. An empty condition always applies.

    `centre_…` say where what the line brings has its centre of gravity, in the axes of the trailer that contains it
    (see `bom.costing.masses.Centre`); all four are filled in or none.
    """

    class CentreBasis(models.TextChoices):
        MEASURED = "measured", "measured"
        DRAWN = "drawn", "from the drawing"
        ESTIMATED = "estimated", "estimated"

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    component = models.ForeignKey(
        Item, on_delete=models.PROTECT, null=True, blank=True, related_name="used_in_lines"
    )
    family = models.ForeignKey(
        "bom.Family", on_delete=models.PROTECT, null=True, blank=True, related_name="used_in_lines"
    )
    colour_of = models.CharField(max_length=120, blank=True, help_text="For a family: e.g. colour.port")
    hand_of = models.CharField(max_length=120, blank=True, help_text="For a family: e.g. 'L'")
    quantity = models.CharField(max_length=200, default="1")
    condition = models.CharField(max_length=300, blank=True)
    note = models.CharField(max_length=120, blank=True)
    centre_x_mm = models.DecimalField(
        max_digits=8, decimal_places=1, null=True, blank=True, help_text="Behind the coupling's centre."
    )
    centre_y_mm = models.DecimalField(
        max_digits=8, decimal_places=1, null=True, blank=True, help_text="To the right of the middle plane."
    )
    centre_z_mm = models.DecimalField(
        max_digits=8, decimal_places=1, null=True, blank=True, help_text="Above the road."
    )
    centre_basis = models.CharField(max_length=10, choices=CentreBasis, blank=True)

    class Meta:
        ordering = ["revision", "position"]
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "position"],
                name="bill_position_once_a_revision",
                violation_error_message="This revision already has a line at that position.",
            ),
            models.CheckConstraint(
                condition=Q(component__isnull=False, family__isnull=True)
                | Q(component__isnull=True, family__isnull=False),
                name="bill_line_component_or_family",
                violation_error_message="A line names either a component or a family, not both and not neither.",
            ),
            models.CheckConstraint(
                condition=Q(
                    centre_x_mm__isnull=False,
                    centre_y_mm__isnull=False,
                    centre_z_mm__isnull=False,
                    centre_basis__gt="",
                )
                | Q(
                    centre_x_mm__isnull=True,
                    centre_y_mm__isnull=True,
                    centre_z_mm__isnull=True,
                    centre_basis="",
                ),
                name="bill_line_centre_whole",
                violation_error_message="A centre of gravity has x, y, z and how it is known, or none of them.",
            ),
        ]

    def __str__(self) -> str:
        return f"line {self.position}"


class Operation(models.Model):
    """Work on a made item: minutes to set up once a lot, minutes for each piece, and where the figure comes from."""

    class Basis(models.TextChoices):
        STANDARD = "standard", "standard time"
        GEOMETRY = "geometry", "from the drawing"
        MEASURED = "measured", "measured on the floor"

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="operations")
    sequence = models.PositiveSmallIntegerField()
    process = models.ForeignKey(Process, on_delete=models.PROTECT, related_name="operations")
    setup_minutes = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0))
    run_minutes = models.DecimalField(max_digits=10, decimal_places=4, default=Decimal(0))
    basis = models.CharField(max_length=10, choices=Basis, default=Basis.STANDARD)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["revision", "sequence"]
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "sequence"], name="operation_sequence_once_a_revision"
            ),
            models.CheckConstraint(
                condition=Q(setup_minutes__gte=0) & Q(run_minutes__gte=0),
                name="operation_minutes_not_negative",
                violation_error_message="Minutes cannot be negative.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sequence} {self.process.name}"
