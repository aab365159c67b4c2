"""What went wrong, said so that the person who sees it can put it right."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True)
class Problem:
    """One thing wrong.

    `what` says what happened to which thing, `where` where it stands ("orders.xlsx, row 7, column
    Finish"), `mend` how to put it right. All three are for people, in plain words.
    """

    what: str
    where: str = ""
    mend: str = ""

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        return " ".join(part for part in (f"{place}{_sentence(self.what)}", _sentence(self.mend)) if part)

    def within(self, place: str) -> Problem:
        """The same problem seen from further out: `place` is put before where it stands."""
        return replace(self, where=f"{place}, {self.where}" if self.where else place)


class ProblemError(Exception):
    """Refuses what was asked, carrying every problem that was found, in the order found.

    A bare sentence is taken as a problem without a place. At least one problem is needed; without
    any, ValueError is raised.
    """

    def __init__(self, *problems: Problem | str) -> None:
        if not problems:
            raise ValueError("A ProblemError needs at least one problem.")
        self.problems: tuple[Problem, ...] = tuple(
            Problem(problem) if isinstance(problem, str) else problem for problem in problems
        )
        super().__init__(*self.problems)

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)

    def within(self, place: str) -> ProblemError:
        """The same refusal, every problem placed within `place`."""
        return ProblemError(*(problem.within(place) for problem in self.problems))


def _sentence(text: str) -> str:
    return text if not text or text[-1] in ".!?" else f"{text}."
