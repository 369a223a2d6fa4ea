"""Counts over whole arrays: members of groups and rings that are laid end to end, and what lies in boxes of cells."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from nameplate.geometry.region import Indices


def members(sizes: Indices) -> tuple[Indices, Indices]:
    """Give of each member of groups of these sizes, laid end to end, its group, and which of that it is, from 0.

    >>> [each.tolist() for each in members(np.array([2, 0, 3]))]
    [[0, 0, 2, 2, 2], [0, 1, 0, 1, 2]]
    """
    group = np.repeat(np.arange(len(sizes)), sizes)
    return group, np.arange(len(group)) - (np.cumsum(sizes) - sizes)[group]


class Laid(NamedTuple):
    """Rings laid end to end: `ring` (n,) tells whose each entry is, `first` and `sizes` (r,) where each ring lies.

    `next` and `before` (n,): the neighbours of each entry on its ring.
    """

    ring: Indices
    first: Indices
    sizes: Indices
    next: Indices
    before: Indices

    @classmethod
    def of(cls, sizes: Indices) -> Laid:
        """Lay rings of so many entries, at least one each, end to end.

        >>> laid = Laid.of(np.array([2, 3]))
        >>> laid.next.tolist(), laid.before.tolist(), laid.closed().tolist()
        ([1, 0, 3, 4, 2], [1, 0, 4, 2, 3], [0, 1, 0, 2, 3, 4, 2])
        """
        last = np.cumsum(sizes) - 1
        first, ring = last + 1 - sizes, np.repeat(np.arange(len(sizes)), sizes)
        after, before = np.arange(1, len(ring) + 1), np.arange(-1, len(ring) - 1)
        after[last], before[first] = first, last
        return cls(ring, first, sizes, after, before)

    def closed(self) -> Indices:
        """Give the entries with each ring's first once more behind its last."""
        return np.insert(np.arange(len(self.ring)), self.first + self.sizes, self.first)


def sums_of(cells: npt.NDArray[np.generic]) -> npt.NDArray[np.int32]:
    """Give the summed-area table of a grid of counts or flags: at [i, j] the sum of the first i rows and j columns."""
    return np.pad(cells.cumsum(0, dtype=np.int32).cumsum(1, dtype=np.int32), ((1, 0), (1, 0)))


def sums_in(sums: npt.NDArray[np.int32], rows: int, columns: int) -> npt.NDArray[np.int32]:
    """Give what each box of so many rows and columns holds, by its first cell, of a summed-area table.

    >>> table = sums_of(np.array([[True, False], [True, True]]))
    >>> sums_in(table, 2, 1).tolist(), sums_in(table, 3, 1).size
    ([[2, 1]], 0)
    """
    return sums[rows:, columns:] - sums[:-rows, columns:] - sums[rows:, :-columns] + sums[:-rows, :-columns]
