"""Which parts of a sheet the operator has marked as bad, kept in the address: nothing is lost on a reload."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from urllib.parse import urlencode


@dataclass(frozen=True)
class Reason:
    """Why a part is bad. A lost part is one that nobody can show; it is owed again all the same."""

    code: str
    words: str
    is_lost: bool = False


REASONS = (
    Reason("edge", "burnt or rough edge"),
    Reason("through", "not cut through"),
    Reason("tipped", "tipped up and was hit"),
    Reason("steel", "fault in the steel"),
    Reason("lost", "lost between the slats", is_lost=True),
)
BY_CODE = {reason.code: reason for reason in REASONS}
FIRST = REASONS[0].code


@dataclass(frozen=True)
class Marking:
    """Reason codes by placement id."""

    bad: Mapping[int, str]

    @classmethod
    def read(cls, values: Iterable[str], known: Iterable[int]) -> "Marking":
        """From values like "12:edge"; what names no part of this sheet or no reason is passed over."""
        on_sheet = set(known)
        bad: dict[int, str] = {}
        for value in values:
            part, _, reason = value.partition(":")
            if part.isdecimal() and int(part) in on_sheet and reason in BY_CODE:
                bad[int(part)] = reason
        return cls(bad)

    @property
    def values(self) -> list[str]:
        return [f"{placement}:{reason}" for placement, reason in self.bad.items()]

    def query(self) -> str:
        """The address's query that holds this marking; "?" for none, so that a link always clears."""
        return f"?{urlencode([('bad', value) for value in self.values])}"

    def turned(self, placement: int) -> "Marking":
        """With this part marked bad if it was good, and good if it was bad."""
        bad = dict(self.bad)
        if bad.pop(placement, None) is None:
            bad[placement] = FIRST
        return Marking(bad)

    def because(self, placement: int, reason: str) -> "Marking":
        return Marking({**self.bad, placement: reason})

    def scrapped(self) -> dict[int, str]:
        """Reasons in words of the parts that are scrap."""
        return {one: BY_CODE[code].words for one, code in self.bad.items() if not BY_CODE[code].is_lost}

    def lost(self) -> dict[int, str]:
        """Reasons in words of the parts that are lost."""
        return {one: BY_CODE[code].words for one, code in self.bad.items() if BY_CODE[code].is_lost}
