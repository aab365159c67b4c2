"""The working days of the workshop. Its calendar stands a floor above; the settings say who reads it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

from django.conf import settings
from django.utils.module_loading import import_string

from inventory.levels.days import WorkDays


def work_days(first: date, last: date) -> WorkDays:
    """The days worked between two dates, by `settings.WORKING_DATES`. A constant number of queries."""
    dates: Callable[[date, date], Iterable[date]] = import_string(settings.WORKING_DATES)
    return WorkDays(first, last, dates(first, last))
