"""Bills that never change again: expanded once, shared by all orders whose expansion is the same."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from bom.costing.masses import mass_to_galvanise, unit_masses
from bom.kernel.errors import Problem, ProblemError
from bom.structure.conditions import compile_condition, compile_quantity, compile_text
from bom.structure.expansion import Configuration, Expansion, expand
from bom.structure.loading import Loaded, load, with_revisions
from bom.structure.models import Operation
from production.orders.models import FrozenBill, FrozenLine, FrozenTotal
from production.orders.numbers import next_number

GALVANISE = "galvanise"
ROWS_AT_ONCE = 1000
KG = Decimal("0.001")


@dataclass(frozen=True)
class Work:
    """One operation of a made item: minutes once a lot, and minutes for each piece."""

    process: str
    setup_minutes: Decimal
    run_minutes: Decimal


@dataclass(frozen=True)
class Book:
    """The released bills of one day with what freezing needs beside them, by item code.

    `all_work` holds the operations of every revision that some trailer is made by, `by_step` the books of other
    trailers that were asked for (see `Loaded.step`).
    """

    loaded: Loaded
    work: Mapping[str, tuple[Work, ...]]
    names_used: frozenset[tuple[str, str]]
    all_work: Mapping[int, tuple[Work, ...]] = field(default_factory=dict)
    by_step: dict[int, "Book"] = field(default_factory=dict, compare=False, repr=False)

    def for_trailer(self, trailer: int | None) -> "Book":
        """The same with the bills that this trailer is made by. No query."""
        step = self.loaded.step(trailer)
        if step == self.loaded.step(self.loaded.trailer):
            return self
        if step not in self.by_step:
            self.by_step[step] = _book(self.loaded.for_trailer(trailer), self.all_work, self.by_step)
        return self.by_step[step]

    def galvanised(self, codes: Iterable[str]) -> frozenset[str]:
        return frozenset(
            code for code in codes if any(work.process == GALVANISE for work in self.work.get(code, ()))
        )

    def same_bill_key(self, top_item: str, configuration: Configuration) -> tuple[object, ...]:
        """Two configurations with the same key have the same expansion: only names that bills use are in it."""
        maps = {
            "option": configuration.option,
            "colour": configuration.colour,
            "model": configuration.model,
            "hull": configuration.hull,
        }
        values = tuple(maps[root].get(name) for root, name in sorted(self.names_used) if root in maps)
        return (self.loaded.step(self.loaded.trailer), top_item, configuration.finish, *values)


def load_book(on: date, trailer: int | None = None) -> Book:
    """The bills that a trailer is made by; without one, the next to be ordered. Four queries whatever the number of
    items; two more where a revision begins with a number and no trailer is given."""
    loaded = load_bills(on, trailer)
    return _book(loaded, _work(loaded.all_revision_ids), {})


def load_bills(on: date, trailer: int | None = None) -> Loaded:
    """`load_book` without the work."""
    loaded = load(on)
    if trailer is None and loaded.first_numbers:
        trailer = next_number()
    return loaded.for_trailer(trailer)


def _book(loaded: Loaded, work: Mapping[int, tuple[Work, ...]], by_step: dict[int, Book]) -> Book:
    return Book(
        loaded=loaded,
        work={code: work[pk] for code, pk in loaded.revision_ids.items() if pk in work},
        names_used=_names_used(loaded),
        all_work=work,
        by_step=by_step,
    )


def keep_revisions(book: Book, revisions: Mapping[str, tuple[int, str]]) -> Book:
    """The book with these revisions of some items (id and letter by code) in place of those in force.

    At most two queries.
    """
    loaded = with_revisions(book.loaded, revisions)
    if loaded is book.loaded:
        return book
    work = _work(one[0] for one in revisions.values())
    kept = {code: work.get(one[0], ()) for code, one in revisions.items()}
    # What is kept holds for the one trailer that began with it, so this book knows no other trailers.
    return Book(loaded, {**book.work, **kept}, _names_used(loaded))


def _work(revision_ids: Iterable[int]) -> dict[int, tuple[Work, ...]]:
    work: dict[int, list[Work]] = defaultdict(list)
    for revision_id, process, setup, run in (
        Operation.objects.filter(revision_id__in=set(revision_ids))
        .order_by("revision_id", "sequence")
        .values_list("revision_id", "process__code", "setup_minutes", "run_minutes")
    ):
        work[revision_id].append(Work(process, setup, run))
    return {pk: tuple(rows) for pk, rows in work.items()}


def expand_bill(loaded: Loaded, top_item: str, configuration: Configuration) -> Expansion:
    """The exact bill of one trailer.

    ProblemError with everything found: see `bom.structure.expansion.expand`; also for a made item without a
    released revision, because nobody would know how to make it.
    """
    expansion = expand(loaded.catalogue, top_item, configuration)
    lacking = [code for code in expansion.totals if code in loaded.without_bill]
    if lacking:
        raise ProblemError(
            *(
                Problem(f"{code} is made here but has no released bill", "bill", "Release a revision of it.")
                for code in lacking
            )
        )
    return expansion


def freeze(expansions: Iterable[tuple[Expansion, Book]]) -> dict[str, FrozenBill]:
    """The frozen bill of each expansion, made with its book, by digest; those not yet known are written. Call inside
    a transaction."""
    by_digest = {expansion.digest: (expansion, book) for expansion, book in expansions}
    known = set(FrozenBill.objects.filter(digest__in=by_digest).values_list("digest", flat=True))
    # Somebody else may freeze the same bill just now: our insert then waits for his and does nothing.
    FrozenBill.objects.bulk_create(
        [_bill(*by_digest[digest]) for digest in sorted(by_digest.keys() - known)],
        ignore_conflicts=True,
        batch_size=ROWS_AT_ONCE,
    )
    bills = {bill.digest: bill for bill in FrozenBill.objects.filter(digest__in=by_digest)}
    written = set(FrozenTotal.objects.filter(bill__in=bills.values()).values_list("bill_id", flat=True))
    fresh = [bill for bill in bills.values() if bill.pk not in written]
    _write_rows(fresh, by_digest)
    return bills


def minutes_by_process(expansion: Expansion, book: Book) -> dict[str, Decimal]:
    """Minutes of one trailer at each process: every made item's set-up once, and its run time for each piece."""
    minutes: dict[str, Decimal] = defaultdict(Decimal)
    for code, quantity in expansion.totals.items():
        for work in book.work.get(code, ()):
            minutes[work.process] += work.setup_minutes + work.run_minutes * quantity
    return dict(minutes)


