"""Low-level codes: how deep each item stands, so that every parent is netted before its components."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from bom.kernel.errors import Problem, ProblemError
from production.planning.netting.data import Bills, Components


def low_level_codes(bills: Bills) -> dict[str, int]:
    """By item, the longest path from an item that nothing is made of down to it, over all bills together.

    Items in no bill are left out: they stand at 0. Raises `ProblemError` for a ring of items, naming it.
    """
    children = _children(bills)
    parents_left: dict[str, int] = dict.fromkeys(children, 0)
    for components in children.values():
        for component in components:
            parents_left[component] += 1
    codes = {item: 0 for item, count in parents_left.items() if not count}
    ready = list(codes)
    for item in ready:
        for component in children[item]:
            codes[component] = max(codes.get(component, 0), codes[item] + 1)
            parents_left[component] -= 1
            if not parents_left[component]:
                ready.append(component)
    if len(ready) < len(children):
        raise ProblemError(_ring(children, {item for item, count in parents_left.items() if count}))
    return codes


def _children(bills: Bills) -> dict[str, dict[str, None]]:
    children: dict[str, dict[str, None]] = {}
    for edges in (*bills.edges.values(), bills.standard):
        _gather(edges, children)
    return children


def _gather(edges: Components, children: dict[str, dict[str, None]]) -> None:
    for parent, components in edges.items():
        below = children.setdefault(parent, {})
        for component, _ in components:
            below[component] = None
            children.setdefault(component, {})


def _ring(children: Mapping[str, Iterable[str]], stuck: set[str]) -> Problem:
    """Walk upwards among the items left over: every one has a parent among them, so the walk closes."""
    above = {child: parent for parent in sorted(stuck) for child in children[parent] if child in stuck}
    item = min(stuck)
    path = [item]
    while above[item] not in path:
        item = above[item]
        path.append(item)
    ring = [*path[path.index(above[item]) :], above[item]]
    return Problem(
        f"These items are made of each other: {' in '.join(ring)}",
        "bills",
        "Take one of them out of the other's bill.",
    )
