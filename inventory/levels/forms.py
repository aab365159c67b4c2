"""Forms of the levels."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from bom.items.models import Item
from inventory.levels.models import LevelRules

_NUMBER = {"inputmode": "decimal", "step": "any"}


def _decimal(label: str, **kwargs: Any) -> forms.DecimalField:
    return forms.DecimalField(label=label, widget=forms.NumberInput(attrs=_NUMBER), **kwargs)


class LevelForm(forms.Form):
    """A person's own reorder level, or none: then it is worked out; and by which rule how much is ordered."""

    reorder_point = _decimal(
        "Own level",
        required=False,
        min_value=Decimal(0),
        max_digits=14,
        decimal_places=4,
        help_text="Leave empty to have it worked out.",
    )
    service_level = _decimal(
        "Chance of not running out",
        min_value=Decimal("0.5"),
        max_value=Decimal("0.9999"),
        max_digits=5,
        decimal_places=4,
        help_text="0.95 means: in 95 of 100 lead times the shelf lasts.",
    )
    lot_rule = forms.ChoiceField(label="How much at once", choices=Item.LotRule.choices)
    lot_size = _decimal(
        "Lot size",
        required=False,
        min_value=Decimal(0),
        max_digits=14,
        decimal_places=4,
        help_text="For fixed, multiple, at least and days of need; the others work it out.",
    )
    order_cost = _decimal(
        "Cost of an order",
        required=False,
        min_value=Decimal(0),
        max_digits=10,
        decimal_places=2,
        help_text="Empty: as the rules for all say.",
    )
    holding_rate = _decimal(
        "Keeping for a year, share of value",
        required=False,
        min_value=Decimal("0.0001"),
        max_value=Decimal(9),
        max_digits=5,
        decimal_places=4,
        help_text="0.25 means a quarter of the price. Empty: as the rules for all say.",
    )


class RulesForm(forms.ModelForm):  # type: ignore[type-arg]
    """The rules that hold for all items."""

    class Meta:
        model = LevelRules
        fields = [
            "a_share",
            "b_share",
            "order_cost",
            "holding_rate",
            "propose_share",
            "slow_days",
            "dead_days",
        ]
        labels = {
            "a_share": "A up to this share of value",
            "b_share": "B up to this share",
            "order_cost": "Cost of an order",
            "holding_rate": "Keeping for a year, share of value",
            "propose_share": "Propose if it differs by more than",
            "slow_days": "Slow after days without use",
            "dead_days": "Dead after days without use",
        }