def _bill(expansion: Expansion, book: Book) -> FrozenBill:
    masses = unit_masses(expansion, book.loaded.own_kg, book.loaded.raw)
    chassis = mass_to_galvanise(expansion, masses, book.galvanised(expansion.totals))
    return FrozenBill(
        digest=expansion.digest,
        item_id=book.loaded.item_ids[expansion.top_item],
        mass_kg=masses[expansion.top_item].quantize(KG),
        chassis_kg=chassis.quantize(KG),
    )


def _write_rows(bills: Iterable[FrozenBill], expansions: Mapping[str, tuple[Expansion, Book]]) -> None:
    lines, totals = [], []
    for bill in bills:
        expansion, book = expansions[bill.digest]
        ids, revisions = book.loaded.item_ids, book.loaded.revision_ids
        lines += [
            FrozenLine(
                bill=bill,
                parent_id=ids[edge.parent],
                item_id=ids[edge.component],
                position=edge.position,
                quantity_per=edge.quantity_per,
                revision=edge.revision,
            )
            for edge in expansion.edges
        ]
        totals += [
            FrozenTotal(bill=bill, item_id=ids[code], quantity=quantity, revision_id=revisions.get(code))
            for code, quantity in expansion.totals.items()
        ]
    FrozenLine.objects.bulk_create(lines, batch_size=ROWS_AT_ONCE)
    FrozenTotal.objects.bulk_create(totals, batch_size=ROWS_AT_ONCE)


def _names_used(loaded: Loaded) -> frozenset[tuple[str, str]]:
    """Root and member of every name in any bill. An expression that does not compile is told when expanded."""
    used: set[tuple[str, str]] = set()
    for structure in loaded.catalogue.structures.values():
        for line in structure.lines:
            for compiler, text in (
                (compile_condition, line.condition),
                (compile_quantity, line.quantity),
                (compile_text, line.colour),
                (compile_text, line.hand),
            ):
                try:
                    used |= {(name.root, name.member) for name in compiler(text).references}
                except ProblemError:
                    continue
    return frozenset(used)
