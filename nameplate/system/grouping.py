"""Values gathered by their keys, or in so many at a time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

K = TypeVar("K")
V = TypeVar("V")


def grouped(pairs: Iterable[tuple[K, V]]) -> dict[K, list[V]]:
    """Gather values by their keys; keys and values stay in the order in which they come.

    >>> grouped([("a", 1), ("b", 2), ("a", 3)]), grouped([])
    ({'a': [1, 3], 'b': [2]}, {})
    """
    found: dict[K, list[V]] = {}
    for key, value in pairs:
        found.setdefault(key, []).append(value)
    return found


def in_groups(items: Sequence[V], size: int) -> tuple[tuple[V, ...], ...]:
    """Cut a sequence into groups of at most ``size``.

    >>> in_groups("abcde", 2), in_groups([], 2)
    ((('a', 'b'), ('c', 'd'), ('e',)), ())
    """
    return tuple(tuple(items[i : i + size]) for i in range(0, len(items), size))
