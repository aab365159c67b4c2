"""The gate and the bays of the demonstration: check lists, the maker's data, torques, plugs, numbers read off."""

from __future__ import annotations

import re
from collections.abc import Mapping

from bom.items.models import Item
from production.assembly.models import Fastener, NumberRule, Plug
from production.dispatch.models import Maker
from production.dispatch.plating import set_maker
from production.dispatch.shipped_checks import add_shipped_lists

# Not a code that any body has given: the letters ZZ are of no country, and 9 says a small maker.
WMI, SMALL_CODE = "ZZ9", "TFW"


def add_gate(name: str) -> None:
    """The usual check lists, and a maker whose code belongs to nobody."""
    add_shipped_lists()
    set_maker(
        maker=Maker(
            name=name,
            address="Drove Lane, Tiddersleigh Fen",
            wmi=WMI,
            small_code=SMALL_CODE,
            descriptor="BT000",
            plant="F",
            has_check_digit=True,
            has_year=True,
        )
    )


# A fine thread, so no row of the table; common practice, no source. The wheel's maker decides.
_WHEEL_BOLT = ("NUT-WHEEL", 12, 90, 110, "common practice, no source; the wheel's maker decides")
_THREAD = re.compile(r"\bM(\d+)\b")


def add_marks(items: Mapping[str, Item]) -> None:
    """Which parts are tightened, which are plugs, and that tyres are read off."""
    tightened = [item for code, item in items.items() if code.startswith(("BOLT-", "UBOLT-"))]
    fasteners = [
        Fastener(item=item, diameter_mm=int(found.group(1)))
        for item in tightened
        if (found := _THREAD.search(item.name))
    ]
    code, thread, low, high, source = _WHEEL_BOLT
    fasteners.append(Fastener(item=items[code], diameter_mm=thread, low_nm=low, high_nm=high, source=source))
    Fastener.objects.bulk_create(fasteners)
    Plug.objects.bulk_create(Plug(item=items[f"PLUG-{poles}"], poles=poles) for poles in (7, 13))
    NumberRule.objects.bulk_create(
        NumberRule(item=item, form=NumberRule.Form.TYRE)
        for code, item in items.items()
        if code.startswith("TY-")
    )
