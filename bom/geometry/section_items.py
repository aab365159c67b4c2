"""Raw sections by their dimensions: the item's mass and surface a metre follow from them."""

from decimal import Decimal

from django.db import transaction

from bom.geometry.models import SectionProfile
from bom.geometry.sections import Profile, figures, table_mass_kg_m
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError


@transaction.atomic
def set_section(*, item: Item, profile: Profile) -> SectionProfile:
    """Give a raw section its dimensions, and with them its mass and surface a metre, wall and whether it is hollow.

    Raises:
        ProblemError: the item is no raw section, or the dimensions cannot be.
    """
    item = Item.objects.select_for_update().get(pk=item.pk)
    if item.kind != Item.Kind.SECTION:
        raise ProblemError(
            Problem(
                f"{item.code} is {item.get_kind_display()}",
                "section",
                "Only a raw section has dimensions here",
            )
        )
    worked_out = figures(profile)
    row, _ = SectionProfile.objects.update_or_create(item=item, defaults=columns(profile))
    item.mass_kg = Decimal(str(table_mass_kg_m(profile)))
    item.surface_m2 = round(Decimal(repr(worked_out.surface_m2_m)), 5)
    item.thickness_mm = row.wall_mm
    item.is_hollow = profile.is_hollow
    item.save(update_fields=["mass_kg", "surface_m2", "thickness_mm", "is_hollow"])
    return row


def columns(profile: Profile) -> dict[str, object]:
    """The dimensions as the row holds them."""
    return {
        "standard": profile.standard,
        "height_mm": Decimal(str(profile.height_mm)),
        "breadth_mm": Decimal(str(profile.breadth_mm)),
        "wall_mm": Decimal(str(profile.wall_mm)),
        "root_radius_mm": Decimal(str(profile.root_radius_mm)),
    }
