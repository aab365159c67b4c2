"""Lists: filter, sort, page and export, the same way everywhere."""

from collections.abc import Mapping
from typing import Any, cast

import django_tables2
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.template import Context
from django.template.loader import get_template
from django_filters import FilterSet

from bom.kernel import exporting
from bom.kernel.long_lists import DearPaginator, LongPaginator
from bom.kernel.pages import page

ROWS_A_PAGE = 50


class Table(django_tables2.Table):  # type: ignore[misc]
    """A list in the house's look. `Meta.attrs` may add to it; `empty_text` should teach the first step."""

    class Meta:
        template_name = "kernel/table.html"
        attrs = {"class": "list cards"}
        empty_text = "Nothing here."


def number_column(**kwargs: Any) -> django_tables2.Column:
    """A column of figures, set to the right."""
    return django_tables2.Column(attrs={"td": {"class": "n"}, "th": {"class": "n"}}, **kwargs)


class PartColumn(django_tables2.TemplateColumn):  # type: ignore[misc]
    """A column drawn by a template, in the context of the page it stands on.

    The library's own makes that context anew for every row, so the head of the page would be asked for fifty times.
    """

    def render(self, record: Any, table: Any, **kwargs: Any) -> str:
        context = cast(dict[str, Any], getattr(table, "context", Context()).flatten())
        return get_template(self.template_name).render({**context, "record": record})


def table_page(
    request: HttpRequest,
    *,
    table_class: type[Table],
    queryset: QuerySet[Any],
    template: str,
    export_name: str,
    filterset_class: type[FilterSet] | None = None,
    context: Mapping[str, Any] | None = None,
    rows_a_page: int = ROWS_A_PAGE,
    is_long: bool = False,
    is_dear: bool = False,
) -> HttpResponse:
    """A list page; with `?as=xlsx` the same rows, as filtered and sorted, in a workbook.

    The template finds `table`, `filter` and `rows` (how many in all) in its context. htmx gets only the list.
    A long list, one that grows for years, is not counted to its end (see `LongPaginator`); of one whose rows are dear
    to read, only the page's rows are read whole (see `DearPaginator`).
    """
    filtered = filterset_class(request.GET, queryset=queryset, request=request) if filterset_class else None
    # Without the request, which `RequestConfig` brings: with it a table counts and cuts itself once too often.
    table = table_class(filtered.qs if filtered else queryset)
    if request.GET.get("as") == "xlsx":
        django_tables2.RequestConfig(request, paginate=False).configure(table)
        return _export(table, export_name)
    pages: dict[str, Any] = {"per_page": rows_a_page, "silent": True}
    if is_long or is_dear:
        table.unfiltered = queryset
        pages["paginator_class"] = LongPaginator if is_long else DearPaginator
    django_tables2.RequestConfig(request, paginate=pages).configure(table)
    full = {"table": table, "filter": filtered, "rows": table.paginator.count, **(context or {})}
    return page(request, template, full, part="kernel/_list.html")


def _export(table: Table, name: str) -> HttpResponse:
    """Values as `value_<column>` gives them, else as the record holds them; columns that only act are left out."""
    columns = [
        column
        for column in table.columns.iterall()
        if not getattr(column.column, "exclude_from_export", False)
    ]
    header = [str(column.header) for column in columns]
    rows = ([_value(table, column, row) for column in columns] for row in table.rows)
    return exporting.xlsx(name, header, rows)


def _value(table: Table, column: Any, row: Any) -> Any:
    named = getattr(table, f"value_{column.name}", None)
    if named is not None:
        return named(record=row.record)
    value = column.accessor.resolve(row.record, quiet=True) if column.accessor else None
    display = getattr(row.record, f"get_{column.name}_display", None)
    return display() if callable(display) else value
