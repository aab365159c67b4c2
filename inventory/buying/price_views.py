"""Suppliers' prices out to a file and in again."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET, require_http_methods

from bom.items.sheet_views import bring_in_page, tables_out
from bom.kernel.pages import needs
from inventory.buying.price_files import PRICES


@require_GET
def out(request: HttpRequest) -> HttpResponse:
    """Prices and price breaks as a workbook, or one table as CSV."""
    return tables_out(request, PRICES)


@require_http_methods(["GET", "POST"])
@needs("inventory.change_terms")
def bring_in(request: HttpRequest) -> HttpResponse:
    return bring_in_page(request, PRICES, "buying/prices_in.html", "buying:suppliers")
