"""Cuts polygon outlines into straight edges and curved runs, and samples the runs for fitting.

All rings are worked on at once, laid end to end. A vertex is a *corner* when rounding it off would be seen: the outline
turns by more than CORNER_TURN within WINDOW on both sides, and a smooth arc through the vertex would miss it by more
than ROUND_OFF. An edge is *straight* when an arc that takes up the turns at its ends would bulge by more than
STRAIGHT_OFF: flattened curves never have such edges.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from nameplate import tolerances
from nameplate.errors import GeometryError
from nameplate.geometry.counting import Laid, members
from nameplate.geometry.planar import Complex, as_complex, as_points, to_chord, turn, unit
from nameplate.geometry.region import Array, Flags, Indices

#: Turn (radians) from which a vertex can be a corner. Lower keeps facets as corners and costs cubics.
CORNER_TURN = math.radians(22)

#: Length (mm) on each side of a vertex over which its turn is measured; evens out the short edges that unions leave.
WINDOW = 0.06

#: How far (mm) a smooth curve must miss the polygon before the polygon counts as cornered or straight there.
ROUND_OFF = 1.5 * tolerances.FLATTEN

STRAIGHT_OFF = 0.015

SIMPLE = 0.001

#: Turn (radians) below which two straight edges count as one direction: 0.06 degrees cannot be seen or felt.
SLIGHTEST = 1e-3

#: How far a curve may pass a vertex where two straight edges meet in less than a corner, as a share of the tolerance of
#: the fit. More makes longer, softer curves, and leaves less for the fit.
EASE_OFF = 0.6

#: Such a curve takes at most this share of each edge, and at most this length (mm).
EASE_SHARE, EASE_MOST = 0.4, 1.0

#: Longest step (mm) between two samples of a curved run. Shorter steps measure the fit more closely and cost time.
STEP = 0.25


class Samples(NamedTuple):
    """All runs of all rings, end to end. Arrays are one entry a sample; a run's last sample repeats its end.

    `along`: mm along all the rings; `turned`: radians turned so far, either way; `leaving`, `arriving`: unit tangents;
    `corner`: tangent not shared; `ring`: which ring; `vertices`: positions of samples that are vertices;
    `straight` and `curved`: spans (k, 2) of first and last sample, in order. `care` (one more entry than samples): how
    many samples so far want only a `share` of the tolerance; None where none does.
    """

    points: Complex
    along: Array
    turned: Array
    leaving: Complex
    arriving: Complex
    corner: Flags
    ring: Indices
    vertices: Indices
    straight: Indices
    curved: Indices
    care: Indices | None = None
    share: float = 1.0

    def shares(self, first: npt.ArrayLike, last: npt.ArrayLike) -> Array:
        """Give, for spans of samples, the share of the tolerance that each may use."""
        a, b = np.asarray(first), np.asarray(last)
        if self.care is None:
            return np.ones(a.shape)
        return np.where(self.care[b + 1] > self.care[a], self.share, 1.0)

    def edges(self, first: int, last: int, tolerance: float) -> Iterator[tuple[int, int]]:
        """Give the spans of the fewest vertices between two samples that stay within `tolerance` mm."""
        inside = self.vertices[(self.vertices > first) & (self.vertices < last)]
        chain = np.concatenate([[first], inside, [last]])
        line = shapely.linestrings(as_points(self.points[chain]))
        left = iter(
            as_complex(shapely.get_coordinates(shapely.simplify(line, tolerance, preserve_topology=False))).tolist()
        )
        want = next(left)
        stops: list[int] = []
        for position in chain.tolist():
            if self.points[position] == want:
                stops.append(position)
                want = next(left, None)
        yield from itertools.pairwise(stops)


class _Vertices(NamedTuple):
    """The vertices of all rings, with tangents in the direction of travel, each started at a corner if it has one."""

    points: Complex
    lengths: Array
    leaving: Complex
    arriving: Complex
    corner: Flags
    straight: Flags
    turns: Array


def sample_rings(rings: Sequence[Array], tolerance: float) -> Samples:
    """Cut and sample (n, 2) rings to be fitted within `tolerance` mm.

    Raises GeometryError for a ring without three distinct points.
    """
    points, counts = _distinct(rings)
    laid = Laid.of(counts)
    lengths = np.abs(points[laid.next] - points)
    corner = _corners(turn(*_arms(points, *_window(points, lengths, laid))), lengths, laid)
    turns = _turns(points, laid)
    straight = _straight(lengths, np.where(corner, 0.0, np.abs(turns)), laid)
    points, corner, straight, laid = _eased(points, lengths, turns, corner, straight, laid, EASE_OFF * tolerance)
    return _sampled(_started(_with_tangents(points, corner, straight, laid), laid), laid)


def _distinct(rings: Sequence[Array]) -> tuple[Complex, Indices]:
    """Lay rings end to end without repeated vertices and those on the line of their neighbours; count each one's."""
    given = [as_complex(np.asarray(ring, dtype=float).reshape(-1, 2)) for ring in rings]
    for ring in given:
        others = ring[ring != ring[0]] if len(ring) else ring
        if not np.isfinite(ring).all() or not (len(others) and (others != others[0]).any()):
            raise GeometryError(
                f"cannot fit a curve to {len(ring)} points; an outline has at least three different ones"
            )
    sizes = [len(ring) + 1 for ring in given]
    every = as_points(np.concatenate([part for ring in given for part in (ring, ring[:1])]))
    lines = shapely.linestrings(every, indices=np.repeat(np.arange(len(given)), sizes))
    places, own = shapely.get_coordinates(shapely.simplify(lines, SIMPLE, preserve_topology=False), return_index=True)
    counts = np.bincount(own, minlength=len(given))
    points, last = as_complex(places), np.cumsum(counts) - 1
    keep = np.ones(len(points), dtype=bool)
    keep[last] = False
    first = last - counts + 1
    many = counts > 4
    off = to_chord(points[first[many]], points[last[many] - 1], points[first[many] + 1])
    keep[first[many][off < tolerances.SAME_POINT]] = False
    counts = np.add.reduceat(keep, first).astype(np.intp)
    if (counts < 3).any():
        raise GeometryError("cannot fit a curve to an outline narrower than the beam can tell from a line")
    return points[keep], counts


