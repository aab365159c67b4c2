"""Start, sign-in, help, find, and the pages that say what went wrong."""

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView
from django.db import connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.decorators import method_decorator

from bom.items.models import Item
from bom.kernel.pages import page
from inventory.buying.models import PurchaseOrder
from production.cutting.models import CutBatch
from production.orders.models import Order
from production.site.navigation import address
from production.site.roles import START_PAGES

MOST_FOUND = 20


@method_decorator(login_not_required, name="dispatch")
class SignIn(LoginView):
    template_name = "site/sign_in.html"
    redirect_authenticated_user = True


def start(request: HttpRequest) -> HttpResponse:
    """Each person's own station first."""
    roles = set(request.user.groups.values_list("name", flat=True))
    wanted = [view for role, view in START_PAGES.items() if role in roles]
    return redirect(next((url for url in map(address, wanted) if url), address("site:help") or "/help/"))


def help_page(request: HttpRequest) -> HttpResponse:
    return page(request, "site/help.html")


def find(request: HttpRequest) -> HttpResponse:
    """Orders, parts, batches and purchase orders whose number or name contains the words; one hit opens at once."""
    words = request.GET.get("q", "").strip()
    found = _found(words) if words else []
    found = [entry for entry in found if entry["url"]]
    exact = [entry for entry in found if entry["code"].lower() == words.lower()]
    if len(exact) == 1 or len(found) == 1:
        return redirect((exact or found)[0]["url"])
    return page(request, "site/find.html", {"words": words, "found": found})


def _found(words: str) -> list[dict[str, str]]:
    orders = Order.objects.filter(number__icontains=words).select_related(
        "customer", "model"
    ) | Order.objects.filter(customer__name__icontains=words).select_related("customer", "model")
    items = Item.objects.filter(code__icontains=words) | Item.objects.filter(name__icontains=words)
    batches = CutBatch.objects.filter(number__icontains=words, state__in=CutBatch.OPEN)
    bought = PurchaseOrder.objects.filter(number__icontains=words).select_related("supplier")
    return [
        *(
            _entry(
                "order",
                order.number,
                f"{order.model.name} for {order.customer.name}",
                address("orders:order", (order.number,)),
            )
            for order in orders.distinct()[:MOST_FOUND]
        ),
        *(
            _entry("part", item.code, item.name, address("planning:card", (item.code,)))
            for item in items.distinct()[:MOST_FOUND]
        ),
        *(
            _entry(
                "cut batch",
                batch.number,
                f"{batch.grade} {batch.thickness_mm} mm",
                address("laser:batch", (batch.number,)),
            )
            for batch in batches[:MOST_FOUND]
        ),
        *(
            _entry(
                "purchase order",
                order.number,
                order.supplier.name,
                address("buying:order", (order.number,)),
            )
            for order in bought[:MOST_FOUND]
        ),
    ]


def _entry(kind: str, code: str, name: str, url: str | None) -> dict[str, str]:
    return {"kind": kind, "code": code, "name": name, "url": url or ""}


@login_not_required
def healthy(request: HttpRequest) -> JsonResponse:
    """For a watchman: the database answers."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        cursor.fetchone()
    return JsonResponse({"healthy": True})


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "site/forbidden.html", {"permission": str(exception)}, status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "site/not_found.html", status=404)


def broken(request: HttpRequest) -> HttpResponse:
    # No context processors here: the database may be what broke.
    return render(None, "site/broken.html", status=500)
