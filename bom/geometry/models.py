"""Parts as drawn: outlines that the laser cuts, bends, sections, vent holes, and the figures worked out from them."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bom.geometry import bending, sections, venting
from bom.items.models import Item


class FlatPart(models.Model):
    """The flat shape of a laser-cut item. Figures are worked out from the contours when the shape is saved."""

    class Turning(models.TextChoices):
        QUARTERS = "quarters", "by quarter turns"
        HALF = "half", "along the grain only (half turns)"
        FREE = "free", "at any angle"

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="flat_part")
    grade = models.CharField(max_length=20)
    thickness_mm = models.DecimalField(max_digits=6, decimal_places=2)
    turning = models.CharField(max_length=10, choices=Turning, default=Turning.QUARTERS)
    may_mirror = models.BooleanField(default=False)
    area_mm2 = models.DecimalField(max_digits=14, decimal_places=2)
    cut_length_mm = models.DecimalField(max_digits=12, decimal_places=1)
    pierces = models.PositiveSmallIntegerField()
    length_mm = models.DecimalField(max_digits=10, decimal_places=1)
    width_mm = models.DecimalField(max_digits=10, decimal_places=1)
    bends = models.PositiveSmallIntegerField(default=0)
    drawn_at = models.DateTimeField(
        null=True,
        blank=True,
        help_text="When its outline last came from a file; a nest made before shows another.",
    )
    drawn_from = models.CharField(max_length=200, blank=True, help_text="The file it came from.")

    class Meta:
        ordering = ["item"]
        permissions = [("draw_part", "May change drawings, bends, sections and vent holes of parts")]

    def __str__(self) -> str:
        return f"flat shape of {self.item.code}"


class FlatContour(models.Model):
    """One closed contour: vertices "x,y,bulge;…" in mm (see `bom.geometry.outlines`). The first is the outside."""

    part = models.ForeignKey(FlatPart, on_delete=models.CASCADE, related_name="contours")
    sequence = models.PositiveSmallIntegerField()
    vertices = models.TextField()

    class Meta:
        ordering = ["part", "sequence"]
        constraints = [
            models.UniqueConstraint(fields=["part", "sequence"], name="contour_sequence_once_a_part")
        ]

    def __str__(self) -> str:
        return "outside" if self.sequence == 0 else f"hole {self.sequence}"


class FlatMark(models.Model):
    """Something marked on the part and not cut: vertices as of a contour, open or closed."""

    part = models.ForeignKey(FlatPart, on_delete=models.CASCADE, related_name="marks")
    sequence = models.PositiveSmallIntegerField()
    vertices = models.TextField()
    is_closed = models.BooleanField(default=False)

    class Meta:
        ordering = ["part", "sequence"]
        constraints = [models.UniqueConstraint(fields=["part", "sequence"], name="mark_sequence_once_a_part")]

    def __str__(self) -> str:
        return f"mark {self.sequence}"


class FoldLine(models.Model):
    """A bend: the line in the flat about which the sheet is turned, by how much, and the inside radius.

    The line lies in the middle of the arc, in the coordinates of the contours. Written by
    `bom.geometry.folding.set_bends`, which keeps `FlatPart.bends` the number of these rows.
    """

    class Direction(models.TextChoices):
        UP = "up", "up, towards the person"
        DOWN = "down", "down, away from the person"

    part = models.ForeignKey(FlatPart, on_delete=models.CASCADE, related_name="fold_lines")
    sequence = models.PositiveSmallIntegerField()
    x1_mm = models.DecimalField(max_digits=10, decimal_places=3)
    y1_mm = models.DecimalField(max_digits=10, decimal_places=3)
    x2_mm = models.DecimalField(max_digits=10, decimal_places=3)
    y2_mm = models.DecimalField(max_digits=10, decimal_places=3)
    angle_deg = models.DecimalField(max_digits=5, decimal_places=2, default=90)
    inside_radius_mm = models.DecimalField(max_digits=6, decimal_places=2)
    direction = models.CharField(max_length=4, choices=Direction, default=Direction.UP)

    class Meta:
        ordering = ["part", "sequence"]
        constraints = [
            models.UniqueConstraint(fields=["part", "sequence"], name="fold_line_sequence_once_a_part"),
            models.CheckConstraint(
                condition=Q(angle_deg__gt=0, angle_deg__lt=180) & Q(inside_radius_mm__gte=0),
                name="fold_line_angle_and_radius",
                violation_error_message="A bend turns by more than 0° and less than 180°, about a radius of 0 or more.",
            ),
            models.CheckConstraint(
                condition=~Q(x1_mm=F("x2_mm"), y1_mm=F("y2_mm")),
                name="fold_line_has_length",
                violation_error_message="A bend line joins two different points.",
            ),
        ]

    def __str__(self) -> str:
        return f"bend {self.sequence}"


class BendValue(models.Model):
    """What the press brake does to one thickness: the radius it makes, the K factor, the die and its least flange.

    A row with an empty grade holds for every grade that has no row of its own. Editable data of the workshop; the
    values to begin with are common practice, no source, and a bent test strip gives better ones.
    """

    grade = models.CharField(max_length=20, blank=True, help_text="Empty for every grade.")
    thickness_mm = models.DecimalField(max_digits=6, decimal_places=2)
    inside_radius_mm = models.DecimalField(max_digits=6, decimal_places=2)
    k_factor = models.DecimalField(max_digits=5, decimal_places=4)
    die_opening_mm = models.DecimalField(max_digits=6, decimal_places=1)
    least_flange_mm = models.DecimalField(max_digits=6, decimal_places=1)
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["thickness_mm", "grade"]
        constraints = [
            models.UniqueConstraint(
                fields=["grade", "thickness_mm"],
                name="bend_value_once_a_thickness",
                violation_error_message="This grade and thickness has a row already.",
            ),
            models.CheckConstraint(
                condition=Q(thickness_mm__gt=0, inside_radius_mm__gte=0, k_factor__gte=0, k_factor__lte=1)
                & Q(die_opening_mm__gt=0, least_flange_mm__gte=0),
                name="bend_value_sensible",
                violation_error_message="Thickness and die are above 0, radius and flange not below, K from 0 to 1.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.thickness_mm} mm {self.grade}".strip()


class HouseRule(models.Model):
    """Which published rules this workshop works to. One row; where there is none, the first choices hold."""

    BEND_RULES = [(bending.K_RULE, "K factor"), (bending.DIN_RULE, "DIN 6935")]
    VENT_RULES = [(rule.code, rule.name) for rule in venting.RULES.values()]

    bend_rule = models.CharField(max_length=20, choices=BEND_RULES, default=bending.K_RULE)
    vent_rule = models.CharField(max_length=20, choices=VENT_RULES, default=venting.QUARTER)
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        permissions = [("set_geometry_rule", "May choose bend and vent rules and change their tables")]
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="house_rule_is_one_row")]

    def __str__(self) -> str:
        return f"{self.get_bend_rule_display()}, {self.get_vent_rule_display()}"

    @classmethod
    def in_force(cls) -> "HouseRule":
        return cls.objects.filter(pk=1).first() or cls(pk=1)


class SectionProfile(models.Model):
    """The dimensions of a raw section; mass and surface a metre follow from them by formula."""

    STANDARDS = list(sections.SOURCES.items())

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="section")
    standard = models.CharField(max_length=10, choices=STANDARDS)
    height_mm = models.DecimalField(max_digits=7, decimal_places=2)
    breadth_mm = models.DecimalField(
        max_digits=7, decimal_places=2, default=0, help_text="0 for round and flat."
    )
    wall_mm = models.DecimalField(max_digits=6, decimal_places=2)
    root_radius_mm = models.DecimalField(max_digits=6, decimal_places=2, default=0, help_text="Angles only.")

    class Meta:
        ordering = ["item"]
        constraints = [
            models.CheckConstraint(
                condition=Q(height_mm__gt=0, wall_mm__gt=0, breadth_mm__gte=0, root_radius_mm__gte=0),
                name="section_dimensions_above_zero",
                violation_error_message="Height and wall are above 0.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_standard_display()} {self.profile.size}"

    @property
    def profile(self) -> sections.Profile:
        return sections.Profile(
            self.standard,
            float(self.height_mm),
            float(self.breadth_mm),
            float(self.wall_mm),
            float(self.root_radius_mm),
        )


class SawnEnds(models.Model):
    """How the two ends of a sawn part are cut, in degrees off square; a part without a row has square ends.

    Its length is then over the longest edge. `slant_alike` tells that both cuts lean the same way, so that the long
    edges of the part are equally long; else they lean towards each other.
    """

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="sawn_ends")
    first_deg = models.DecimalField(max_digits=4, decimal_places=1, default=0)
    second_deg = models.DecimalField(max_digits=4, decimal_places=1, default=0)
    slant_alike = models.BooleanField(default=False)

    class Meta:
        ordering = ["item"]
        verbose_name_plural = "sawn ends"
        constraints = [
            models.CheckConstraint(
                condition=Q(first_deg__gte=0, first_deg__lte=60, second_deg__gte=0, second_deg__lte=60),
                name="sawn_ends_within_the_saw",
                violation_error_message="The saw swings from 0° to 60° off square.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.first_deg.normalize():f}° and {self.second_deg.normalize():f}°"


class VentHole(models.Model):
    """Vent or drain holes at one end of a hollow part. Written by `bom.geometry.vents.record_holes`."""

    class Purpose(models.TextChoices):
        VENT = "vent", "vent (high when dipped)"
        DRAIN = "drain", "drain (low when dipped)"

    class End(models.IntegerChoices):
        FIRST = 1, "end 1"
        SECOND = 2, "end 2"

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="vent_holes")
    end = models.PositiveSmallIntegerField(choices=End)
    purpose = models.CharField(max_length=5, choices=Purpose, default=Purpose.VENT)
    diameter_mm = models.DecimalField(max_digits=6, decimal_places=2)
    count = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["item", "end", "-diameter_mm"]
        constraints = [
            models.CheckConstraint(
                condition=Q(diameter_mm__gt=0, count__gt=0, end__in=[1, 2]),
                name="vent_hole_sensible",
                violation_error_message="A hole has a diameter above 0 and is at end 1 or 2.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.count} × {self.diameter_mm} mm at {self.get_end_display()}"


class VentNote(models.Model):
    """What a person has said of the cavity of a part: that its ends stay open, or his judgement where a rule is silent.

    New holes take the judgement away: it was made on the old ones.
    """

    class Outcome(models.TextChoices):
        NONE = "", "not judged"
        MET = venting.MET, "met"
        NOT_MET = venting.NOT_MET, "not met"

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="vent_note")
    ends_stay_open = models.BooleanField(default=False)
    outcome = models.CharField(max_length=10, choices=Outcome, default=Outcome.NONE, blank=True)
    reason = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["item"]
        constraints = [
            models.CheckConstraint(
                condition=Q(outcome="") | ~Q(reason=""),
                name="vent_judgement_has_a_reason",
                violation_error_message="A judgement needs its reason.",
            )
        ]

    def __str__(self) -> str:
        return f"vents of {self.item.code}"
