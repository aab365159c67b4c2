"""The rooms' models, gathered for Django."""

from bom.catalogue.models import (
    ModelFinish,
    ModelOption,
    OptionChoice,
    OptionGroup,
    OptionRule,
    TrailerModel,
    Variant,
    VariantChoice,
    VariantColour,
)
from bom.geometry.drawing_models import DrawingRead, LayerRule, ReadCurve, ReadFlaw, ReadLayer, ReadPath
from bom.geometry.models import (
    BendValue,
    FlatContour,
    FlatMark,
    FlatPart,
    FoldLine,
    HouseRule,
    SawnEnds,
    SectionProfile,
    VentHole,
    VentNote,
)
from bom.items.models import Colour, Family, Item, ItemIdentifier
from bom.kernel.entries import Entry
from bom.people.models import User
from bom.ratings.models import ComponentRating, ItemDuty, Market, ModelFrame, RuleIssue, RuleRow
from bom.structure.models import BillLine, Operation, Process, Revision

__all__ = [
    "BendValue",
    "BillLine",
    "Colour",
    "ComponentRating",
    "DrawingRead",
    "Entry",
    "Family",
    "FlatContour",
    "FlatMark",
    "FlatPart",
    "FoldLine",
    "HouseRule",
    "Item",
    "ItemDuty",
    "ItemIdentifier",
    "LayerRule",
    "Market",
    "ModelFinish",
    "ModelFrame",
    "ModelOption",
    "Operation",
    "OptionChoice",
    "OptionGroup",
    "OptionRule",
    "Process",
    "ReadCurve",
    "ReadFlaw",
    "ReadLayer",
    "ReadPath",
    "Revision",
    "RuleIssue",
    "RuleRow",
    "SawnEnds",
    "SectionProfile",
    "TrailerModel",
    "User",
    "Variant",
    "VariantChoice",
    "VariantColour",
    "VentHole",
    "VentNote",
]
