"""How many sheets of each size: the least of a sum over sizes, within limits on other sums, in whole numbers.

Method: all combinations are looked at where they are few; else it is an integer programme (HiGHS, through scipy), with
the same answer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from nameplate.geometry.region import Array

#: Up to so many combinations of counts are all looked at; with more the integer programme is quicker, though loading
#: its solver alone takes half a second.
MOST_COMBINATIONS = 50_000

#: A sum this much below its limit, as a share, still keeps it: rounding of floats.
NOISE = 1e-9


class Limit(NamedTuple):
    """The sum of `weights` times counts lies between `least` and `most`."""

    weights: Array
    least: float = -math.inf
    most: float = math.inf

    @property
    def floor(self) -> float:
        """The least sum that passes for `least` with the rounding of floats."""
        return self.least * (1 - NOISE)


def least_counts(
    goal: Array, limits: Sequence[Limit], most: Sequence[int], refused: Sequence[tuple[int, ...]] = ()
) -> tuple[int, ...] | None:
    """Give the counts from 0 to `most` with the least sum of `goal` within all limits; None when there are none.

    A combination that is `refused` rules out every combination with no more of any size.

    >>> least_counts(np.array([4.0, 7.5]), [Limit(np.array([4.0, 9.0]), least=14.0)], [4, 2])
    (0, 2)
    """
    if math.prod(n + 1 for n in most) <= MOST_COMBINATIONS:
        return _of_all(goal, limits, most, refused)
    return _by_programme(goal, limits, most, refused)


def _of_all(
    goal: Array, limits: Sequence[Limit], most: Sequence[int], refused: Sequence[tuple[int, ...]]
) -> tuple[int, ...] | None:
    counts = np.indices([n + 1 for n in most]).reshape(len(most), -1).T.astype(float)
    for limit in limits:
        sums = counts @ limit.weights
        counts = counts[(sums >= limit.floor) & (sums <= limit.most)]
    for smaller in refused:
        counts = counts[(counts > np.array(smaller)).any(axis=1)]
    return tuple(int(n) for n in counts[np.argmin(np.round(counts @ goal, 12))]) if len(counts) else None


def _by_programme(
    goal: Array, limits: Sequence[Limit], most: Sequence[int], refused: Sequence[tuple[int, ...]]
) -> tuple[int, ...] | None:
    """Solve the integer programme; of each refused combination some size must be taken more often: a yes or no each."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    k, more = len(goal), len(goal) * len(refused)
    rows = [np.concatenate([limit.weights, np.zeros(more)]) for limit in limits]
    bounds = [(limit.floor, limit.most) for limit in limits]
    for r, counts in enumerate(refused):
        block = np.zeros((k + 1, k + more))
        own = slice(k + r * k, 2 * k + r * k)
        block[:k, :k], block[:k, own], block[k, own] = np.eye(k), -np.diag(np.add(counts, 1.0)), 1.0
        rows += [*block]
        bounds += [(0.0, math.inf)] * k + [(1.0, math.inf)]
    low, high = np.array(bounds).T
    result = milp(
        np.concatenate([goal, np.zeros(more)]),
        constraints=LinearConstraint(np.array(rows), low, high),
        integrality=np.ones(k + more, dtype=np.int64),
        bounds=Bounds(np.zeros(k + more), np.array([*most, *[1] * more], dtype=float)),
        options={"mip_rel_gap": 0.0},
    )
    return tuple(round(n) for n in result.x[:k]) if result.success else None
