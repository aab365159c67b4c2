"""The laser's speeds: which rows hold on a day, their forms, and taking a row off."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django import forms
from django.db import transaction
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from production.cutting.nesting.times import (
    PRACTICE,
    USUAL_FEEDS,
    USUAL_SHEET_MINUTES,
    USUAL_TRAVEL_MM_PER_MIN,
    FeedRow,
    Speed,
    feed_for,
    usual_source,
)
from production.cutting.speed_models import CutSpeed, SheetHandling

if TYPE_CHECKING:
    _SpeedForm = forms.ModelForm[CutSpeed]
    _HandlingForm = forms.ModelForm[SheetHandling]
else:
    _SpeedForm = _HandlingForm = forms.ModelForm

EVERY_GRADE = ""


@dataclass(frozen=True)
class Feed:
    """A row of feeds and where it comes from, in words."""

    row: FeedRow
    source: str


SHIPPED: Mapping[float, Feed] = {
    row.thickness_mm: Feed(row, usual_source(row.thickness_mm)) for row in USUAL_FEEDS
}


@dataclass(frozen=True)
class SpeedBook:
    """What holds on one day: feeds by grade and thickness, and what every sheet takes beside cutting."""

    feeds: Mapping[str, Mapping[float, Feed]]
    travel_mm_per_min: float = USUAL_TRAVEL_MM_PER_MIN
    sheet_minutes: float = USUAL_SHEET_MINUTES
    handling_source: str = PRACTICE

    def of_grade(self, grade: str) -> dict[float, Feed]:
        """The table of one grade: the shipped figures, in their place the rows of every grade, then its own."""
        return {**SHIPPED, **self.feeds.get(EVERY_GRADE, {}), **self.feeds.get(grade, {})}

    def speed(self, grade: str, thickness_mm: float) -> Speed:
        """What a metal is cut at; between two rows by proportion, beyond the ends the end row holds.

        Raises ValueError when the thickness is not above zero.
        """
        table = self.of_grade(grade)
        row = feed_for(thickness_mm, [feed.row for feed in table.values()])
        return Speed(
            row.feed_mm_per_min,
            row.pierce_seconds,
            self.travel_mm_per_min,
            self.sheet_minutes,
            f"{_source(table, thickness_mm)}; travel and loading: {self.handling_source}",
        )


def _source(table: Mapping[float, Feed], thickness_mm: float) -> str:
    if thickness_mm in table:
        return table[thickness_mm].source
    known = sorted(table)
    at = bisect_left(known, thickness_mm)
    near = known[max(at - 1, 0) : at + 1]
    words = " and ".join(f"{one:g} mm" for one in near)
    sources = "; ".join(dict.fromkeys(table[one].source for one in near))
    return f"{'by proportion from' if len(near) > 1 else 'as at'} {words} ({sources})"


def speeds_in_force(day: date | None = None) -> SpeedBook:
    """The speeds that hold on a day, today where none is said. Two queries."""
    day = day or timezone.localdate()
    feeds: dict[str, dict[float, Feed]] = {}
    # The newest comes last and takes the place of those before it.
    for one in CutSpeed.objects.filter(holds_from__lte=day).order_by("holds_from"):
        thickness = float(one.thickness_mm)
        row = FeedRow(thickness, float(one.feed_mm_per_min), float(one.pierce_seconds))
        feeds.setdefault(one.grade, {})[thickness] = Feed(row, one.source)
    handling = SheetHandling.objects.filter(holds_from__lte=day).order_by("-holds_from").first()
    if handling is None:
        return SpeedBook(feeds)
    return SpeedBook(feeds, float(handling.travel_mm_per_min), float(handling.sheet_minutes), handling.source)


class SpeedForm(_SpeedForm):
    """One row of feeds from a day on."""

    grade = forms.ChoiceField(required=False)

    class Meta:
        model = CutSpeed
        fields = ["grade", "thickness_mm", "feed_mm_per_min", "pierce_seconds", "holds_from", "source"]
        widgets = {"holds_from": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")}

    def __init__(self, *args: object, **words: object) -> None:
        super().__init__(*args, **words)  # type: ignore[arg-type]
        grades = Item.objects.filter(kind=Item.Kind.SHEET).exclude(grade="")
        known = grades.order_by("grade").values_list("grade", flat=True).distinct()
        field = self.fields["grade"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(EVERY_GRADE, "every grade"), *((grade, grade) for grade in known)]


class HandlingForm(_HandlingForm):
    """What every sheet takes beside cutting, from a day on."""

    class Meta:
        model = SheetHandling
        fields = ["travel_mm_per_min", "sheet_minutes", "holds_from", "source"]
        widgets = {"holds_from": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")}


@transaction.atomic
def take_off_speed(*, kind: str, pk: str) -> CutSpeed | SheetHandling:
    """Take a row off; `kind` is "speed" or "handling". The row before it holds again, else the shipped figure.

    Sheets that are laid out keep the working they were reckoned with. Raises `ProblemError` where the row is gone.
    """
    found: CutSpeed | SheetHandling | None = None
    if pk.isdecimal():
        found = (SheetHandling if kind == "handling" else CutSpeed).objects.filter(pk=pk).first()
    if found is None:
        raise ProblemError(
            Problem("This row is taken off already", "speeds of the laser", "Look at the list as it is now.")
        )
    found.delete()
    return found
