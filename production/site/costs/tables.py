"""Orders with what they cost and what is earned on them."""

from decimal import Decimal
from functools import cached_property
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import money, percent
from production.orders.cost_models import CostSnapshot
from production.orders.models import Order
from production.site.costs.asking import HowKept, how_kept
from production.site.costs.keeping import current, snapshot_of
from production.site.costs.reckoning import reckon_orders


class CostTable(Table):
    """What is kept of each order; only what is lacking on the page shown is reckoned, all of it at once."""

    number = tables.Column(verbose_name="Order")
    customer = tables.Column(accessor="customer__name", verbose_name="Customer")
    model = tables.Column(accessor="model__code", verbose_name="Model")
    finish = tables.Column(accessor="get_finish_display", verbose_name="Finish", order_by="finish")
    state = tables.Column(accessor="get_state_display", verbose_name="State", order_by="state")
    price = number_column(verbose_name="Price")
    cost = number_column(verbose_name="Cost", empty_values=(), orderable=False)
    margin = number_column(verbose_name="Earned", empty_values=(), orderable=False)
    share = number_column(verbose_name="Of the price", empty_values=(), orderable=False)

    class Meta(Table.Meta):
        empty_text = "No confirmed order here. Confirm an order, and its cost stands here."

    @cached_property
    def kept(self) -> dict[int, CostSnapshot]:
        """What is kept of the rows shown; what is lacking is worked out now, all of it at once."""
        rows = [row.record for row in self.paginated_rows]
        kept = {order.pk: one for order in rows if (one := current(order))}
        lacking = [order for order in rows if order.pk not in kept]
        day = timezone.localdate()
        for pk, found in reckon_orders(lacking, day).items() if lacking else ():
            kept[pk] = snapshot_of(found, day, "")
        return kept

    @cached_property
    def how_kept(self) -> HowKept:
        return how_kept(list(self.kept.values()))

    def cost_of(self, order: Order) -> Decimal:
        return self.kept[order.pk].cost or Decimal(0)

    def margin_of(self, order: Order) -> Decimal:
        return order.price - self.cost_of(order)

    def share_of(self, order: Order) -> Decimal | None:
        return self.margin_of(order) / order.price if order.price else None

    def render_number(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("costs:order", args=[value]), value)

    def render_price(self, value: Any) -> str:
        return money(value)

    def render_cost(self, record: Order) -> str:
        return money(self.cost_of(record))

    def render_margin(self, record: Order) -> SafeString | str:
        found = self.margin_of(record)
        return (
            format_html('<span class="say-late">{} lost</span>', money(-found)) if found < 0 else money(found)
        )

    def render_share(self, record: Order) -> str:
        return percent(self.share_of(record), 1)

    def value_cost(self, record: Order) -> Decimal:
        return self.cost_of(record)

    def value_margin(self, record: Order) -> Decimal:
        return self.margin_of(record)

    def value_share(self, record: Order) -> Decimal | None:
        return self.share_of(record)
