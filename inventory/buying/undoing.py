"""Deliveries and returns are taken back with their purchase line. Read when the program starts."""

from inventory.buying import receiving, returning
from inventory.stores.undoing import UNDOERS, Undoer

# First, because a delivery or return is known by its row, whatever form it was entered in.
UNDOERS[:0] = [
    Undoer(receiving.is_receipt, receiving.take_back_posting),
    Undoer(returning.is_return, returning.take_back_return),
]
