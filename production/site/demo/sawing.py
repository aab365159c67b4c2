"""What the demonstration's saw reckons with: lengths of bars, and drawbar tubes whose ends slant."""

from decimal import Decimal

from bom.geometry.models import SawnEnds
from production.cutting.saw.models import BarLength, SawRules
from production.site.demo.sections import FRAMES, LONG_BAR_M, SECTIONS, SHORT_BAR_M
from production.site.demo.writing import Written

# The drawbar's tubes meet at the coupling: their front ends slant. Invented.
DRAWBAR_DEG = Decimal(20)


def add_sawing(written: Written) -> None:
    """Write the saw's rules, two lengths of bar for each hollow section, one for flats, and the slanting ends."""
    SawRules.in_force().save()
    BarLength.objects.bulk_create(
        BarLength(item=written.items[section.code], length_mm=Decimal(str(metres)) * 1000)
        for section in SECTIONS
        for metres in ((SHORT_BAR_M, LONG_BAR_M) if section.is_hollow else (section.bar_m,))
    )
    SawnEnds.objects.bulk_create(
        SawnEnds(item=written.items[f"SW-{model}-DRAW"], second_deg=DRAWBAR_DEG) for model in FRAMES
    )
