"""How plates are grouped on pages: by their designs, and in so many at a time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

from nameplate.model import Plate
from nameplate.system.grouping import grouped

T = TypeVar("T")


def by_design(plates: Iterable[Plate], known: Iterable[str]) -> list[tuple[str, list[Plate]]]:
    """Sort plates by their designs, the ``known`` ones first: each with the words that head it, those without a design
    with none.

    >>> by_design([], ["gold"])
    []
    """
    groups = grouped((plate.order.design, plate) for plate in plates)
    found = [name for name in dict.fromkeys((*known, *groups)) if name in groups]
    return [(f"design {name}" if name else "", groups[name]) for name in found]


def in_groups(items: Sequence[T], size: int) -> tuple[tuple[T, ...], ...]:
    """Cut a sequence into groups of at most ``size``.

    >>> in_groups("abcde", 2)
    (('a', 'b'), ('c', 'd'), ('e',))
    >>> in_groups([], 2)
    ()
    """
    return tuple(tuple(items[i : i + size]) for i in range(0, len(items), size))
