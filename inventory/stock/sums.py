"""Sums of stock worked out by the database, exact to the places that the ledger keeps."""

from __future__ import annotations

from decimal import Decimal

from django.db.models import DecimalField, F, Sum
from django.db.models.expressions import Combinable
from django.db.models.functions import Round

from inventory.stock.drafts import DECIMALS

QUANTITY: DecimalField[Decimal, Decimal] = DecimalField(max_digits=20, decimal_places=DECIMALS)


def summed(expression: str | Combinable = "quantity") -> Round:
    """The sum of a quantity.

    SQLite adds decimals as binary fractions: 0.3 less 0.2 less 0.1 leaves a speck below zero there, which would
    read as a shortage. Rounding to the places kept takes the speck away.
    """
    return Round(Sum(expression), precision=DECIMALS, output_field=QUANTITY)


def less(whole: str, part: str) -> Round:
    """One quantity less another, rounded for the same reason."""
    return Round(F(whole) - F(part), precision=DECIMALS, output_field=QUANTITY)
