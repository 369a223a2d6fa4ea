"""Curves to polylines, each within a given distance of its curve.

Terms. *Chord error* is the farthest a chord lies from the piece of curve it replaces. Both formulas bound it by the
second derivative: a chord over a parameter step h strays at most h^2/8 times the largest second derivative (Wang 1984
for Bezier curves, where the second differences of the control points bound it).

Known limit: steps are equal in the parameter, so a curve with one sharp bend gets more points than it needs.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from nameplate import tolerances
from nameplate.geometry.region import Array


def bezier_steps(control: npt.ArrayLike, tolerance: float = tolerances.FLATTEN) -> int:
    """Give the number of equal parameter steps that keeps a Bezier's chords within `tolerance` of the curve.

    `control` is (2..4, 2).

    >>> bezier_steps([(0, 0), (1, 0)])
    1
    >>> bezier_steps([(0, 0), (0, 4), (4, 4)], 0.01)
    12
    """
    points = np.asarray(control, dtype=float)
    degree = len(points) - 1
    if degree < 2:
        return 1
    second = float(np.hypot(*np.diff(points, 2, axis=0).T).max())
    return max(1, math.ceil(math.sqrt(degree * (degree - 1) * second / (8 * tolerance))))


def bezier(control: npt.ArrayLike, tolerance: float = tolerances.FLATTEN) -> Array:
    """Flatten a line, quadratic or cubic Bezier given by its (2..4, 2) control points; ends are kept exactly.

    >>> bezier([(0, 0), (1, 0)]).tolist()
    [[0.0, 0.0], [1.0, 0.0]]
    """
    points = np.asarray(control, dtype=float)
    if len(points) == 2:
        return points
    t = np.linspace(0.0, 1.0, bezier_steps(points, tolerance) + 1)[:, None]
    while len(points) > 1:  # de Casteljau, all parameters at once
        rows = points[:, None, :] if points.ndim == 2 else points
        points = rows[:-1] * (1 - t) + rows[1:] * t
    flat: Array = points[0]
    return flat


def arc_steps(reach: float, delta: float, tolerance: float = tolerances.FLATTEN) -> int:
    """Give the steps for an arc of `delta` radians of an ellipse whose larger half-axis is `reach` mm.

    >>> arc_steps(50, 2 * math.pi, 0.005)
    223
    """
    return max(1, math.ceil(abs(delta) * math.sqrt(reach / (8 * tolerance))))
