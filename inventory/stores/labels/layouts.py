"""Where labels lie on a page: arithmetic of sheets and of single labels, in millimetres."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bom.kernel.errors import Problem, ProblemError

# A label narrower or lower than this holds no code that a scanner reads.
LEAST_MM = 15.0
SLACK_MM = 0.05


@dataclass(frozen=True)
class Sheet:
    """Labels on a page: how many, how large, where the first one begins, and from one to the next.

    Label stock on a roll is a page that holds one label. Raises ProblemError where the labels do not fit.
    """

    page_width_mm: float
    page_height_mm: float
    columns: int
    rows: int
    label_width_mm: float
    label_height_mm: float
    left_mm: float = 0.0
    top_mm: float = 0.0
    pitch_x_mm: float = 0.0
    pitch_y_mm: float = 0.0

    def __post_init__(self) -> None:
        problems = [*self._too_small(), *self._overlaps(), *self._beyond()]
        if problems:
            raise ProblemError(*problems)

    @property
    def places(self) -> int:
        """How many labels a page holds."""
        return self.columns * self.rows

    def spots(self, count: int, first: int = 1) -> Iterator[tuple[int, float, float]]:
        """Page (from 0) and upper left corner of `count` labels, row by row, the first at place `first` (from 1).

        Raises:
            ProblemError: the page has no place with that number.
        """
        if not 1 <= first <= self.places:
            raise ProblemError(
                Problem(f"The sheet has no place {first}", "first free place", f"Choose 1 to {self.places}.")
            )
        for place in range(first - 1, first - 1 + count):
            page, on_page = divmod(place, self.places)
            row, column = divmod(on_page, self.columns)
            yield page, self.left_mm + column * self.pitch_x_mm, self.top_mm + row * self.pitch_y_mm

    def _too_small(self) -> Iterator[Problem]:
        if self.columns < 1 or self.rows < 1:
            yield Problem("A sheet has at least one column and one row", "columns and rows", "Count them.")
        if min(self.label_width_mm, self.label_height_mm) < LEAST_MM:
            yield Problem(
                f"A label of {self.label_width_mm:g} × {self.label_height_mm:g} mm holds no readable code",
                "label size",
                f"Use labels of at least {LEAST_MM:g} × {LEAST_MM:g} mm.",
            )

    def _overlaps(self) -> Iterator[Problem]:
        for word, count, pitch, size in (
            ("across", self.columns, self.pitch_x_mm, self.label_width_mm),
            ("down", self.rows, self.pitch_y_mm, self.label_height_mm),
        ):
            if count > 1 and pitch < size - SLACK_MM:
                yield Problem(
                    f"Labels of {size:g} mm set {pitch:g} mm apart {word} overlap",
                    f"pitch {word}",
                    "Measure from the edge of one label to the same edge of the next.",
                )

    def _beyond(self) -> Iterator[Problem]:
        right = self.left_mm + (self.columns - 1) * self.pitch_x_mm + self.label_width_mm
        bottom = self.top_mm + (self.rows - 1) * self.pitch_y_mm + self.label_height_mm
        for word, edge, page in (
            ("right", right, self.page_width_mm),
            ("lower", bottom, self.page_height_mm),
        ):
            if edge > page + SLACK_MM:
                yield Problem(
                    f"The labels reach {edge - page:.1f} mm beyond the {word} edge of the page",
                    "margins and pitch",
                    "Measure the sheet again.",
                )
        if self.left_mm < 0 or self.top_mm < 0:
            yield Problem("A margin is below zero", "margins", "Measure from the edge of the page inwards.")
