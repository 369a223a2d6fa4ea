"""Where a fitted curve breaks its promises: crosses itself, or strays from the ring it was fitted to.

Both lines pass the same points: the curve's knots, which are (nearly all) vertices of the ring. Between two of them a
point of one line lies near the place of the other that is as far along. A chord there within the tolerance clears the
point; what no such chord clears is measured exactly, to the whole of the other line.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import shapely

from nameplate import tolerances
from nameplate.geometry.curves.curve import Curve, flatten
from nameplate.geometry.planar import Complex, as_complex, as_points, to_chord
from nameplate.geometry.region import Array, Flags, Indices
from nameplate.geometry.rings import edge_lines

#: Share of the tolerance by which the chords that stand for a curve may miss it.
CHORD_SHARE = 1 / 20

#: Chords tried, counted from the place as far along. More clear a few points more, each for the price of the first.
TRIED = (0, 1, -1, 2, -2)


class _Line(NamedTuple):
    """A closed line: its vertices (n,), and how far along each is (n,), in stretches from one shared point to the next.

    Lines without shared points have no such measure, and `along` is empty.
    """

    points: Complex
    along: Array

    def at(self, points: Complex, along: Array, tolerance: float) -> Flags:
        """Tell which points lie within a tolerance of a chord of this line about as far along; some are missed."""
        near = np.zeros(len(points), dtype=bool)
        if not len(self.along):
            return near
        chord = np.searchsorted(self.along, along, side="right") - 1
        for step in TRIED:
            left = np.flatnonzero(~near)
            a = (chord[left] + step) % len(self.points)
            b = (a + 1) % len(self.points)
            near[left] = to_chord(points[left], self.points[a], self.points[b]) <= tolerance
        return near


def faults(curve: Curve, ring: Array, tolerance: float) -> Array:
    """Give the (n, 2) places where a curve crosses itself, or is farther than `tolerance` mm from its ring.

    Measured are points of the curve whose chords miss it by a twentieth of the tolerance at most, and the vertices and
    the middles of the edges of the ring.
    """
    flat = flatten(curve, min(tolerance, tolerances.CURVE) * CHORD_SHARE)
    one, other = _side_by_side(as_complex(flat), as_complex(ring))
    found = [_strays(one, other, tolerance), _strays(other, one, tolerance), _strays(_middles(other), one, tolerance)]
    if not shapely.is_simple(shapely.linearrings(flat)):
        found.append(_crossings(flat))
    return np.vstack(found)


def _side_by_side(one: Complex, other: Complex) -> tuple[_Line, _Line]:
    """Start two closed lines at a shared vertex and measure them in stretches between the shared ones."""
    order = np.argsort(other)
    place = np.minimum(np.searchsorted(other[order], one), len(other) - 1)
    mine = np.flatnonzero(other[order[place]] == one)
    others = order[place[mine]]
    steps = np.diff(others, append=others[:1]) % len(other)
    if len(mine) < 2 or (steps == 0).any() or steps.sum() != len(other):
        return _Line(one, np.empty(0)), _Line(other, np.empty(0))
    return _measured(one, mine), _measured(other, others)


def _measured(line: Complex, shared: Indices) -> _Line:
    line = np.roll(line, -shared[0])
    lengths = np.abs(np.append(line[1:], line[:1]) - line)
    along = np.cumsum(lengths) - lengths
    stops = np.append(along[(shared - shared[0]) % len(line)], along[-1] + lengths[-1])
    return _Line(line, np.interp(along, stops, np.arange(len(stops))))


def _middles(line: _Line) -> _Line:
    following = np.append(line.along[1:], np.ceil(line.along[-1:] + 0.5))
    return _Line((line.points + np.roll(line.points, -1)) / 2, (line.along + following) / 2)


def _strays(points: _Line, line: _Line, tolerance: float) -> Array:
    left = points.points[~line.at(points.points, points.along, tolerance)]
    if not len(left):
        return np.empty((0, 2))
    whole = shapely.linearrings(as_points(line.points))
    shapely.prepare(whole)
    places = as_points(left)
    return places[~shapely.dwithin(whole, shapely.points(places), tolerance)]


def _crossings(ring: Array) -> Array:
    """Give the starts of a ring's edges that meet others than their neighbours."""
    edges = edge_lines(ring)
    one, other = shapely.STRtree(edges).query(edges, predicate="intersects")
    apart = np.abs(one - other)
    crossing: Array = ring[np.unique(one[(apart > 1) & (apart < len(ring) - 1)])]
    return crossing