def _arms(points: Complex, back: Complex, ahead: Complex) -> tuple[Complex, Complex]:
    return points - back, ahead - points


def _turns(points: Complex, laid: Laid) -> Array:
    return turn(*_arms(points, points[laid.before], points[laid.next]))


def _window(points: Complex, lengths: Array, laid: Laid) -> tuple[Complex, Complex]:
    """Give, for each vertex, the ring's points a window (or a whole edge, if longer) before and behind it."""
    total = np.add.reduceat(lengths, laid.first)
    reach = np.minimum(WINDOW, total / 8)[laid.ring]
    # the rings lie on one axis, apart from each other, each with its first vertex repeated at its end
    base = np.cumsum(total + 1) - total
    along = np.cumsum(lengths) - lengths
    at = along - along[laid.first][laid.ring]
    closed = laid.closed()
    axis = (at + base[laid.ring])[closed]
    axis[laid.first + laid.sizes + np.arange(len(total))] = base + total
    line = points[closed]

    def place(s: Array) -> Complex:
        s = np.mod(s, total[laid.ring]) + base[laid.ring]
        return np.interp(s, axis, line.real) + 1j * np.interp(s, axis, line.imag)

    return place(at - np.maximum(lengths[laid.before], reach)), place(at + np.maximum(lengths, reach))


def _corners(turns: Array, lengths: Array, laid: Laid) -> Flags:
    reach = np.maximum(np.minimum(lengths, lengths[laid.before]), WINDOW)
    size = np.abs(turns)
    candidates = np.flatnonzero((size > CORNER_TURN) & (reach / 2 * np.tan(size / 4) > ROUND_OFF))
    corner = np.zeros(len(size), dtype=bool)
    along = np.cumsum(lengths) - lengths
    for number in np.unique(laid.ring[candidates]).tolist():
        own = candidates[laid.ring[candidates] == number]
        first = laid.first[number]
        total = lengths[first : first + laid.sizes[number]].sum()
        corner[_sharpest(own, size[own], along[own], total)] = True
    return corner


def _sharpest(candidates: Indices, size: Array, along: Array, total: float) -> list[int]:
    """Of one ring's candidates within a window of each other keep the sharpest."""
    left = np.ones(len(candidates), dtype=bool)
    kept = []
    for k in np.lexsort((candidates, -size)).tolist():
        if left[k]:
            kept.append(int(candidates[k]))
            gaps = np.abs(along - along[k])
            left &= np.minimum(gaps, total - gaps) >= WINDOW
    return kept


def _straight(lengths: Array, turns: Array, laid: Laid) -> Flags:
    """Tell which edges (vertex i to the next) bulge too much as arcs to be part of a curve."""
    most = np.maximum(turns, turns[laid.next])
    # a corner's turn says nothing about the edge (it is 0 here); an edge between two corners is straight anyway
    straight: Flags = (lengths * most / 8 > STRAIGHT_OFF) | (most == 0)
    return straight


