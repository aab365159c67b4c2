"""Powder batches of trailers that left before the first plan: their steps, readings and verdicts. All invented."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

from bom.catalogue.models import ColourPlace
from bom.people.models import User
from production.coating import judging, powder
from production.coating.judging import Read
from production.coating.models import PowderBatch, PowderLine
from production.coating.powder_models import Step
from production.orders.models import Order
from production.shop.models import Oven

# How long each step took, and how hot the metal was.
_TOOK = {Step.SWEEP: (35, None), Step.DEGAS: (42, 214), Step.COAT: (30, None), Step.CURE: (24, 192)}
# Zinc and powder together at each spot, and the zinc alone.
_UM = ((168, 82), (175, 84), (159, 79), (163, 80), (181, 86))


def powder_before(order: Order, number: str, began_at: datetime, by: User) -> PowderBatch | None:
    """The finished batch of one trailer's frame; none where it is not powder coated or there is no oven."""
    colour = order.colours.filter(place=ColourPlace.POWDER).first()
    oven = Oven.objects.first()
    if order.finish == "galvanised" or colour is None or oven is None:
        return None
    batch = PowderBatch.objects.create(
        number=number,
        colour_id=colour.colour_id,
        state=PowderBatch.State.RELEASED,
        starts_at=began_at,
        ends_at=began_at + timedelta(hours=3),
        frames=oven.frames,
    )
    line = PowderLine.objects.create(batch=batch, order=order)
    powder.begin_batch(batch=batch, by=by, at=began_at)
    at = began_at
    for step, (minutes, heat) in _TOOK.items():
        at += timedelta(minutes=minutes)
        powder.end_step(batch=batch, step=step, by=by, temperature_c=heat, at=at)
    reads = [
        Read(spot, Decimal(total), Decimal(zinc))
        for spot, (total, zinc) in zip(judging.SPOTS, _UM, strict=True)
    ]
    judging.read_thickness(line=line, reads=reads, by=by, at=at + timedelta(hours=1))
    return powder.finish_batch(batch=batch, by=by, at=at + timedelta(hours=2))
