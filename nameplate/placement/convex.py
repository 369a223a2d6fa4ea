"""The largest fit in a convex zone, exactly.

A shape lies in a convex zone when it lies on the inner side of each of its edges; for one edge only the shape's
farthest point in that direction matters (its support). Scaling and shifting move that point linearly, so the largest
scale is a linear programme in scale, x and y with one row an edge.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nameplate.geometry import linear, region
from nameplate.geometry.region import Array, Region
from nameplate.placement.objective import CENTRED, Holds, Objective, Pose

#: Scales are given back this much smaller, so that a shift can be chosen among more than one point.
EASE = 1e-9


@dataclass(frozen=True, slots=True)
class HalfPlanes:
    """A convex zone: `normals` (n, 2), outward, of length 1; `limits` (n,): how far the zone reaches along each."""

    normals: Array
    limits: Array

    def largest(
        self, letters: Region, objective: Objective, holds: Holds | None = None, *, centred: bool = True
    ) -> Pose | None:
        """Give the largest fit, then, when `centred`, as near to the target as its scale allows.

        `letters` is centred on the origin with half-size 1; whether the zone `holds` what is found need not be asked.
        None when not even a point fits.
        """
        corners = region.convex_corners(letters)
        best = self._best(corners, objective)
        if best is None or best[0] <= 0:
            return None
        scale = float(min(best[0] * (1 - EASE), objective.cap))
        if not centred:
            return Pose(scale, best[1:])
        aside = max(abs(float(objective.sideways(best[0], best[1:]))), CENTRED) * (1 + EASE)
        rows, limits = self._rows(corners, objective, aside if objective.give else np.inf)
        shift = linear.nearest(objective.ideal(scale), rows[:, 1:], limits - scale * rows[:, 0])
        return Pose(scale, best[1:] if shift is None else shift)

    def _rows(self, corners: Array, objective: Objective, aside: float = np.inf) -> tuple[Array, Array]:
        """Give the rows and limits of the linear programme in (scale, x, y)."""
        support = (corners @ self.normals.T).max(axis=0)
        more, bounds = objective.rows(aside)
        rows = np.vstack([np.column_stack([support, self.normals]), more])
        return rows, np.concatenate([self.limits, bounds])

    def _best(self, corners: Array, objective: Objective) -> Array | None:
        """Give (scale, x, y) of the largest fit; where the objective gives up size, of those nearest to it sideways."""
        rows, limits = self._rows(corners, objective)
        reach = 4 * float(np.abs(self.limits).max()) * max(1.0, 1 / float(np.abs(corners).max()))
        size, right = np.array([1.0, 0.0, 0.0]), np.array([objective.ink[0], 1.0, 0.0])
        best = linear.best(size, rows, limits, reach=reach)
        if best is None or not objective.give or abs(objective.sideways(float(best[0]), best[1:])) < CENTRED:
            return best
        rows, limits = np.vstack([rows, -size]), np.append(limits, -(1 - objective.give) * best[0])
        ends = [linear.best(sign * right, rows, limits, reach=reach) for sign in (-1.0, 1.0)]
        left_most, right_most = (float(right @ e - objective.target[0]) if e is not None else 0.0 for e in ends)
        least = min(max(0.0, left_most), right_most)
        even = linear.best(size, *self._rows(corners, objective, abs(least) + CENTRED), reach=reach)
        return best if even is None else even

    def about(self, letters: Region, objective: Objective, *, more_than: float = 0.0) -> float:
        """Give the scale of the largest fit; 0 without one."""
        found = self.largest(letters, objective, centred=False)
        return 0.0 if found is None else max(found.scale, 0.0)

    def settled(self, letters: Region, objective: Objective, shift: Array) -> Pose | None:
        """Give what `largest` gives: in a convex zone all places can be reached from any shift."""
        return self.largest(letters, objective)


def half_planes(zone: Region, *, unit: float, margin: float) -> HalfPlanes | None:
    """Give a zone as half planes in multiples of `unit`, drawn in by `margin` mm; None when it is not convex.

    A zone counts as convex when its hull is nowhere farther than half the margin from it.
    """
    if len(region.solids(zone)) != 1 or region.hole_count(zone) or zone.is_empty:
        return None
    corners = region.convex_corners(zone)
    hull = region.from_ring(corners)
    if hull.area - zone.area > 1e-6 * zone.area or region.hausdorff(hull, zone) > margin / 2:
        return None
    edges = np.roll(corners, -1, axis=0) - corners
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    normals = np.column_stack([edges[:, 1], -edges[:, 0]])[lengths > 0] / lengths[lengths > 0][:, None]
    limits = ((corners[lengths > 0] * normals).sum(axis=1) - margin) / unit
    return HalfPlanes(normals, limits)
