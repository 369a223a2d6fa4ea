"""Cuts polygon outlines into straight edges and curved runs, and samples the runs for fitting.

A vertex is a *corner* when rounding it off would be seen: the outline turns by more than CORNER_TURN within WINDOW on
both sides, and a smooth arc through the vertex would miss it by more than ROUND_OFF. An edge is *straight* when an arc
that takes up the turns at its ends would bulge by more than STRAIGHT_OFF: flattened curves never have such edges.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from nameplate import tolerances
from nameplate.errors import GeometryError
from nameplate.geometry.region import Array

Flags = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]

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

#: How far (mm) a curve may pass a vertex where two straight edges meet in less than a corner; under what is left for it
#: by the fit. More makes longer, softer curves.
EASE_OFF = 0.012

#: Such a curve takes at most this share of each edge, and at most this length (mm).
EASE_SHARE, EASE_MOST = 0.4, 1.0

#: Longest step (mm) between two samples of a curved run. Shorter steps measure the fit more closely and cost time.
STEP = 0.25

#: Weight of turning (radians to the power one half per mm) against plain length when a run is split in halves.
TURN_WEIGHT = 2.0


class Samples(NamedTuple):
    """All runs of all rings, end to end. Arrays are one entry a sample; a run's last sample repeats its end.

    `along`: mm along the ring; `turned`: radians turned so far, either way; `effort`: grows with length and turning;
    `leaving`, `arriving`: unit tangents; `corner`: tangent not shared; `fixed`: tangent given by a straight edge;
    `ring`: which ring; `vertices`: positions of samples that are vertices; `straight` and `curved`: spans
    (first, last) in order. `care` (one more entry than samples): how many samples so far want only a `share` of the
    tolerance; None where none does.
    """

    points: Array
    along: Array
    turned: Array
    effort: Array
    leaving: Array
    arriving: Array
    corner: Flags
    fixed: Flags
    ring: Indices
    vertices: Indices
    straight: tuple[tuple[int, int], ...]
    curved: tuple[tuple[int, int], ...]
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
        kept = shapely.get_coordinates(shapely.simplify(shapely.linestrings(self.points[chain]), tolerance))
        left = iter(kept)
        want = next(left)
        stops: list[int] = []
        for position in chain:
            if np.array_equal(self.points[position], want):
                stops.append(int(position))
                want = next(left, np.full(2, np.nan))
        yield from itertools.pairwise(stops)


class _Vertices(NamedTuple):
    """One ring's vertices, with tangents in the direction of travel, started at a corner where there is one."""

    points: Array
    lengths: Array
    leaving: Array
    arriving: Array
    corner: Flags
    straight: Flags
    turns: Array


def sample_rings(rings: Sequence[Array]) -> Samples:
    """Cut and sample rings; raises GeometryError for a ring without three distinct points."""
    parts = [_sampled(_vertices(ring), number) for number, ring in enumerate(rings)]
    offsets = np.cumsum([0] + [len(p.points) for p in parts])
    columns: dict[str, Any] = {name: np.concatenate([getattr(p, name) for p in parts]) for name in Samples._fields[:9]}
    vertices = np.concatenate([p.vertices + o for p, o in zip(parts, offsets[:-1], strict=True)])
    spans: dict[str, Any] = {
        name: tuple(
            (a + int(o), b + int(o)) for p, o in zip(parts, offsets[:-1], strict=True) for a, b in getattr(p, name)
        )
        for name in ("straight", "curved")
    }
    return Samples(**columns, vertices=vertices, **spans)


def _vertices(ring: Array) -> _Vertices:
    points = _distinct(ring)
    lengths = _lengths(points)
    corner = _corners(_turns(points, *_window(points, lengths, WINDOW)), lengths)
    turns = _turns(points, np.roll(points, 1, axis=0), np.roll(points, -1, axis=0))
    straight = _straight(lengths, np.where(corner, 0.0, np.abs(turns)))
    return _with_tangents(*_eased(points, lengths, turns, corner, straight))


def _lengths(points: Array) -> Array:
    lengths: Array = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    return lengths


