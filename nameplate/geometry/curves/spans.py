"""Sampled runs become pieces: as few cubics as meet a tolerance, and lines where none does.

A span of samples is tried as one cubic (`least_squares`); what misses is split; neighbours that fit as fewer are merged
again. All spans of all rings are worked on at once.

A span too short to split (LEAST_SEGMENT) that no fit meets gets a plain cubic along its tangents.

Known limit: where that misses too, the span is given as the lines it came as.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from nameplate.geometry.counting import members
from nameplate.geometry.curves.least_squares import Stretches, fit_cubics, plain_cubics
from nameplate.geometry.curves.segmentation import Samples
from nameplate.geometry.planar import Complex, as_points, dot
from nameplate.geometry.region import Array, Flags, Indices

#: Least share of the tolerance beside a corner, reached at an angle of 46 degrees. Lower splits acute tips into crumbs.
LEAST_STRICTNESS = 0.39

#: No stretch is split into pieces shorter than this (mm).
LEAST_SEGMENT = 0.05

#: Arms to try, as shares of a piece too short to split: the fit wants nearly none where the middle of the piece is flat
#: and its ends are not. Shorter ones bend more sharply at the ends, and are still smoother than a line.
ARMS = (1 / 3, 1 / 5, 1 / 8)

#: How far (mm) a curve may run beside a ring that takes its knots: more than the clearance of a jig, and less than the
#: least width of a letter, whose other side is no parallel.
BESIDE = 1.0

#: How far (mm) along the ring a vertex may lie from where such a knot stands straight across; about half an edge.
ASLANT = 0.2

#: Differences of length (mm) or turn that rounding makes; without it a tie would fall differently beside other rings.
TIE = 1e-9


class Pieces(NamedTuple):
    """Pieces in the order of their first sample: spans (k, 2) of samples, which are lines, control points (k, 4)."""

    spans: Indices
    lines: Flags
    cubics: Complex


class Merge(NamedTuple):
    """A try at replacing `size` (2 or 3) neighbours by one fewer; of three, the new knot lies at a share of the length.

    The first `phase` pieces of each run are passed over, so that other neighbours meet than with another phase.
    """

    size: int
    phase: int = 0
    share: float = 0.5


def fitted(samples: Samples, spans: Indices, tolerance: float, *, arm: float | None = None) -> tuple[Complex, Flags]:
    """Fit one cubic to each span of samples; give (k, 4) control points and which of them meet `tolerance` mm.

    Less is allowed where care is asked for and beside sharp corners. Tangents are kept everywhere but at corners. With
    an `arm` the control points are not fitted, but lie so far (a share of the span) along the tangents.
    """
    first, last = spans.T
    limit = tolerance * samples.shares(first, last) * _strictness(samples, spans)
    ends = (samples.leaving[first], samples.arriving[last], ~samples.corner[first], ~samples.corner[last])
    stretches = Stretches(samples.points, samples.along, first, last, *ends)
    cubics, errors = fit_cubics(stretches, limit) if arm is None else plain_cubics(stretches, arm)
    return cubics, errors <= limit


def _strictness(samples: Samples, spans: Indices) -> Array:
    """Give the share of the tolerance that each span may use: less beside a sharp corner.

    Where two sides meet at an angle a, an error of e across moves the tip that they form by e / sin(a / 2), and the
    tip of the burned part with it. The angle between arrival and departure is pi - a, hence the half-angle cosine.
    """
    bend = dot(samples.leaving[spans], samples.arriving[spans])
    share = np.sqrt(np.clip((1 + bend) / 2, LEAST_STRICTNESS**2, 1.0))
    least: Array = np.where(samples.corner[spans], share, 1.0).min(axis=1)
    return least


def split(samples: Samples, spans: Indices, tolerance: float) -> Pieces:
    """Fit spans, splitting what misses `tolerance` mm until all is met or too short to split."""
    done = [_straight(samples, spans[:0])]
    while len(spans):
        cubics, met = fitted(samples, spans, tolerance)
        done.append(Pieces(spans[met], np.zeros(int(met.sum()), dtype=bool), cubics[met]))
        missed = spans[~met]
        knots = middles(samples, missed)
        done += _short_ones(samples, missed[knots < 0], tolerance)
        missed, knots = missed[knots >= 0], knots[knots >= 0]
        spans = np.column_stack([missed[:, 0], knots, knots, missed[:, 1]]).reshape(-1, 2)
    return _in_order(done)


def _short_ones(samples: Samples, spans: Indices, tolerance: float) -> Iterator[Pieces]:
    """Give spans too short to split that no fit meets as plain cubics, and as lines where these miss too."""
    for arm in ARMS:
        if not len(spans):
            return
        cubics, met = fitted(samples, spans, tolerance, arm=arm)
        yield Pieces(spans[met], np.zeros(int(met.sum()), dtype=bool), cubics[met])
        spans = spans[~met]
    for first, last in spans.tolist():
        edges = samples.edges(first, last, tolerance * float(samples.shares(first, last)))
        yield _straight(samples, np.array(list(edges), dtype=np.intp).reshape(-1, 2))


def _in_order(parts: Sequence[Pieces]) -> Pieces:
    """Put pieces together in the order of their first sample."""
    spans, lines, cubics = (np.concatenate(column) for column in zip(*parts, strict=True))
    order = np.argsort(spans[:, 0], kind="stable")
    return Pieces(spans[order], lines[order], cubics[order])


def _straight(samples: Samples, spans: Indices) -> Pieces:
    """Give spans as lines."""
    a, b = samples.points[spans[:, 0]], samples.points[spans[:, 1]]
    return Pieces(spans, np.ones(len(spans), dtype=bool), np.stack([a, a + (b - a) / 3, b - (b - a) / 3, b], axis=1))


def with_lines(samples: Samples, pieces: Pieces) -> Pieces:
    """Give the pieces of curved runs, and between them the straight edges of the rings."""
    return _in_order([pieces, _straight(samples, samples.straight)])


def half_turns(samples: Samples) -> Indices:
    """Cut the curved runs where they have turned by another half circle, for which no cubic is enough."""
    first, last = samples.curved.T
    begin, total = samples.turned[first], samples.turned[last] - samples.turned[first]
    cuts = np.maximum(0, np.ceil(total / math.pi - TIE) - 1).astype(np.intp)
    run, nth = members(cuts)
    marks = begin[run] + (nth + 1) * total[run] / (cuts[run] + 1)
    knots = _vertex_near(samples, samples.turned, marks, first[run], last[run])
    return _cut_at(samples, knots[knots >= 0])


def cut_beside(samples: Samples, places: Complex) -> Indices:
    """Cut the curved runs at the vertices straight across from places: the knots of a curve that runs alongside."""
    from scipy.spatial import KDTree

    vertices = as_points(samples.points[samples.vertices])
    distances, found = KDTree(vertices).query(as_points(places))
    near = np.asarray(distances) <= BESIDE
    knots = samples.vertices[np.asarray(found)[near]]
    aslant = np.abs(dot(places[near] - samples.points[knots], samples.leaving[knots]))
    return _cut_at(samples, knots[aslant <= ASLANT])


def _cut_at(samples: Samples, knots: Indices) -> Indices:
    """Cut the curved runs at samples; those outside of runs, or too near to another or to an end, are left out."""
    first, last = samples.curved.T
    run = np.searchsorted(first, knots, side="right") - 1
    room = np.minimum(samples.along[knots] - samples.along[first[run]], samples.along[last[run]] - samples.along[knots])
    inside = (run >= 0) & (knots < last[run]) & (room >= LEAST_SEGMENT)
    knots = np.unique(knots[inside])
    knots = knots[np.diff(samples.along[knots], prepend=-np.inf) >= LEAST_SEGMENT]
    stops = np.sort(np.concatenate([first, last, knots]))
    return np.column_stack([stops[:-1], stops[1:]])[~np.isin(stops[:-1], last)]


def middles(samples: Samples, spans: Indices, share: float = 0.5) -> Indices:
    """Give where to split spans: the vertex nearest the middle by length, else the sample nearest it.

    With another `share` of the length than half, near there. Gives -1 for a span that is too short. Halves by turning
    would take as many cubics.
    """
    first, last = spans.T
    target = (1 - share) * samples.along[first] + share * samples.along[last]
    return _vertex_near(samples, samples.along, target, first, last)


def _vertex_near(samples: Samples, measure: Array, target: Array, first: Indices, last: Indices) -> Indices:
    """Give the vertex between two samples, LEAST_SEGMENT from both, whose `measure` is nearest to a target.

    Where there is none, gives any such sample; where there is not even that, -1.
    """
    low = np.searchsorted(samples.along, samples.along[first] + LEAST_SEGMENT)
    high = np.searchsorted(samples.along, samples.along[last] - LEAST_SEGMENT, side="right") - 1
    found = _nearest(samples.vertices, measure, target, low, high)
    if (found < 0).any():
        every = np.arange(len(samples.along))
        found = np.where(found < 0, _nearest(every, measure, target, low, high), found)
    return found


def _nearest(places: Indices, measure: Array, target: Array, low: Indices, high: Indices) -> Indices:
    """Of ascending places from `low` to `high` give those whose measure is nearest to each target, or -1."""
    values = measure[places]
    at = np.searchsorted(values, target)
    least, most = np.searchsorted(places, low), np.searchsorted(places, high, side="right") - 1
    before, after = (np.maximum(0, np.minimum(np.maximum(k, least), most)) for k in (at - 1, at))
    found = np.where(target - values[before] <= values[after] - target + TIE, before, after)
    return np.where(least <= most, places[found], -1)


def merged(samples: Samples, pieces: Pieces, tolerance: float, merges: Sequence[Merge], enough: int = 0) -> Pieces:
    """Use fewer cubics: one for two neighbours, two for three, wherever that meets `tolerance` mm.

    The merges are made one after the other, as long as there are more than `enough` pieces.
    """
    for size, phase, share in merges:
        if len(pieces.lines) <= enough:
            break
        groups = _groups(pieces, size, phase)
        ends = np.column_stack([pieces.spans[groups, 0], pieces.spans[groups + size - 1, 1]])
        if size == 3:
            knots = middles(samples, ends, share)
            groups, ends, knots = groups[knots >= 0], ends[knots >= 0], knots[knots >= 0]
            ends = np.column_stack([ends[:, 0], knots, knots, ends[:, 1]])
        if not len(groups):
            continue
        spans = ends.reshape(-1, 2)
        cubics, met = fitted(samples, spans, tolerance)
        good = met.reshape(-1, size - 1).all(axis=1)
        places = (groups[good, None] + np.arange(size - 1)).ravel()
        new = np.repeat(good, size - 1)
        pieces.spans[places], pieces.cubics[places] = spans[new], cubics[new]
        kept = np.ones(len(pieces.lines), dtype=bool)
        kept[groups[good] + size - 1] = False
        pieces = Pieces(pieces.spans[kept], pieces.lines[kept], pieces.cubics[kept])
    return pieces


def _groups(pieces: Pieces, size: int, phase: int) -> Indices:
    """Give positions where `size` pieces in a row are cubics of one run, no piece in two groups.

    The first group of a run leaves out `phase` pieces.
    """
    count = len(pieces.lines)
    joined = np.zeros(count, dtype=bool)
    joined[1:] = (pieces.spans[1:, 0] == pieces.spans[:-1, 1]) & ~pieces.lines[1:] & ~pieces.lines[:-1]
    lengths = np.diff(np.append(np.flatnonzero(~joined), count))
    run, place = members(lengths)
    room = lengths[run] - place
    return np.flatnonzero((place % size == phase) & (room >= size) & ~pieces.lines)
