"""Named variants: the list, one with its versions, keeping an order's choices as one, and ordering again."""

from datetime import timedelta
from decimal import Decimal

from django import forms
from django.contrib import messages
from django.db.models import Count, Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from bom.catalogue.comparing import side_by_side
from bom.catalogue.models import Variant
from bom.kernel.entries import Done, Sent, sent_now, take_once
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from production.orders.models import Customer, Order
from production.orders.variants import (
    VariantName,
    copy_variant,
    keep_as_variant,
    keep_as_version,
    order_again,
)
from production.works.person import person

USUAL_WEEKS = 8
SHOWN_AT_ONCE = 5


class KeepForm(forms.Form):
    """A new variant from an order's choices."""

    code = forms.SlugField(label="Code", max_length=40)
    name = forms.CharField(label="Name", max_length=120)
    price = forms.DecimalField(
        label="Agreed price (empty: list prices)",
        min_value=0,
        max_digits=10,
        decimal_places=2,
        required=False,
    )
    note = forms.CharField(label="Note", max_length=200, required=False)

    def variant(self) -> VariantName:
        return VariantName(**{name: self.cleaned_data[name] for name in ("code", "name", "price", "note")})


class CopyForm(KeepForm):
    customer = forms.ModelChoiceField(queryset=Customer.objects.all(), to_field_name="code", label="Customer")


class VersionForm(forms.Form):
    price = forms.DecimalField(
        label="Agreed price (empty: list prices)",
        min_value=0,
        max_digits=10,
        decimal_places=2,
        required=False,
    )
    note = forms.CharField(label="What changed, and why", max_length=200)


@require_GET
def variants(request: HttpRequest) -> HttpResponse:
    """Every named variant in its current version, customer by customer; `customer` shows one alone."""
    rows = (
        Variant.objects.filter(is_current=True)
        .select_related("model")
        .annotate(ordered=Count("orders", distinct=True))
        .order_by("name", "code")
    )
    wanted = request.GET.get("customer", "")
    buyers = Customer.objects.filter(variants__is_current=True).distinct().order_by("name")
    with_their_own = buyers.filter(code=wanted) if wanted else buyers
    context = {
        "customers": with_their_own.prefetch_related(Prefetch("variants", queryset=rows, to_attr="current")),
        "nobodys": [] if wanted else rows.filter(customers=None),
        "buyers": buyers,
        "wanted": wanted,
    }
    return page(request, "orders/variants.html", context)


@require_GET
def variant(request: HttpRequest, code: str) -> HttpResponse:
    return _variant_page(request, code)


@require_POST
@needs("production.change_customer")
def copy(request: HttpRequest, code: str) -> HttpResponse:
    """A variant of its own for another customer, beginning as the current version."""
    form = CopyForm(request.POST, label_suffix="")
    if not form.is_valid():
        return _variant_page(request, code, form=form, status=422)
    found = get_object_or_404(Variant, code=code, is_current=True)
    try:
        fresh = copy_variant(
            variant=found, name=form.variant(), customer=form.cleaned_data["customer"], by=person(request)
        )
    except ProblemError as refusal:
        return _variant_page(request, code, form=form, problems=refusal.problems, status=409)
    messages.success(request, f"{fresh.name} is made for {form.cleaned_data['customer']}.")
    return redirect("orders:variant", fresh.code)


@require_POST
@needs("production.change_customer")
def keep(request: HttpRequest, number: str) -> HttpResponse:
    """The order's saved choices as a new variant, or as the next version of its own."""
    order = get_object_or_404(Order.objects.select_related("customer", "model", "variant"), number=number)
    as_version = request.POST.get("as") == "version"
    form = VersionForm(request.POST) if as_version else KeepForm(request.POST)
    if not form.is_valid():
        raise ProblemError(
            *(
                Problem(f"{form.fields[name].label}: {words[0]}", str(name))
                for name, words in form.errors.items()
            )
        )
    if isinstance(form, KeepForm):
        kept = keep_as_variant(order=order, name=form.variant(), by=person(request))
    else:
        price: Decimal | None = form.cleaned_data["price"]
        kept = keep_as_version(order=order, price=price, note=form.cleaned_data["note"], by=person(request))
    messages.success(request, f"{kept.name} is kept as version {kept.version}.")
    return redirect("orders:variant", kept.code)


@require_POST
@needs("production.add_order")
def again(request: HttpRequest, number: str) -> HttpResponse:
    """The same trailer once more, as a draft. A second click finds the draft that the first one made."""
    order = get_object_or_404(
        Order.objects.select_related("customer", "model", "variant", "market"), number=number
    )
    asked_for = timezone.localdate() + timedelta(weeks=USUAL_WEEKS)

    def work(sent: Sent) -> Done:
        draft = order_again(order=order, asked_for=asked_for, by=sent.by)
        said = f"Draft {draft.number} asks for the same as order {number}, at today's prices."
        return Done(said, reverse("orders:order", args=[draft.number]))

    done = take_once(sent=sent_now(request, "again"), take=work)
    messages.success(request, done.said)
    return redirect(done.goes_to)


def keep_context(order: Order) -> dict[str, object]:
    """What the parts of a page need that keep an order's choices or order it again."""
    newer = None
    if order.variant is not None and not order.variant.is_current:
        newer = Variant.objects.filter(code=order.variant.code, is_current=True).first()
    return {
        "keep_form": KeepForm(label_suffix="", initial={"price": order.price}),
        "version_form": VersionForm(label_suffix="", initial={"price": order.price}),
        "newer_variant": newer,
        "again_key": new_key("again"),
    }


def _variant_page(
    request: HttpRequest,
    code: str,
    *,
    form: CopyForm | None = None,
    problems: tuple[Problem, ...] = (),
    status: int = 200,
) -> HttpResponse:
    versions = list(
        Variant.objects.filter(code=code)
        .select_related("model", "made_by")
        .prefetch_related("choices__choice__group", "colours__colour", "customers")
        .annotate(ordered=Count("orders", distinct=True))
        .order_by("-version")
    )
    if not versions:
        return page(request, "site/not_found.html", status=404)
    context = {
        "variant": versions[0],
        "versions": versions[:SHOWN_AT_ONCE],
        "older": versions[SHOWN_AT_ONCE:],
        "lines": side_by_side(versions[:SHOWN_AT_ONCE]),
        "form": form or CopyForm(label_suffix="", initial={"price": versions[0].price}),
        "problems": problems,
    }
    return page(request, "orders/variant.html", context, status=status)