def _eased(points: Array, lengths: Array, turns: Array, corner: Flags, straight: Flags) -> tuple[Array, Flags, Flags]:
    """Cut the ends off two straight edges that meet in a slight turn, so that a curve can join them smoothly.

    A curve from `reach` before to `reach` behind a vertex misses it by less than reach * tan(turn / 4). Gives points,
    corners and straight edges anew.
    """
    size = np.abs(turns)
    before = np.roll(lengths, 1)
    reach = np.minimum(EASE_OFF / np.tan(np.maximum(size, 1e-6) / 4), EASE_SHARE * np.minimum(lengths, before))
    reach = np.minimum(reach, EASE_MOST)
    slight = straight & np.roll(straight, 1) & ~corner & (size > SLIGHTEST) & (size < CORNER_TURN) & (reach >= WINDOW)
    if not slight.any():
        return points, corner, straight
    direction = (np.roll(points, -1, axis=0) - points) / lengths[:, None]
    count = np.where(slight, 3, 1)
    own = np.repeat(np.arange(len(points)), count)
    place = np.arange(len(own)) - np.repeat(np.cumsum(count) - count, count)
    three = slight[own]
    shift = np.where((place == 0)[:, None], -np.roll(direction, 1, axis=0)[own], direction[own])
    off = np.where(three & (place != 1), reach[own], 0.0)
    return points[own] + off[:, None] * shift, corner[own], straight[own] & (place == count[own] - 1)


def _with_tangents(points: Array, corner: Flags, straight: Flags) -> _Vertices:
    lengths = _lengths(points)
    back, ahead = _window(points, lengths, WINDOW)
    turns = _turns(points, np.roll(points, 1, axis=0), np.roll(points, -1, axis=0))
    tangent = _tangents(points, back, ahead)
    direction = (np.roll(points, -1, axis=0) - points) / lengths[:, None]
    before = np.roll(straight, 1)
    leaving = np.where(corner[:, None], _unit(ahead - points), tangent)
    arriving = np.where(corner[:, None], _unit(points - back), tangent)
    # an edge that stays straight sets the tangent at its ends; between two such edges that turn there is a corner
    corner = corner | (straight & before & (np.abs(turns) > SLIGHTEST))
    leaving = np.where((before & ~corner)[:, None], np.roll(direction, 1, axis=0), leaving)
    leaving = np.where(straight[:, None], direction, leaving)
    arriving = np.where(corner[:, None] | (~straight & ~before)[:, None], arriving, leaving)
    arriving = np.where(before[:, None], np.roll(direction, 1, axis=0), arriving)
    first = _first(corner, straight)
    whole = _Vertices(points, lengths, leaving, arriving, corner, straight, turns)
    rolled: tuple[Any, ...] = tuple(np.roll(a, -first, axis=0) for a in whole)
    return _Vertices(*rolled)


def _first(corner: Flags, straight: Flags) -> int:
    """Choose where a ring starts: at a corner, else at the end of a straight edge, else anywhere."""
    knots = np.flatnonzero(corner)
    if not len(knots):
        knots = np.flatnonzero(straight | np.roll(straight, 1))
    return int(knots[0]) if len(knots) else 0


def _distinct(ring: Array) -> Array:
    """Drop repeated vertices and those on the line of their neighbours."""
    given = np.asarray(ring, dtype=float).reshape(-1, 2)
    if not np.isfinite(given).all() or len(np.unique(given, axis=0)) < 3:
        raise GeometryError(f"cannot fit a curve to {len(given)} points; an outline has at least three different ones")
    closed = shapely.linestrings(np.vstack([given, given[:1]]))
    points: Array = shapely.get_coordinates(shapely.simplify(closed, SIMPLE))[:-1]
    if len(points) > 3 and _off_line(points[0], points[-1], points[1]) < tolerances.SAME_POINT:
        points = points[1:]
    if len(points) < 3:
        raise GeometryError("cannot fit a curve to an outline narrower than the beam can tell from a line")
    return points


def _off_line(p: Array, a: Array, b: Array) -> float:
    return float(shapely.distance(shapely.linestrings([a, b]), shapely.points(p)))


def _window(points: Array, lengths: Array, size: float) -> tuple[Array, Array]:
    """Give, for each vertex, the ring's points a window (or a whole edge, if longer) before and behind it."""
    total = lengths.sum()
    reach = min(size, total / 8)
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    xs, ys = np.vstack([points, points[:1]]).T
    at = along[:-1]

    def place(s: Array) -> Array:
        s = np.mod(s, total)
        return np.column_stack([np.interp(s, along, xs), np.interp(s, along, ys)])

    return place(at - np.maximum(np.roll(lengths, 1), reach)), place(at + np.maximum(lengths, reach))


def _turns(points: Array, back: Array, ahead: Array) -> Array:
    a, b = points - back, ahead - points
    turns: Array = np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], np.einsum("ij,ij->i", a, b))
    return turns


def _corners(turn: Array, lengths: Array) -> Flags:
    reach = np.maximum(np.minimum(lengths, np.roll(lengths, 1)), WINDOW)
    size = np.abs(turn)
    candidate = (size > CORNER_TURN) & (reach / 2 * np.tan(size / 4) > ROUND_OFF)
    return _sharpest(candidate, size, lengths)


