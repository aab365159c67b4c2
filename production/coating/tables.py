"""The list of galvanising loads and its filter."""

import django_filters
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import kg, moment
from production.coating.models import GalvanisingLoad
from production.works.card_tables import STACKED

STATES = [
    (GalvanisingLoad.State.RELEASED.value, "released"),
    (GalvanisingLoad.State.AWAY.value, "away"),
    (GalvanisingLoad.State.BACK.value, "back"),
]


class LoadTable(Table):
    """Loads, the latest first."""

    mass = number_column(verbose_name="Mass")
    max_kg = number_column(verbose_name="Lorry takes")
    line_count = number_column(verbose_name="Lines")
    signed = number_column(verbose_name="Signed for")

    class Meta(Table.Meta):
        model = GalvanisingLoad
        attrs = STACKED
        fields = ("number", "state", "leaves_at", "left_at", "back_at", "came_back_at")
        sequence = (*fields, "mass", "max_kg", "line_count", "signed")
        empty_text = "No load yet. Loads appear when the manager releases a plan in the week."

    def render_number(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("coating:load", args=[value]), value)

    def render_leaves_at(self, record: GalvanisingLoad) -> str:
        return moment(record.leaves_at)

    def render_left_at(self, record: GalvanisingLoad) -> str:
        return moment(record.left_at)

    def render_back_at(self, record: GalvanisingLoad) -> str:
        return moment(record.back_at)

    def render_came_back_at(self, record: GalvanisingLoad) -> str:
        return moment(record.came_back_at)

    def render_mass(self, value: object) -> object:
        return kg(value, 0)

    def render_max_kg(self, value: object) -> object:
        return kg(value, 0)


class LoadFilter(django_filters.FilterSet):  # type: ignore[misc]
    number = django_filters.CharFilter(lookup_expr="icontains", label="Load")
    state = django_filters.ChoiceFilter(choices=STATES, label="State", empty_label="any")

    class Meta:
        model = GalvanisingLoad
        fields = ("number", "state")
