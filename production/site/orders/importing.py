"""Orders from a workbook: every row a draft; looked at first, then brought in whole or not at all."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from bom.catalogue.configuring import Answers, Range, load_range, problems_of
from bom.catalogue.models import ColourPlace, Finish, Variant
from bom.items.uploads import day, number, oddities, text
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.workbooks import Row, read_rows
from bom.people.models import User
from bom.structure.wording import HULL_FIELDS
from production.orders.drafting import HullFigures, Wish, create_draft, filled
from production.orders.models import Customer, Order

COLUMNS = (
    "customer",
    "model",
    "hull",
    "hull_mass_kg",
    "hull_length_mm",
    "hull_beam_mm",
    "hull_bow_to_transom_mm",
    "asked_for",
)
COLOURS = tuple(f"colour_{place}" for place in ColourPlace.values)
OPTIONAL = ("finish", "variant", "options", "hull_centre_of_gravity_mm", "weight", "note", *COLOURS)
EXAMPLE = ("C-001", "MODEL", "Open boat", 620, 5200, 2050, 4900, "2026-06-30")
MOST_ORDERS = 500


@dataclass(frozen=True)
class Checked:
    """What a workbook would bring in: one wish a row, with the number of its row."""

    wishes: Sequence[tuple[int, Wish]]
    problems: Sequence[Problem]


@dataclass(frozen=True)
class _Known:
    customers: Mapping[str, Customer]
    variants: Mapping[str, Variant]
    catalogue: Range


def check_orders(content: bytes, *, file: str) -> Checked:
    """Look at a workbook without writing anything. Every problem is told with its row and column."""
    try:
        rows = read_rows(content, file=file, columns=COLUMNS, optional=OPTIONAL)
    except ProblemError as error:
        return Checked([], [*error.problems, *oddities(content, file)])
    problems = [*oddities(content, file), *_doubled(rows), *_too_many(rows, file)]
    if problems:
        return Checked([], problems)
    known = _Known(
        {customer.code.lower(): customer for customer in Customer.objects.all()},
        {
            variant.code.lower(): variant
            for variant in Variant.objects.filter(is_current=True).select_related("model")
        },
        load_range(),
    )
    wishes: list[tuple[int, Wish]] = []
    for row in rows:
        wish, wrong = _wish(row, known)
        problems += wrong
        if wish is not None:
            wishes.append((row.number, wish))
    return Checked(wishes, problems)


@transaction.atomic
def bring_in_orders(*, content: bytes, file: str, by: User | None) -> list[Order]:
    """Write every row down as a draft, all of them or none.

    Raises:
        ProblemError: everything that `check_orders` finds.
    """
    checked = check_orders(content, file=file)
    if checked.problems:
        raise ProblemError(*checked.problems)
    return [create_draft(wish=wish, by=by) for _, wish in checked.wishes]


def _too_many(rows: Sequence[Row], file: str) -> list[Problem]:
    if not rows:
        return [Problem("There is no order in it", file, "Write one order a row, below the headings.")]
    if len(rows) > MOST_ORDERS:
        return [
            Problem(f"There are {len(rows)} orders in it", file, f"Bring in at most {MOST_ORDERS} at once.")
        ]
    return []


def _doubled(rows: Iterable[Row]) -> list[Problem]:
    first: dict[tuple[Any, ...], int] = {}
    problems = []
    for row in rows:
        values = tuple(row.values[name] for name in sorted(row.values))
        if values in first:
            problems.append(
                Problem(
                    f"Row {row.number} is the same as row {first[values]}",
                    row.where("customer"),
                    "Take one of them out; two orders alike differ in their note.",
                )
            )
        first.setdefault(values, row.number)
    return problems


class _Reader:
    """Reads one row and gathers what is wrong with it."""

    def __init__(self, row: Row) -> None:
        self.row = row
        self.problems: list[Problem] = []

    def whole(self, column: str, *, needed: bool = True) -> int:
        try:
            found = number(self.row, column, whole=True)
        except ProblemError as error:
            self.problems += error.problems
            return 0
        if found is None and not needed:
            return 0
        if found is None or found <= 0:
            self.say(
                column,
                f"The {column.replace('_', ' ')} is not filled in or not above zero",
                "Write it in whole numbers.",
            )
            return 0
        return int(found)

    def named(self, column: str, known: Mapping[str, Any], *, needed: bool = True) -> Any:
        code = text(self.row, column)
        if not code and not needed:
            return None
        found = known.get(code.lower())
        if found is None:
            listed = (
                ", ".join(str(getattr(one, "code", one)) for one in list(known.values())[:12]) or "none yet"
            )
            what = f"There is no {column} {code}" if code else f"The {column} is not filled in"
            self.say(column, what, f"There are: {listed}.")
        return found

    def say(self, column: str, what: str, mend: str) -> None:
        self.problems.append(Problem(what, self.row.where(column), mend))


def _wish(row: Row, known: _Known) -> tuple[Wish | None, list[Problem]]:
    reader = _Reader(row)
    customer = reader.named("customer", known.customers)
    model = reader.named("model", {code.lower(): one for code, one in known.catalogue.models.items()})
    variant = reader.named("variant", known.variants, needed=False)
    hull = HullFigures(
        name=text(row, "hull"),
        mass_kg=reader.whole("hull_mass_kg"),
        length_mm=reader.whole("hull_length_mm"),
        beam_mm=reader.whole("hull_beam_mm"),
        bow_to_transom_mm=reader.whole("hull_bow_to_transom_mm"),
        centre_of_gravity_mm=reader.whole("hull_centre_of_gravity_mm", needed=False) or None,
    )
    if not hull.name:
        reader.say("hull", "The hull has no name", "Write the boat's name or type.")
    try:
        asked_for = day(row, "asked_for")
        if asked_for is None:
            reader.say("asked_for", "No date is asked for", "Write a date such as 2026-05-28.")
    except ProblemError as error:
        reader.problems += error.problems
        asked_for = None
    if reader.problems or asked_for is None:
        return None, reader.problems
    wish = Wish(
        customer=customer,
        model=model,
        variant=variant,
        hull=hull,
        asked_for=asked_for,
        finish=_finish(reader),
        choices=_options(reader),
        colours={name.removeprefix("colour_"): text(row, name) for name in COLOURS if text(row, name)},
        weight=_weight(reader),
        note=text(row, "note"),
    )
    if not reader.problems:
        reader.problems += _configuration_problems(wish, row, known.catalogue)
    return wish, reader.problems


def _finish(reader: _Reader) -> str:
    written = text(reader.row, "finish")
    for code, label in Finish.choices:
        if written.lower() in ("", code, label.lower()):
            return code if written else ""
    reader.say("finish", f"“{written}” is not a finish", f"Write one of: {', '.join(Finish.values)}.")
    return ""


def _options(reader: _Reader) -> dict[str, str]:
    """ "winch=manual; lights=board" as choices by group."""
    choices: dict[str, str] = {}
    for part in filter(None, (one.strip() for one in text(reader.row, "options").split(";"))):
        group, sign, choice = (word.strip() for word in part.partition("="))
        if not sign or not group or not choice:
            reader.say(
                "options", f"“{part}” is not a choice", "Write group=choice, several parted by semicolons."
            )
        choices[group] = choice
    return choices


def _weight(reader: _Reader) -> int:
    weight = reader.whole("weight", needed=False) or 1
    if weight > 3:
        reader.say(
            "weight", f"{weight} is not a weight", "Write 1 (as usual), 2 or 3 (a late day hurts most)."
        )
    return weight


def _configuration_problems(wish: Wish, row: Row, catalogue: Range) -> list[Problem]:
    if wish.variant is not None and wish.variant.model_id != wish.model.pk:
        return [
            Problem(
                f"Variant {wish.variant.code} is of model {wish.variant.model.code}",
                row.where("variant"),
                "Write that model, or leave the variant out.",
            )
        ]
    finish, choices, colours = filled(wish)
    hull = {name: getattr(wish.hull, name) for name, _ in HULL_FIELDS}
    answers = Answers(wish.model.code, finish, choices, colours, hull)
    return [
        Problem(problem.what, row.where(_column(problem)), problem.mend)
        for problem in problems_of(answers, catalogue)
    ]


def _column(problem: Problem) -> str:
    if problem.where.startswith("option"):
        return "options"
    if problem.where == "hull length":
        return "hull_length_mm"
    return problem.where.replace(" ", "_")
