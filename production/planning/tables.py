"""The list of suggestions."""

import django_tables2
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import day_text, money, quantity_text
from inventory.buying.models import PurchaseOrder
from production.planning.models import Suggestion, SupplyChange

MOST_ORDERS = 6


class SuggestionTable(Table):
    """What to buy and to make, the soonest to begin first, with the orders each serves."""

    choose = django_tables2.Column(
        empty_values=(), orderable=False, verbose_name="", exclude_from_export=True
    )
    kind = django_tables2.Column(verbose_name="What to do")
    quantity = number_column(verbose_name="How many")
    item = django_tables2.Column(
        linkify=("planning:card", {"code": django_tables2.A("item__code")}), verbose_name="Part"
    )
    begin_on = django_tables2.Column(verbose_name="Begin")
    needed_on = django_tables2.Column(verbose_name="Needed")
    serves = django_tables2.Column(empty_values=(), orderable=False, verbose_name="For")

    class Meta(Table.Meta):
        model = Suggestion
        fields = ("choose", "kind", "quantity", "item", "begin_on", "needed_on", "serves")
        empty_text = "Nothing to buy or make. Suggestions come with a released plan."

    def render_choose(self, record: Suggestion) -> SafeString | str:
        """A box to tick where something can be bought; else where it stands."""
        if record.kind != Suggestion.Kind.BUY:
            return ""
        if is_on_order(record):
            return format_html("<small>on {}</small>", record.purchase_line.order.number)  # type: ignore[union-attr]
        return format_html(
            '<input type="checkbox" name="suggestion" value="{}" aria-label="Buy {}">',
            record.pk,
            record.item.code,
        )

    def render_quantity(self, value: object, record: Suggestion) -> str:
        return f"{quantity_text(record.quantity)} {record.item.unit}"

    def value_quantity(self, record: Suggestion) -> object:
        return record.quantity

    def render_begin_on(self, record: Suggestion) -> SafeString | str:
        if not record.days_past:
            return day_text(record.begin_on)
        return format_html(
            '{} <span class="say-late">{}</span>', day_text(record.begin_on), past_text(record.days_past)
        )

    def render_needed_on(self, record: Suggestion) -> str:
        return day_text(record.needed_on)

    def render_serves(self, record: Suggestion) -> SafeString:
        numbers = self._orders(record)
        more = f" and {len(numbers) - MOST_ORDERS} more" if len(numbers) > MOST_ORDERS else ""
        listed = format_html_join(", ", "{}", ((number,) for number in numbers[:MOST_ORDERS]))
        return format_html("{}{}", listed or "the shelf", more)

    def value_serves(self, record: Suggestion) -> str:
        return ", ".join(self._orders(record)) or "the shelf"

    def _orders(self, record: Suggestion) -> list[str]:
        return sorted({peg.order.number for peg in record.pegs.all()})


def _named(name: str, css: str = "") -> dict[str, dict[str, str]]:
    """A column whose name stands before each figure where a phone shows the rows one below the other."""
    return {"td": {"data-l": name, "class": css}, "th": {"class": css}}


class SupplyChangeTable(Table):
    """What to change about supplies on their way, what makes orders late first."""

    kind = django_tables2.Column(verbose_name="What to do")
    quantity = django_tables2.Column(verbose_name="How many", attrs=_named("How many", "n"))
    item = django_tables2.Column(
        linkify=("planning:card", {"code": django_tables2.A("item__code")}), verbose_name="Part"
    )
    purchase_line = django_tables2.Column(
        verbose_name="On its way", empty_values=(), orderable=False, attrs=_named("On its way")
    )
    wanted_on = django_tables2.Column(verbose_name="Wanted", empty_values=(), attrs=_named("Wanted"))
    late_days = django_tables2.Column(
        verbose_name="Waits for it", empty_values=(), attrs=_named("Waits for it")
    )
    money = django_tables2.Column(verbose_name="Money in it", attrs=_named("Money in it", "n"))
    sentence = django_tables2.Column(verbose_name="Why", orderable=False, attrs=_named("Why", "words"))

    class Meta(Table.Meta):
        model = SupplyChange
        attrs = {"class": "list stack"}
        fields = ("kind", "quantity", "item", "purchase_line", "wanted_on", "late_days", "money", "sentence")
        order_by = ("-late_days", "-money")
        empty_text = "Everything on its way comes when it is needed, as far as the released plan knows."

    def render_quantity(self, record: SupplyChange) -> str:
        return f"{quantity_text(record.quantity)} {record.item.unit}"

    def value_quantity(self, record: SupplyChange) -> object:
        return record.quantity

    def render_purchase_line(self, record: SupplyChange) -> SafeString | str:
        """The order and its day; where that was changed since, the new day."""
        line = record.purchase_line
        if line is None:
            return format_html("{} lies free", record.instead.code if record.instead else "")
        link = format_html(
            '<a href="{}">{}</a> {}',
            reverse("buying:order", args=[line.order.number]),
            line.order.number,
            day_text(record.stands_on),
        )
        if line.order.state == PurchaseOrder.State.CANCELLED:
            return format_html("{}<br><small>cancelled since</small>", link)
        if line.due_on != record.stands_on:
            return format_html("{}<br><small>now {}</small>", link, day_text(line.due_on))
        return link

    def value_purchase_line(self, record: SupplyChange) -> str:
        return record.purchase_line.order.number if record.purchase_line else ""

    def render_wanted_on(self, record: SupplyChange) -> str:
        return day_text(record.wanted_on) if record.wanted_on else "not at all"

    def value_wanted_on(self, record: SupplyChange) -> object:
        return record.wanted_on or ""

    def render_late_days(self, record: SupplyChange) -> SafeString | str:
        """Who waits, and how long the first of them."""
        orders = list(record.orders.all())
        if not orders:
            return "nobody"
        links = format_html_join(
            ", ",
            '<a href="{}">{}</a>',
            ((reverse("orders:order", args=[order.number]), order.number) for order in orders[:MOST_ORDERS]),
        )
        more = f" and {len(orders) - MOST_ORDERS} more" if len(orders) > MOST_ORDERS else ""
        days = f"{record.late_days} working day{'' if record.late_days == 1 else 's'}"
        return format_html('{}{} <span class="say-late">{}</span>', links, more, days)

    def value_late_days(self, record: SupplyChange) -> int:
        return record.late_days

    def render_money(self, record: SupplyChange) -> str:
        return money(record.money)

    def value_money(self, record: SupplyChange) -> object:
        return record.money


def past_text(days: int) -> str:
    """How long ago it should have begun, in words."""
    return f"{days} working day{'' if days == 1 else 's'} past"


def is_on_order(record: Suggestion) -> bool:
    """Whether it stands on a purchase order that is not cancelled."""
    line = record.purchase_line
    return line is not None and line.order.state != PurchaseOrder.State.CANCELLED
