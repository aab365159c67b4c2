"""What the demonstration's laser reckons with. All invented."""

from datetime import date
from decimal import Decimal

from bom.people.models import User
from production.cutting.speed_models import CutSpeed, SheetHandling

INVENTED = "invented for the demonstration"
# Thickness in mm, feed in mm/min, seconds for a pierce; none: every grade.
_SPEEDS = (
    ("", 3, 4000, "0.3"),
    ("", 4, 3500, "0.5"),
    ("", 5, 3100, "0.7"),
    ("", 6, 2700, "0.9"),
    ("", 8, 2000, "1.3"),
    ("S355", 8, 1950, "1.4"),
    ("S355", 10, 1380, "2.1"),
)


def add_cutting(holds_from: date, by: User) -> None:
    """Write feeds and pierce times by grade and thickness, and what every sheet takes beside."""
    CutSpeed.objects.bulk_create(
        CutSpeed(
            grade=grade,
            thickness_mm=thickness,
            feed_mm_per_min=feed,
            pierce_seconds=Decimal(pierce),
            holds_from=holds_from,
            source=INVENTED,
            by=by,
        )
        for grade, thickness, feed, pierce in _SPEEDS
    )
    SheetHandling.objects.create(
        travel_mm_per_min=60_000, sheet_minutes=4, holds_from=holds_from, source=INVENTED, by=by
    )
