"""The largest fit in a convex zone, exactly.

A shape lies in a convex zone when it lies on the inner side of each of its edges; for one edge only the shape's
farthest point in that direction matters (its support). Scaling and shifting move that point linearly, so the largest
scale is a linear programme in scale, x and y with one row an edge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from nameplate.geometry import linear, region
from nameplate.geometry.region import Array, Region
from nameplate.placement.objective import CENTRED, Aim


@dataclass(frozen=True, slots=True)
class HalfPlanes:
    """A convex zone: `normals` (n, 2), outward, of length 1; `limits` (n,): how far the zone reaches along each."""

    normals: Array
    limits: Array

    def rows(self, corners: Array) -> Array:
        """Give the rows of the linear programme in (scale, x, y) for a shape with these hull corners."""
        support = (corners @ self.normals.T).max(axis=0)
        return np.column_stack([support, self.normals])

    def _bounded(self, corners: Array, aim: Aim) -> tuple[Array, Array]:
        more, bounds = aim.rows
        return np.vstack([self.rows(corners), more]), np.concatenate([self.limits, bounds])

    def largest(self, corners: Array, aim: Aim) -> Array | None:
        """Give (scale, x, y) of the largest fit; None when not even a point fits.

        With `give`, the largest one of those that come nearest to the target sideways.
        """
        rows, limits = self._bounded(corners, aim)
        reach = 4 * float(np.abs(limits).max()) * max(1.0, 1 / float(np.abs(corners).max()))
        size, right = np.array([1.0, 0.0, 0.0]), np.array([aim.ink[0], 1.0, 0.0])
        best = linear.best(size, rows, limits, reach=reach)
        if best is None or not aim.give or abs(aim.sideways(float(best[0]), best[1:])) < CENTRED:
            return best
        rows, limits = np.vstack([rows, -size]), np.append(limits, -(1 - aim.give) * best[0])
        ends = [linear.best(sign * right, rows, limits, reach=reach) for sign in (-1.0, 1.0)]
        left_most, right_most = (float(right @ e - aim.target[0]) if e is not None else 0.0 for e in ends)
        least = min(max(0.0, left_most), right_most)
        more, bounds = aim.band(abs(least) + CENTRED)
        even = linear.best(size, np.vstack([rows, more]), np.concatenate([limits, bounds]), reach=reach)
        return best if even is None else even

    def shift(self, corners: Array, scale: float, aim: Aim, width: float) -> Array | None:
        """Give the shift nearest to the aim at which the scaled shape lies in the zone, within a band sideways.

        `width` is the band's, when the aim gives anything up for it. None when there is no such shift.
        """
        rows, limits = self._bounded(corners, aim)
        if aim.give:
            more, bounds = aim.band(max(width, CENTRED) * (1 + 1e-9))
            rows, limits = np.vstack([rows, more]), np.concatenate([limits, bounds])
        return linear.nearest(aim.ideal(scale), rows[:, 1:], limits - scale * rows[:, 0])


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


def area_centroid(shape: Region) -> tuple[float, float]:
    """Give the centre of a region's area."""
    point = shape.centroid
    return (float(point.x), float(point.y)) if math.isfinite(point.x) else (0.0, 0.0)
