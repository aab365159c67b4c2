"""The parts of a draft's form that say how what is typed rates, how it is set up, and what it costs."""

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from bom.kernel.pages import needs, page
from production.orders.models import Order
from production.orders.numbers import trailer_number
from production.orders.rating import vehicle_of
from production.site.costs.showing import kind_rows
from production.site.orders.live import rated_as_typed, reckoned_as_typed


@require_GET
def live(request: HttpRequest, number: str = "") -> HttpResponse:
    """Ratings and set-up of the form as it stands now; htmx gets the part alone, nothing is saved."""
    order = Order.objects.filter(number=number).select_related("vehicle").first() if number else None
    towed_by = getattr(order, "vehicle", None)
    vehicle = vehicle_of(towed_by) if towed_by else None
    found = rated_as_typed(request.GET.dict(), timezone.localdate(), vehicle, trailer_number(number))
    return page(request, "orders/live.html", {"live": found, "order": order}, part="orders/_live.html")


@needs("production.see_cost")
@require_GET
def live_cost(request: HttpRequest) -> HttpResponse:
    """What the form as it stands now costs, by kinds; htmx gets the part alone."""
    reckoned = reckoned_as_typed(request.GET.dict(), timezone.localdate())
    context = {"reckoned": reckoned, "kinds": kind_rows(reckoned) if reckoned else []}
    return page(request, "orders/live_cost.html", context, part="orders/_live_cost.html")
