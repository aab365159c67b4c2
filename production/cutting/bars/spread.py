"""From numbers of each length back to pieces by code, bar by bar."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence

from production.cutting.bars.job import BarStock, Cut, CutPattern, Piece
from production.cutting.bars.whole import TENTHS, Use, Whole, size_of, tenths_down

OneBar = tuple[int, tuple[tuple[int, int], ...]]


def to_patterns(
    whole: Whole,
    use: Use,
    pieces: Sequence[Piece],
    bars: Sequence[BarStock],
    kerf_mm: float,
    trim_mm: float,
    shortest_offcut_mm: float,
) -> tuple[tuple[CutPattern, ...], dict[str, int]]:
    """Give every place in a pattern to a piece still wanted; places nobody wants stay in the bar's rest.

    Returns the patterns (fullest first) and the pieces left without a place.
    """
    queues = _queues(pieces, kerf_mm)
    sawn: Counter[OneBar] = Counter()
    for column, count in sorted(use.items(), key=lambda item: (item[0].stock, item[0].numbers), reverse=True):
        for _ in range(count):
            cuts = _take(queues, column.numbers)
            if cuts:
                sawn[(column.stock, cuts)] += 1
    patterns = [
        _pattern(pieces, bars[stock], cuts, count, kerf_mm, trim_mm, shortest_offcut_mm)
        for (stock, cuts), count in sawn.items()
    ]
    left = {pieces[index].code: n for queue in queues.values() for index, n in queue if n > 0}
    return tuple(sorted(patterns, key=lambda p: (p.rest_mm, p.bar, -p.count))), left


def _queues(pieces: Sequence[Piece], kerf_mm: float) -> dict[int, list[list[int]]]:
    """For each kind, the pieces of that size as [index, still wanted]."""
    by_size: dict[int, list[list[int]]] = defaultdict(list)
    for index, piece in enumerate(pieces):
        by_size[size_of(piece, kerf_mm)].append([index, piece.quantity])
    # Kinds are the different sizes, longest first.
    return dict(enumerate(by_size[size] for size in sorted(by_size, reverse=True)))


def _take(queues: Mapping[int, list[list[int]]], numbers: Sequence[int]) -> tuple[tuple[int, int], ...]:
    taken: Counter[int] = Counter()
    for kind, wanted in enumerate(numbers):
        for entry in queues[kind]:
            number = min(entry[1], wanted)
            if number:
                entry[1] -= number
                wanted -= number
                taken[entry[0]] += number
    return tuple(sorted(taken.items()))


def _pattern(
    pieces: Sequence[Piece],
    bar: BarStock,
    cuts: Sequence[tuple[int, int]],
    count: int,
    kerf_mm: float,
    trim_mm: float,
    shortest_offcut_mm: float,
) -> CutPattern:
    made = tuple(
        Cut(pieces[index].code, pieces[index].length_mm, number)
        for index, number in sorted(cuts, key=lambda cut: -pieces[cut[0]].length_mm)
    )
    used = sum(size_of(pieces[index], kerf_mm) * number for index, number in cuts)
    rest_mm = max(0, tenths_down(bar.length_mm - trim_mm) - used) / TENTHS
    keep = rest_mm > 0 and rest_mm >= shortest_offcut_mm
    return CutPattern(bar.code, bar.length_mm, count, made, rest_mm, keep)
