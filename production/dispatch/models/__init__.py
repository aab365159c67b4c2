"""Rows of the gate: inspection, plates, records, recalls, papers, deliveries; one module for each."""

from production.dispatch.models.checks import CheckLine, CheckList, CheckResult, Clearance, Inspection
from production.dispatch.models.deliveries import Delivery, DeliveryPlace, DeliveryRun, Lorry, PlaceDistance
from production.dispatch.models.kept import Kept, KeptRows
from production.dispatch.models.papers import Paper, PaperRun, PaperTemplate, PaperWanted
from production.dispatch.models.plates import Maker, ModelDescriptor, SerialPlate
from production.dispatch.models.recalls import Claim, Recall, RecallTrailer
from production.dispatch.models.records import BuiltRow, Origin, Owner, Seal, Source

__all__ = [
    "BuiltRow",
    "CheckLine",
    "CheckList",
    "CheckResult",
    "Claim",
    "Clearance",
    "Delivery",
    "DeliveryPlace",
    "DeliveryRun",
    "Inspection",
    "Kept",
    "KeptRows",
    "Lorry",
    "Maker",
    "ModelDescriptor",
    "Origin",
    "Owner",
    "Paper",
    "PaperRun",
    "PaperTemplate",
    "PaperWanted",
    "PlaceDistance",
    "Recall",
    "RecallTrailer",
    "Seal",
    "SerialPlate",
    "Source",
]