def _eased(
    points: Complex, lengths: Array, turns: Array, corner: Flags, straight: Flags, laid: Laid, off: float
) -> tuple[Complex, Flags, Flags, Laid]:
    """Cut the ends off two straight edges that meet in a slight turn, so that a curve can join them smoothly.

    A curve from `reach` before to `reach` behind a vertex misses it by less than reach * tan(turn / 4), which may be
    `off` mm. Gives points, corners and straight edges anew.
    """
    size = np.abs(turns)
    reach = np.minimum(off / np.tan(np.maximum(size, 1e-6) / 4), EASE_SHARE * np.minimum(lengths, lengths[laid.before]))
    reach = np.minimum(reach, EASE_MOST)
    joins = straight & straight[laid.before] & ~corner
    slight = joins & (size > SLIGHTEST) & (size < CORNER_TURN) & (reach >= WINDOW)
    if not slight.any():
        return points, corner, straight, laid
    direction = (points[laid.next] - points) / lengths
    count = np.where(slight, 3, 1)
    own, place = members(count)
    shift = np.where(place == 0, -direction[laid.before][own], direction[own])
    far = np.where(slight[own] & (place != 1), reach[own], 0.0)
    counts = np.add.reduceat(count, laid.first).astype(np.intp)
    return points[own] + far * shift, corner[own], straight[own] & (place == count[own] - 1), Laid.of(counts)


def _with_tangents(points: Complex, corner: Flags, straight: Flags, laid: Laid) -> _Vertices:
    lengths = np.abs(points[laid.next] - points)
    back, ahead = _window(points, lengths, laid)
    turns = _turns(points, laid)
    a, b = _arms(points, back, ahead)
    la, lb = np.abs(a), np.abs(b)
    tangent = unit(a / la * lb + b / lb * la)  # of the circle through the vertex and the points before and behind
    direction = (points[laid.next] - points) / lengths
    before = straight[laid.before]
    leaving = np.where(corner, unit(ahead - points), tangent)
    arriving = np.where(corner, unit(points - back), tangent)
    # an edge that stays straight sets the tangent at its ends; between two such edges that turn there is a corner
    corner = corner | (straight & before & (np.abs(turns) > SLIGHTEST))
    leaving = np.where(before & ~corner, direction[laid.before], leaving)
    leaving = np.where(straight, direction, leaving)
    arriving = np.where(corner | (~straight & ~before), arriving, leaving)
    arriving = np.where(before, direction[laid.before], arriving)
    return _Vertices(points, lengths, leaving, arriving, corner, straight, turns)


def _started(v: _Vertices, laid: Laid) -> _Vertices:
    """Start each ring at a corner, else at the end of a straight edge, else where it is."""
    knots = np.where(np.logical_or.reduceat(v.corner, laid.first)[laid.ring], v.corner, v.straight)
    places = np.where(knots, np.arange(len(knots)), len(knots))
    start = np.minimum.reduceat(places, laid.first)
    start = np.where(start == len(knots), 0, start - laid.first)
    begin = laid.first[laid.ring]
    order = begin + (np.arange(len(knots)) - begin + start[laid.ring]) % laid.sizes[laid.ring]
    return _Vertices._make(each[order] for each in v)


def _sampled(v: _Vertices, laid: Laid) -> Samples:
    """Lay the runs end to end; corners, the ends of straight edges and each ring's first vertex start a new run."""
    ends_line = v.straight | v.straight[laid.before]
    knot = v.corner | ends_line
    knot[laid.first] = True
    steps = np.where(v.straight, 1, np.maximum(1, np.ceil(v.lengths / STEP))).astype(np.intp)
    own, step = members(steps)
    share = step / steps[own]
    # behind each run its end once more: the next run's first vertex, or, at a ring's end, the ring's
    starts = np.flatnonzero((share == 0) & knot[own])[1:]
    own = np.append(np.insert(own, starts, own[starts]), len(steps))
    share = np.append(np.insert(share, starts, 0.0), 0.0)
    end = np.append(starts, len(own) - len(starts) - 1) + np.arange(len(starts) + 1)
    first = np.concatenate([[0], end[:-1] + 1])
    vertex = own.copy()
    last_of_ring = np.isin(own[end], laid.first + laid.sizes)
    vertex[end[last_of_ring]] = laid.first[laid.ring[own[first[last_of_ring]]]]
    turns = np.where(v.corner, 0.0, np.abs(v.turns))
    bends = (turns + turns[laid.next]) / 2  # each edge has half of the turns at its two ends
    stations = [np.concatenate([[0.0], np.cumsum(m)]) for m in (v.lengths, bends)]
    along, turned = (m[own] + share * np.append(np.diff(m), 0.0)[own] for m in stations)
    on_edge = share != 0
    direction = (v.points[laid.next] - v.points) / v.lengths
    spans = np.column_stack([first, end])
    straight = v.straight[own[first]]
    points = v.points[vertex] * (1 - share) + v.points[laid.next[vertex]] * share
    leaving, arriving = (np.where(on_edge, direction[vertex], own[vertex]) for own in (v.leaving, v.arriving))
    places = (v.corner[vertex] & ~on_edge, laid.ring[vertex], np.flatnonzero(~on_edge))
    return Samples(points, along, turned, leaving, arriving, *places, spans[straight], spans[~straight])
