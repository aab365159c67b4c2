"""What labels are printed on."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from inventory.stores.labels.layouts import Sheet


class LabelLayout(models.Model):
    """A label sheet, or label stock on a roll: a page that holds one label. Sizes in millimetres.

    Written by `inventory.stores.labels.printing.save_layout`, which refuses labels that overlap or leave the page.
    """

    name = models.CharField(max_length=60, unique=True)
    page_width_mm = models.DecimalField(max_digits=6, decimal_places=2)
    page_height_mm = models.DecimalField(max_digits=6, decimal_places=2)
    columns = models.PositiveSmallIntegerField(default=1)
    rows = models.PositiveSmallIntegerField(default=1)
    label_width_mm = models.DecimalField(max_digits=6, decimal_places=2)
    label_height_mm = models.DecimalField(max_digits=6, decimal_places=2)
    left_mm = models.DecimalField(max_digits=6, decimal_places=2, default=Decimal(0))
    top_mm = models.DecimalField(max_digits=6, decimal_places=2, default=Decimal(0))
    pitch_x_mm = models.DecimalField(max_digits=6, decimal_places=2, default=Decimal(0))
    pitch_y_mm = models.DecimalField(max_digits=6, decimal_places=2, default=Decimal(0))

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(label_width_mm__gt=0)
                & Q(label_height_mm__gt=0)
                & Q(page_width_mm__gt=0)
                & Q(page_height_mm__gt=0)
                & Q(columns__gt=0)
                & Q(rows__gt=0),
                name="label_layout_sizes_above_zero",
                violation_error_message="Sizes, columns and rows must be above zero.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def sheet(self) -> Sheet:
        return Sheet(
            float(self.page_width_mm),
            float(self.page_height_mm),
            self.columns,
            self.rows,
            float(self.label_width_mm),
            float(self.label_height_mm),
            float(self.left_mm),
            float(self.top_mm),
            float(self.pitch_x_mm),
            float(self.pitch_y_mm),
        )
