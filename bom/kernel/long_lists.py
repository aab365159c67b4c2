"""Pages of a list that may have a million rows, or rows that are dear to read."""

from __future__ import annotations

from math import ceil
from typing import Any

from django.core.paginator import EmptyPage, Page, Paginator
from django.db.models import Model, QuerySet
from django.utils.functional import cached_property
from django_tables2.rows import BoundRows

COUNTED_UP_TO = 2_000


class LongPaginator(Paginator):  # type: ignore[type-arg]
    """Reads the numbers of a page's rows from an index first, then only those rows whole; counts no further than it
    must say.

    `count` stops at `COUNTED_UP_TO`; beyond it `is_more` is true, and whether a page has a next one is known by
    looking one row further. A page behind the last is the last one, and only then are all rows counted.
    """

    object_list: BoundRows
    _reached = 0

    def page(self, number: int | str) -> Page[Any]:
        wanted = self._checked(number)
        start = (wanted - 1) * self.per_page
        keys = list(self._rows.values_list("pk", flat=True)[start : start + self.per_page + 1])
        if not keys and wanted > 1:
            self.__dict__["_counted"] = self._rows.count()
            raise EmptyPage("That page contains no results")
        if len(keys) <= self.per_page:
            self.__dict__["_counted"] = start + len(keys)
        self._reached = wanted + (len(keys) > self.per_page)
        return Page(self._whole(keys[: self.per_page]), wanted, self)

    @property
    def count(self) -> int:
        return min(self._counted, COUNTED_UP_TO)

    @property
    def is_more(self) -> bool:
        return self._counted > COUNTED_UP_TO

    @property
    def num_pages(self) -> int:
        return max(1, ceil(self._counted / self.per_page), self._reached)

    @cached_property
    def _counted(self) -> int:
        """How many rows there are; one more than is said where there are more."""
        return self._rows.values("pk")[: COUNTED_UP_TO + 1].count()

    @property
    def _rows(self) -> QuerySet[Model]:
        found: QuerySet[Model] = self.object_list.data.data
        return found

    def _checked(self, number: int | str) -> int:
        """Any page may be asked for: how many there are is not known."""
        wanted = int(number)
        if wanted < 1:
            raise EmptyPage("That page number is less than 1")
        return wanted

    def _whole(self, keys: list[Any]) -> BoundRows:
        """Read by their numbers alone: what the list was filtered by would lead a database back to all its rows."""
        found = {row.pk: row for row in self.object_list.table.unfiltered.order_by().filter(pk__in=keys)}
        return BoundRows(data=[found[key] for key in keys], table=self.object_list.table)


class DearPaginator(LongPaginator):
    """Counted to its end, and read like a long list: for rows that each ask further tables.

    Sorting whole rows, a database would ask those tables for every row of the list and not for the page's alone.
    """

    @property
    def count(self) -> int:
        return self._counted

    @property
    def is_more(self) -> bool:
        return False

    @cached_property
    def _counted(self) -> int:
        return self._rows.count()
