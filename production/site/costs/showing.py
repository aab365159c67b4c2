"""What was reckoned, as rows for the page: the tree, the work by process, the balance."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.safestring import SafeString, mark_safe

from bom.costing.costs import KINDS, SCRAP, Branch, Rate
from bom.costing.masses import Placed
from bom.items.models import Item
from production.site.costs.reckoning import Reckoned

KIND_WORDS: Mapping[str, str] = {
    "material": "material",
    "bought": "bought parts",
    "labour": "labour",
    "overhead": "machine and building",
    "outside": "outside work",
    "scrap": SCRAP,
}
SMALL, FEW = Decimal("0.005"), 8
"""Lines below this share stand together where there are at least so many of them."""

_ONE_END = "</ul></details></li>"


@dataclass(frozen=True)
class KindRow:
    word: str
    amount: Decimal
    share: Decimal


@dataclass(frozen=True)
class WorkRow:
    """What all operations of one process cost on one trailer."""

    process: str
    minutes: Decimal
    labour: Decimal
    overhead: Decimal
    source: str


@dataclass(frozen=True)
class TreeRow:
    """One line of the tree in reading order. `ends` closes the branches that end with it."""

    name: str
    code: str
    kind: str
    quantity: Decimal | None
    unit: str
    amount: Decimal
    share: Decimal
    working: str
    source: str
    is_branch: bool
    ends: SafeString


def kind_rows(reckoned: Reckoned) -> list[KindRow]:
    """The cost by its kinds."""
    whole = reckoned.parts.total
    return [
        KindRow(KIND_WORDS[kind], amount, amount / whole if whole else Decimal(0))
        for kind, amount in zip(KINDS, reckoned.parts, strict=True)
        if amount
    ]


def work_rows(reckoned: Reckoned) -> list[WorkRow]:
    """Work by process in the order the metal goes. Minutes as the pieces were reckoned."""
    money: dict[str, dict[str, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    minutes: dict[str, Decimal] = defaultdict(Decimal)
    sources: dict[str, str] = {}
    for costed in reckoned.costs.values():
        counted: set[str] = set()
        for piece in costed.pieces:
            if piece.kind not in ("labour", "overhead"):
                continue
            money[piece.subject][piece.kind] += piece.amount
            sources[piece.subject] = piece.source
            if piece.subject not in counted:
                counted.add(piece.subject)
                minutes[piece.subject] += piece.figures[3]
    return [
        WorkRow(rate.name, minutes[code], money[code]["labour"], money[code]["overhead"], sources[code])
        for code, rate in reckoned.prices.rates.items()
        if code in money
    ]


def tree_rows(reckoned: Reckoned) -> list[TreeRow]:
    """The cost tree below the trailer, in reading order."""
    rows: list[TreeRow] = []
    for child in _small_together(reckoned.tree.children):
        rows += _rows(child, reckoned.bill.items, reckoned.prices.rates, 0)
    return rows


def _rows(
    branch: Branch, items: Mapping[str, Item], rates: Mapping[str, Rate], ends: int
) -> Iterator[TreeRow]:
    """`ends`: how many branches end with the last line under this one."""
    children = _small_together(branch.children)
    last = len(children) - 1
    yield _row(branch, items, rates, 0 if children else ends)
    for at, child in enumerate(children):
        yield from _rows(child, items, rates, ends + 1 if at == last else 0)


def _small_together(children: Sequence[Branch]) -> Sequence[Branch]:
    """Many lines that hardly count stand together on one, which opens like any other."""
    small = [one for one in children if one.share < SMALL]
    if len(small) < FEW or len(small) == len(children):
        return children
    amount, share = (sum((getattr(one, name) for one in small), Decimal(0)) for name in ("amount", "share"))
    together = Branch(f"{len(small)} smaller lines", "item", Decimal(0), amount, share, "", "", tuple(small))
    return [*(one for one in children if one.share >= SMALL), together]


def _row(branch: Branch, items: Mapping[str, Item], rates: Mapping[str, Rate], ends: int) -> TreeRow:
    item = items.get(branch.name)
    rate = rates.get(branch.name)
    name = item.name if item else rate.name if rate else branch.name
    return TreeRow(
        name=name,
        code=item.code if item else "",
        kind="" if branch.kind == "item" else KIND_WORDS[branch.kind],
        quantity=branch.quantity if item and branch.quantity else None,
        unit=item.unit if item else "",
        amount=branch.amount,
        share=branch.share,
        working=branch.working,
        source=branch.source,
        is_branch=bool(branch.children),
        ends=mark_safe(_ONE_END * ends),
    )


@dataclass(frozen=True)
class PlacedRow:
    """A line of the balance with the item's name."""

    name: str
    code: str
    placed: Placed


def placed_rows(reckoned: Reckoned) -> list[PlacedRow]:
    """What counts in the balance, heaviest first."""
    items = reckoned.bill.items
    rows = sorted(reckoned.bill.balance.placed, key=lambda one: -one.mass_kg)
    return [PlacedRow(items[one.item].name, one.item, one) for one in rows]
