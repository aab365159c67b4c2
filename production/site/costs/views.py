"""What orders and models cost, and the rates they are reckoned with. For people who may see it."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from bom.catalogue.models import Finish, TrailerModel
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.kernel.tables import table_page
from production.orders.cost_models import CostSnapshot
from production.orders.models import Order
from production.orders.numbers import trailer_number
from production.shop.models import CostAllowance, WorkCentreRate
from production.shop.rates import rates_on, set_allowances, set_rate
from production.site.costs.asking import how_kept
from production.site.costs.filters import CostFilter
from production.site.costs.forms import AllowanceForm, RateForm
from production.site.costs.keeping import model_snapshot
from production.site.costs.reckoning import (
    Asked,
    Reckoned,
    asked_by,
    reckon_asked,
    reckon_orders,
    usual_forms,
)
from production.site.costs.showing import kind_rows, placed_rows, tree_rows, work_rows
from production.site.costs.tables import CostTable
from production.works.person import person

ORDERS_A_PAGE = 15
PERCENT = 100


@needs("production.see_cost")
@require_GET
def costs(request: HttpRequest) -> HttpResponse:
    """Confirmed orders with price, cost and what is earned."""
    return table_page(
        request,
        table_class=CostTable,
        queryset=Order.objects.filter(bill__isnull=False)
        .exclude(state=Order.State.CANCELLED)
        .select_related("customer", "model", "cost_snapshot"),
        filterset_class=CostFilter,
        template="costs/costs.html",
        export_name="costs",
        rows_a_page=ORDERS_A_PAGE,
    )


@needs("production.see_cost")
@require_GET
def order(request: HttpRequest, number: str) -> HttpResponse:
    """One order opened down to the leaf: cost, mass, surface, zinc, balance."""
    day = timezone.localdate()
    try:
        found, asked = asked_by(number)
    except Order.DoesNotExist as error:
        raise Http404(f"There is no order {number}.") from error
    reckoned = (
        reckon_orders([found], day).get(found.pk) or (reckon_asked([asked], day, trailer_number(number))[0])
    )
    context = {"order": found, "is_draft": found.bill_id is None, **_shown(reckoned)}
    return page(request, "costs/order.html", context)


@needs("production.see_cost")
@require_GET
def models(request: HttpRequest) -> HttpResponse:
    """Every model as it is mostly ordered."""
    forms = usual_forms(TrailerModel.objects.filter(is_active=True).select_related("cost_snapshot"))
    rows: list[tuple[TrailerModel, CostSnapshot | None]] = [
        (one.model, getattr(one.model, "cost_snapshot", None)) for one in forms
    ]
    if any(kept is None for _, kept in rows):
        day = timezone.localdate()
        rows = [
            (one.model, model_snapshot(one, found, day, ""))
            for one, found in zip(forms, reckon_asked(forms, day), strict=True)
        ]
    kept = how_kept([one for _, one in rows if one is not None])
    return page(request, "costs/models.html", {"rows": rows, "kept": kept})


@needs("production.see_cost")
@require_GET
def model(request: HttpRequest, model: str) -> HttpResponse:
    """One model in its usual form, opened down to the leaf."""
    forms = usual_forms(TrailerModel.objects.filter(code=model))
    if not forms:
        raise Http404(f"There is no model {model}.")
    reckoned = reckon_asked(forms, timezone.localdate())[0]
    context = {"form": forms[0], "model": forms[0].model, "finish": _finish(forms[0]), **_shown(reckoned)}
    return page(request, "costs/model.html", context)


def _finish(asked: Asked) -> str:
    code = asked.answers.finish
    return Finish(code).label if code in Finish.values else "no finish permitted"


@needs("production.see_cost")
@require_http_methods(["GET", "POST"])
def rates(request: HttpRequest) -> HttpResponse:
    """Hourly rates and allowances with their days; new ones are added, old ones stay to be seen."""
    return _rates_page(request) if request.method == "GET" else _change_rates(request)


@needs("production.change_rate")
def _change_rates(request: HttpRequest) -> HttpResponse:
    is_rate = request.POST.get("what") == "rate"
    form = RateForm(request.POST) if is_rate else AllowanceForm(request.POST)
    try:
        if not form.is_valid():
            raise ProblemError(*_problems_of(form))
        _write(form.cleaned_data, is_rate, request)
    except ProblemError as refusal:
        return _rates_page(request, refusal, form)
    messages.success(request, "Written down. Costs are reckoned with it from its day on.")
    return redirect("costs:rates")


def _write(data: dict[str, Any], is_rate: bool, request: HttpRequest) -> None:
    if is_rate:
        set_rate(**data, by=person(request))
        return
    shares = {name: data[name] / PERCENT for name in ("sheet_yield", "bar_yield", "scrap_share")}
    set_allowances(**(data | shares), by=person(request))


def _problems_of(form: RateForm | AllowanceForm) -> list[Problem]:
    return [
        Problem(str(error), str(form.fields[name].label), "Write it again.")
        for name, errors in form.errors.items()
        for error in errors
    ]


def _rates_page(
    request: HttpRequest,
    refusal: ProblemError | None = None,
    form: RateForm | AllowanceForm | None = None,
) -> HttpResponse:
    today = timezone.localdate()
    context = {
        "in_force": list(rates_on(today).values()),
        "written": WorkCentreRate.objects.select_related("work_centre").order_by("-from_day", "work_centre"),
        "allowances": CostAllowance.objects.all(),
        "rate_form": form if isinstance(form, RateForm) else RateForm(initial={"from_day": today}),
        "allowance_form": form
        if isinstance(form, AllowanceForm)
        else AllowanceForm(initial={"from_day": today}),
        "key": new_key(),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "costs/rates.html", context, status=409 if refusal else 200)


def _shown(reckoned: Reckoned | None) -> dict[str, Any]:
    if reckoned is None:
        return {"reckoned": None}
    work = work_rows(reckoned)
    return {
        "reckoned": reckoned,
        "surfaces": reckoned.bill.surfaces[reckoned.bill.expansion.top_item],
        "balance": reckoned.bill.balance,
        "placed": placed_rows(reckoned),
        "kinds": kind_rows(reckoned),
        "work": work,
        "minutes": sum((row.minutes for row in work), 0),
        "tree": tree_rows(reckoned),
        "day": timezone.localdate(),
    }
