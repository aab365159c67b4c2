"""The demonstration workshop: an invented factory with its range, stock, history and order book.

Nothing in it is real: neither the works nor its customers, suppliers, boats and people. The same seed and day
build the same workshop.
"""

from production.site.demo.building import HISTORY_WEEKS, DemoSummary, build
from production.site.demo.clearing import clear
from production.site.demo.people import PASSWORD, SIGN_INS, SignIn
from production.site.demo.silence import silence_one

__all__ = ["HISTORY_WEEKS", "PASSWORD", "SIGN_INS", "DemoSummary", "SignIn", "build", "clear", "silence_one"]
