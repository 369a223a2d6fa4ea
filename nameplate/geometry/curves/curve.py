"""Smooth outlines as values: chains of cubic Beziers and straight lines, and what can be done with them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nameplate import tolerances
from nameplate.geometry.counting import members
from nameplate.geometry.planar import Complex, as_complex, as_points
from nameplate.geometry.region import Array, Flags, rotation


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """One outline of cubics and lines, closed unless it says otherwise.

    `segments` is (n, 4, 2): start, two control points, end; each starts where the one before ends, the first of a
    closed one where the last ends. `lines` (n,) marks the straight ones.
    """

    segments: Array
    lines: Flags
    closed: bool = True

    @property
    def start(self) -> Array:
        """The (2,) point where the outline begins; a closed one ends there."""
        start: Array = self.segments[0, 0]
        return start


def line(a: Array, b: Array) -> Array:
    """Give the (4, 2) control points of a straight piece from a to b, or (n, 4, 2) of n pieces."""
    return np.stack([a, a + (b - a) / 3, b - (b - a) / 3, b], axis=-2)


def polygon(ring: npt.ArrayLike) -> Curve:
    """Give an (n, 2) ring as it is, in straight pieces."""
    corners: Array = np.asarray(ring, dtype=float)
    return Curve(line(corners, np.roll(corners, -1, axis=0)), np.ones(len(corners), dtype=bool))


def drawn(curve: Curve, tolerance: float = tolerances.FLATTEN) -> Array:
    """Give the curve as an (n, 2) polyline, as `flatten` does; a closed one has its first point again at the end.

    >>> drawn(polygon([(0, 0), (3, 0), (0, 4)])).tolist()
    [[0.0, 0.0], [3.0, 0.0], [0.0, 4.0], [0.0, 0.0]]
    """
    return np.vstack([flatten(curve, tolerance), curve.segments[-1:, 3]])


def flatten(curve: Curve, tolerance: float = tolerances.FLATTEN) -> Array:
    """Give a closed curve as an (n, 2) ring whose chords lie within `tolerance` mm of it.

    Of an open one it gives all but the end. The number of chords is the bound from the second derivative: a chord over
    1/n of a cubic is off by at most max|B''| / (8 n^2), with |B''| at most six times the larger second difference of
    the control points.

    >>> flatten(polygon([(0, 0), (3, 0), (0, 4)])).tolist()
    [[0.0, 0.0], [3.0, 0.0], [0.0, 4.0]]
    """
    p = as_complex(curve.segments)
    p0, p1, p2, p3 = p.T
    first, second = p0 - 2 * p1 + p2, p1 - 2 * p2 + p3
    bend = np.maximum(np.abs(first), np.abs(second))
    chords = np.where(curve.lines, 1, np.maximum(1, np.ceil(np.sqrt(6 * bend / (8 * tolerance))))).astype(np.intp)
    which, nth = members(chords)
    t = nth / chords[which]
    c0, c1, c2, c3 = (c[which] for c in (p0, 3 * (p1 - p0), 3 * first, second - first))
    return as_points(((c3 * t + c2) * t + c1) * t + c0)


def points_at(segments: Complex, t: Array) -> Complex:
    """Give the point of each cubic (n, 4) at its parameter (n,)."""
    a, b, c, d = segments.T
    s = 1 - t
    points: Complex = s**3 * a + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * d
    return points


def moved(curve: Curve, dx: float = 0.0, dy: float = 0.0, turn: float = 0.0) -> Curve:
    """Turn a curve counter-clockwise about the origin by `turn` degrees, then shift it; exact for right angles.

    >>> moved(polygon([(0, 0), (3, 0), (0, 4)]), 1, 1, 90).start.tolist()
    [1.0, 1.0]
    """
    return Curve(curve.segments @ rotation(turn) + np.array([dx, dy]), curve.lines)


def turned_over(curve: Curve) -> Curve:
    """Mirror a curve left for right about the y axis; it runs the same way round, from the same place.

    >>> turned_over(polygon([(0, 0), (3, 0), (0, 4)])).segments[:, 0].tolist()
    [[0.0, 0.0], [0.0, 4.0], [-3.0, 0.0]]
    """
    return Curve(curve.segments[::-1, ::-1] * (-1.0, 1.0) + 0.0, curve.lines[::-1])


def started_at(curve: Curve, knot: int) -> Curve:
    """Begin a curve at the start of segment `knot`."""
    return Curve(np.roll(curve.segments, -knot, axis=0), np.roll(curve.lines, -knot))
