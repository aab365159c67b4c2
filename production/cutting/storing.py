"""Layouts as rows: the sheets of a batch and where each part lies. Loads the nesting; background work only."""

from collections.abc import Sequence
from decimal import Decimal

from production.cutting.batching import Batch, LaidSheet
from production.cutting.models import CutBatch, CutPlacement, CutSheet
from production.cutting.speed_models import SheetReckoning

TENTH = Decimal("0.1")
SHARE = Decimal("0.0001")
MILLI = Decimal("0.001")
HUNDREDTH = Decimal("0.01")


def store_sheets(rows: Sequence[CutBatch], batches: Sequence[Batch]) -> None:
    """Sheets, their placements and the working of their minutes, of batches whose rows are there. Three statements."""
    laid = [
        (row, number, sheet)
        for row, batch in zip(rows, batches, strict=True)
        for number, sheet in enumerate(batch.sheets, start=1)
    ]
    sheets = CutSheet.objects.bulk_create(
        [_sheet(row, number, sheet) for row, number, sheet in laid], batch_size=500
    )
    CutPlacement.objects.bulk_create(
        [
            CutPlacement(
                sheet=made,
                part_id=spot.part_id,
                order_id=spot.order_id,
                x_mm=decimal(spot.x_mm, MILLI),
                y_mm=decimal(spot.y_mm, MILLI),
                rotation_deg=decimal(spot.rotation_deg, MILLI),
                mirrored=spot.mirrored,
                is_filler=spot.is_filler,
            )
            for made, (_, _, sheet) in zip(sheets, laid, strict=True)
            for spot in sheet.spots
        ],
        batch_size=500,
    )
    SheetReckoning.objects.bulk_create(
        [_reckoning(made, sheet) for made, (_, _, sheet) in zip(sheets, laid, strict=True)], batch_size=500
    )


def _reckoning(made: CutSheet, sheet: LaidSheet) -> SheetReckoning:
    time, speed = sheet.time, sheet.speed
    return SheetReckoning(
        sheet=made,
        cut_length_mm=decimal(time.cut_length_mm, TENTH),
        pierces=time.pierces,
        travel_mm=decimal(time.travel_mm, TENTH),
        feed_mm_per_min=decimal(speed.feed_mm_per_min, TENTH),
        pierce_seconds=decimal(speed.pierce_seconds, HUNDREDTH),
        travel_mm_per_min=decimal(speed.travel_mm_per_min, TENTH),
        sheet_minutes=decimal(speed.sheet_minutes, TENTH),
        source=speed.source[:400],
    )


def _sheet(batch: CutBatch, number: int, sheet: LaidSheet) -> CutSheet:
    return CutSheet(
        batch=batch,
        number=number,
        item_id=sheet.raw.item_id,
        lot_id=sheet.raw.lot_id,
        length_mm=decimal(sheet.raw.stock.length_mm, TENTH),
        width_mm=decimal(sheet.raw.stock.width_mm, TENTH),
        used_length_mm=decimal(sheet.used_length_mm, TENTH),
        use=decimal(sheet.use, SHARE),
        minutes=decimal(sheet.minutes, TENTH),
    )


def decimal(value: float, step: Decimal) -> Decimal:
    """Rounded to the step; also for the figures of numpy, whose own repr is none of a number."""
    return Decimal(repr(float(value))).quantize(step)
