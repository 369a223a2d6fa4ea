"""Two small optimisation problems of the plane, solved in well under a millisecond for some hundred rows.

`best` is a linear programme in a few variables by the dual simplex method: start from a box round the answer and add
the row that is violated most, until none is. `nearest` is the point of a convex polygon nearest to a target, by the
same idea: keep the few rows that were violated, solve those exactly, look again.
"""

from __future__ import annotations

import itertools

import numpy as np

from nameplate.geometry.region import Array

#: Rows count as kept when overstepped by less than this (in the caller's unit, which should be near 1).
KEPT = 1e-11

#: Pushes ties apart in the dual simplex, which could otherwise go in circles; the answer moves by about as much.
_TILT = 1e-9

_MOST_STEPS = 500


def best(objective: Array, rows: Array, limits: Array, *, reach: float) -> Array | None:
    """Give x with rows @ x <= limits and |x| <= reach for which objective @ x is largest; None when there is none.

    >>> best(np.array([1.0, 1.0]), np.array([[1.0, 0.0], [0.0, 2.0]]), np.array([3.0, 4.0]), reach=10)
    array([3., 2.])
    >>> best(np.array([1.0]), np.array([[1.0], [-1.0]]), np.array([-1.0, -1.0]), reach=10) is None
    True
    """
    n = len(objective)
    tilted = objective + _TILT * (1 + np.arange(n))
    signs = np.where(tilted < 0, -1.0, 1.0)
    sides = np.vstack([np.diag(signs), np.diag(-signs)])
    rows = np.vstack([sides, rows])
    limits = np.concatenate([np.full(2 * n, float(reach)), limits])
    basis = list(range(n))
    for _ in range(_MOST_STEPS):
        back = np.linalg.inv(rows[basis])
        x = np.asarray(back @ limits[basis], dtype=np.float64)
        over = rows @ x - limits
        entering = int(np.argmax(over))
        if over[entering] <= KEPT:
            return x
        share = rows[entering] @ back
        possible = share > KEPT
        if not possible.any():
            return None
        ratio = np.where(possible, np.maximum(tilted @ back, 0) / np.where(possible, share, 1), np.inf)
        basis[int(np.argmin(ratio))] = entering
    return None


def nearest(target: Array, rows: Array, limits: Array) -> Array | None:
    """Give the point with rows @ point <= limits nearest to `target`, in the plane; None when there is none.

    `rows` is (n, 2) with rows of length 1.

    >>> nearest(np.array([5.0, 1.0]), np.array([[1.0, 0.0], [0.0, 1.0]]), np.array([3.0, 4.0]))
    array([3., 1.])
    >>> nearest(np.array([5.0, 1.0]), np.empty((0, 2)), np.empty(0))
    array([5., 1.])
    """
    point = np.asarray(target, dtype=float)
    pool: list[int] = []
    while len(limits):
        over = rows @ point - limits
        worst = int(np.argmax(over))
        if over[worst] <= KEPT:
            return point
        if worst in pool:
            return None
        pool.append(worst)
        found = _nearest_of_few(target, rows[pool], limits[pool])
        if found is None:
            return None
        point = found
    return point


def _nearest_of_few(target: Array, rows: Array, limits: Array) -> Array | None:
    feet = target - (rows @ target - limits)[:, None] * rows
    pairs = np.array(list(itertools.combinations(range(len(rows)), 2)), dtype=int).reshape(-1, 2)
    a, b = rows[pairs[:, 0]], rows[pairs[:, 1]]
    det = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    crossing = np.abs(det) > KEPT
    a, b, det, pairs = a[crossing], b[crossing], det[crossing], pairs[crossing]
    p, q = limits[pairs[:, 0]], limits[pairs[:, 1]]
    corners = np.column_stack([(p * b[:, 1] - q * a[:, 1]) / det, (a[:, 0] * q - b[:, 0] * p) / det])
    points = np.vstack([feet, corners])
    kept = (points @ rows.T - limits).max(axis=1) <= KEPT * 10
    if not kept.any():
        return None
    points = points[kept]
    nearest_one: Array = points[int(np.argmin(((points - target) ** 2).sum(axis=1)))]
    return nearest_one
