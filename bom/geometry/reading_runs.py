"""The background part of a drawing file: the reading process is asked, and what it found is stored."""

from typing import Any

from django.core.files.storage import default_storage
from django.db import transaction

from bom.geometry.drawing_models import DrawingRead, ReadCurve, ReadFlaw, ReadLayer, ReadPath
from bom.geometry.dxf.asking import ask
from bom.geometry.layers import layer_rules
from bom.kernel.running import Pulse, Runner, Stopped

runner = Runner(DrawingRead, what="reading", first_step="reading the file")


def carry_out(read_id: int) -> None:
    """Read one file. A file with flaws is a reading that succeeded: it tells what is wrong."""

    def work(read: DrawingRead, pulse: Pulse) -> None:
        found = ask(
            default_storage.path(read.stored_as),
            unit=read.unit_if_unstated,
            rules=layer_rules(),
            between=lambda: _go_on(pulse),
        )
        with transaction.atomic():
            _store(read, found)
            runner.close(read.pk, DrawingRead.Outcome.SUCCEEDED)

    runner.carry_out(read_id, work)


def _go_on(pulse: Pulse) -> None:
    if not pulse.tell(30, "reading the file"):
        raise Stopped


def _store(read: DrawingRead, found: dict[str, Any]) -> None:
    DrawingRead.objects.filter(pk=read.pk).update(
        unit=found["unit"],
        unit_is_stated=found["unit_is_stated"],
        is_whole=found["is_whole"],
        flaw_count=found["flaw_count"],
        left_out=", ".join(f"{count} {kind}" for kind, count in sorted(found["left_out"].items()))[:200],
    )
    ReadLayer.objects.bulk_create(ReadLayer(read=read, **_cut(row, name=255)) for row in found["layers"])
    ReadPath.objects.bulk_create(
        (
            ReadPath(read=read, sequence=at, **_cut(row, layer=255, handle=40))
            for at, row in enumerate(found["paths"])
        ),
        batch_size=500,
    )
    ReadCurve.objects.bulk_create(
        ReadCurve(read=read, sequence=at, **_cut(row, layer=255, handle=40))
        for at, row in enumerate(found["curves"], 1)
    )
    ReadFlaw.objects.bulk_create(_flaw(read, at, row) for at, row in enumerate(found["flaws"], 1))


def _flaw(read: DrawingRead, at: int, row: dict[str, Any]) -> ReadFlaw:
    place = row.pop("at")
    x, y = place if place else (None, None)
    return ReadFlaw(
        read=read, sequence=at, x_mm=x, y_mm=y, **_cut(row, what=300, mend=300, layer=255, handle=40)
    )


def _cut(row: dict[str, Any], **longest: int) -> dict[str, Any]:
    """Names from a hostile file may be any length, and hold what a database refuses."""
    return row | {name: row[name].replace("\x00", "")[:most] for name, most in longest.items()}