def _sharpest(candidate: Flags, size: Array, lengths: Array) -> Flags:
    """Of candidates within a window of each other keep the sharpest."""
    corner = np.zeros(len(size), dtype=bool)
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    total = along[-1]
    kept: list[float] = []
    for i in sorted(np.flatnonzero(candidate), key=lambda k: (-size[k], k)):
        gaps = np.abs(np.array(kept) - along[i]) if kept else np.array([math.inf])
        if np.minimum(gaps, total - gaps).min() >= WINDOW or not kept:
            corner[i] = True
            kept.append(float(along[i]))
    return corner


def _straight(lengths: Array, turn: Array) -> Flags:
    """Tell which edges (vertex i to i + 1) bulge too much as arcs to be part of a curve."""
    ends = np.stack([turn, np.roll(turn, -1)])
    # a corner's turn says nothing about the edge (it is 0 here); an edge between two corners is straight anyway
    straight: Flags = (lengths * ends.max(axis=0) / 8 > STRAIGHT_OFF) | (ends == 0).all(axis=0)
    return straight


def _tangents(points: Array, back: Array, ahead: Array) -> Array:
    """Give the direction at each vertex of the circle through it and the points before and behind."""
    a, b = points - back, ahead - points
    la, lb = np.hypot(*a.T)[:, None], np.hypot(*b.T)[:, None]
    return _unit(a / la * lb + b / lb * la)


def _unit(v: Array) -> Array:
    length = np.hypot(*v.T)[:, None]
    unit: Array = v / np.where(length > 0, length, 1.0)
    return unit


def _sampled(v: _Vertices, number: int) -> Samples:
    """Lay the runs of one ring end to end; knots at corners and at the ends of straight edges start a new run."""
    n = len(v.points)
    knots = np.flatnonzero(v.corner | v.straight | np.roll(v.straight, 1))
    if not len(knots):
        knots = np.array([0])
    steps = np.where(v.straight, 1, np.maximum(1, np.ceil(v.lengths / STEP))).astype(np.intp)
    own = np.repeat(np.arange(n), steps)
    share = ((np.arange(len(own)) - np.repeat(np.cumsum(steps) - steps, steps)) / steps[own])[:, None]
    nxt = (own + 1) % n
    points = v.points[own] * (1 - share) + v.points[nxt] * share
    is_vertex = share[:, 0] == 0
    measures = [np.concatenate([[0.0], np.cumsum(m)]) for m in (v.lengths, _bends(v), _efforts(v))]
    stations = [np.append(m[own] + share[:, 0] * np.diff(m)[own], m[-1]) for m in measures]
    at_knot = np.flatnonzero(is_vertex & np.isin(own, knots))
    starts, ends = at_knot, np.append(at_knot[1:], len(points))
    order = np.concatenate([np.arange(a, b + 1) for a, b in zip(starts, ends, strict=True)])
    wrapped = order % len(points)
    vertex_of = np.append(own, n)[order] % n
    direction = (np.roll(v.points, -1, axis=0) - v.points) / v.lengths[:, None]
    on_edge = ~is_vertex[wrapped][:, None]
    lengths = ends - starts + 1
    first = np.cumsum(lengths) - lengths
    spans = [(int(a), int(a + k - 1)) for a, k in zip(first, lengths, strict=True)]
    straight = v.straight[own[starts]]
    return Samples(
        points[wrapped],
        stations[0][order],
        stations[1][order],
        stations[2][order],
        np.where(on_edge, direction[vertex_of], v.leaving[vertex_of]),
        np.where(on_edge, direction[vertex_of], v.arriving[vertex_of]),
        v.corner[vertex_of] & is_vertex[wrapped],
        (v.straight | np.roll(v.straight, 1))[vertex_of] & ~v.corner[vertex_of] & is_vertex[wrapped],
        np.full(len(order), number, dtype=np.intp),
        np.flatnonzero(is_vertex[wrapped]),
        tuple(s for s, line in zip(spans, straight, strict=True) if line),
        tuple(s for s, line in zip(spans, straight, strict=True) if not line),
    )


def _bends(v: _Vertices) -> Array:
    """Give each edge half of the turns (radians, either way) at its two ends; corners do not count."""
    turns = np.where(v.corner, 0.0, np.abs(v.turns))
    bends: Array = (turns + np.roll(turns, -1)) / 2
    return bends


def _efforts(v: _Vertices) -> Array:
    """Give each edge's share in splitting: length times (1 + weight * root of its curvature)."""
    efforts: Array = v.lengths * (1 + TURN_WEIGHT * np.sqrt(_bends(v) / v.lengths))
    return efforts
