"""What the whole open book needs of every item, and for which orders each figure stands."""

from typing import Any

import django_filters
import django_tables2
from django.db.models import Count, DateField, F, OuterRef, Q, QuerySet, Subquery, Sum, Value
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.views.decorators.http import require_GET

from bom.items.models import Item
from bom.kernel.tables import Table, number_column, table_page
from bom.templatetags.workshop import day_text, quantity_text
from inventory.stock.models import Reservation
from inventory.stock.queries import on_hand_balances
from inventory.stock.sums import QUANTITY, summed
from inventory.stores.queries import to_come_of, total_of
from production.orders.models import FrozenLine, FrozenTotal, Order
from production.planning.models import BookNeed, Plan, Suggestion

MOST_PARENTS = 30


class BookFilter(django_filters.FilterSet):  # type: ignore[misc]
    words = django_filters.CharFilter(method="by_words", label="Part")
    kind = django_filters.ChoiceFilter(
        choices=Item.Kind, field_name="item__kind", label="Kind", empty_label="all"
    )

    class Meta:
        model = BookNeed
        fields = ["words", "kind"]

    def by_words(self, queryset: QuerySet[BookNeed], _name: str, words: str) -> QuerySet[BookNeed]:
        return queryset.filter(Q(item__code__icontains=words) | Q(item__name__icontains=words))


class BookTable(Table):
    """One row an item: what the book needs in all, and what there is and comes."""

    code = django_tables2.Column(
        accessor="item__code",
        linkify=("planning:card", {"code": django_tables2.A("item__code")}),
        verbose_name="Part",
    )
    name = django_tables2.Column(accessor="item__name", verbose_name="Name")
    quantity = number_column(verbose_name="Needed in all")
    orders = number_column(verbose_name="For orders")
    on_hand = number_column(verbose_name="On hand")
    kept = number_column(verbose_name="Of it kept")
    coming = number_column(verbose_name="Coming")
    suggested = number_column(verbose_name="Still to buy or make")
    unit = django_tables2.Column(accessor="item__unit", verbose_name="Unit", orderable=False)

    def render_unit(self, record: BookNeed) -> str:
        return record.item.unit

    class Meta(Table.Meta):
        model = BookNeed
        fields = ("code", "name", "quantity", "orders", "on_hand", "kept", "coming", "suggested", "unit")
        order_by = "code"
        empty_text = "No needs are known. They are added up when a plan is made; release one under The week."

    def render_quantity(self, value: Any, record: BookNeed) -> SafeString:
        address = reverse("planning:book_item", args=[record.item.code])
        return format_html('<a href="{}">{}</a>', address, quantity_text(value))

    def value_quantity(self, record: BookNeed) -> object:
        return record.quantity

    def render_on_hand(self, value: Any) -> str:
        return quantity_text(value) if value else ""

    render_kept = render_coming = render_suggested = render_on_hand


class OrderNeedTable(Table):
    """The orders behind one figure, the soonest due first."""

    number = django_tables2.Column(
        linkify=("orders:order", [django_tables2.A("number")]), verbose_name="Order"
    )
    customer = django_tables2.Column(accessor="customer__name", verbose_name="Customer")
    state = django_tables2.Column(verbose_name="State")
    due = django_tables2.Column(verbose_name="Due")
    quantity = number_column(verbose_name="In its trailer")
    kept = number_column(verbose_name="Kept for it")

    class Meta(Table.Meta):
        model = Order
        fields = ("number", "customer", "state", "due", "quantity", "kept")
        order_by = "due"
        empty_text = "No open order needs it."

    def render_due(self, value: Any) -> str:
        return day_text(value)

    def render_quantity(self, value: Any) -> str:
        return quantity_text(value) if value else ""

    render_kept = render_quantity


@require_GET
def book(request: HttpRequest) -> HttpResponse:
    """Every item that the orders of the released plan need, with the total over the whole book."""
    plan = Plan.current()
    return table_page(
        request,
        table_class=BookTable,
        queryset=_rows(plan),
        filterset_class=BookFilter,
        template="planning/book.html",
        export_name="needs-of-the-book",
        context={"orders_planned": plan.orders_planned if plan else 0},
    )


@require_GET
def book_item(request: HttpRequest, code: str) -> HttpResponse:
    """The open orders behind one total, and what it goes into in their bills."""
    item = get_object_or_404(Item, code=code)
    rows = _orders(item)
    found = rows.aggregate(total=summed(), orders=Count("pk"))
    planned = BookNeed.objects.filter(plan=Plan.current(), item=item).first()
    context = {
        "item": item,
        "planned": planned,
        "total": found["total"] or 0,
        "parents": _parents(item),
        "has_changed": planned is not None
        and (round(planned.quantity - (found["total"] or 0), 4) != 0 or planned.orders != found["orders"]),
    }
    return table_page(
        request,
        table_class=OrderNeedTable,
        queryset=rows,
        template="planning/book_item.html",
        export_name=f"needs-{item.code}",
        context=context,
    )


def _rows(plan: Plan | None) -> QuerySet[BookNeed]:
    suggestions = Suggestion.objects.filter(plan=plan, item=OuterRef("item")).order_by().values("item")
    suggested = Subquery(suggestions.annotate(total=Sum("quantity")).values("total"))
    return (
        BookNeed.objects.filter(plan=plan)
        .select_related("item")
        .annotate(
            on_hand=total_of(on_hand_balances(), "item"),
            kept=total_of(Reservation.objects.all(), "item"),
            coming=to_come_of("item"),
            suggested=Coalesce(suggested, Value(0), output_field=QUANTITY),
        )
    )


def _orders(item: Item) -> QuerySet[Order]:
    total = FrozenTotal.objects.filter(bill=OuterRef("bill"), item=item).values("quantity")[:1]
    kept = (
        Reservation.objects.filter(purpose=OuterRef("purpose"), item=item)
        .order_by()
        .values("item")
        .annotate(total=summed())
        .values("total")
    )
    return (
        Order.objects.filter(state__in=Order.OPEN, bill__totals__item=item)
        .select_related("customer")
        .annotate(
            due=Coalesce("promised_on", "asked_for", output_field=DateField()),
            quantity=Subquery(total),
            kept=Coalesce(Subquery(kept), Value(0), output_field=QUANTITY),
        )
    )


def _parents(item: Item) -> list[Any]:
    """What the item goes into in the bills of open orders: so many in each, in so many orders."""
    rows = FrozenLine.objects.filter(item=item, bill__orders__state__in=Order.OPEN).order_by("parent__code")
    return list(
        rows.values("parent__code", "parent__name", per=F("quantity_per")).annotate(
            orders=Count("bill__orders", distinct=True)
        )[:MOST_PARENTS]
    )
