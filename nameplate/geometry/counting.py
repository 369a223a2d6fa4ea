"""Counts over whole arrays: the members of groups that are laid end to end, and what lies in boxes of cells."""

from __future__ import annotations

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
