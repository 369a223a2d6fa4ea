"""Smooth outlines fitted to polygons: closed chains of few cubic Beziers and straight lines.

Terms. A *ring* is an (n, 2) array without a repeated last point. A *knot* is where two pieces of a curve meet; it is a
*corner* where the outline turns sharply, and *smooth* (one tangent for both pieces) everywhere else.

The fit, for all rings at once: straight edges and corners cut every ring into *runs*; each run is tried as one cubic
(`least_squares`); what misses the tolerance is split; neighbours that fit as one are merged again. Every accepted cubic
was measured against its stretch of the ring in both directions.

Known limit: a run too short to split (LEAST_SEGMENT) that no cubic meets is written as the lines it came as.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import shapely

from nameplate import tolerances
from nameplate.errors import GeometryError
from nameplate.geometry.curve import Curve, flatten, line, polygon
from nameplate.geometry.least_squares import Stretches, direction_at, fit_cubics
from nameplate.geometry.region import Array
from nameplate.geometry.runs import Samples, sample_rings

#: Share of the tolerance that the fit aims at. What is left over covers the points dropped before fitting and what lies
#: between the measured points; 0.65 takes a sixth more cubics.
AIM = 0.9

#: The same for the first fit, with free tangents, from which shared tangents are taken: what is left over is what
#: sharing them costs. Between 0.4 and 0.65 the number of cubics hardly changes.
FIRST_AIM = 0.65

#: Shares of the tolerance to try when a finished outline crosses itself or is not within the tolerance after all.
CLOSER = (0.5, 0.2, 0.05)

#: How far (mm) round such a place the fit is made more closely.
CARE = 1.0

#: Least share of the tolerance beside a corner, reached at an angle of 46 degrees. Lower splits needles into crumbs.
LEAST_STRICTNESS = 0.39

#: No stretch is split into pieces shorter than this (mm).
LEAST_SEGMENT = 0.05

#: Rounds of merging: how many neighbours are replaced by one fewer.
MERGES = (2, 3, 2)


class _Piece(NamedTuple):
    """Samples `first` to `last` of one run, as one cubic (or, where `line` says so, one line)."""

    first: int
    last: int
    line: bool


def fit_ring(ring: Array, tolerance: float = tolerances.CURVE) -> Curve:
    """Fit one closed outline; see `fit_rings`.

    >>> fit_ring(np.array([(0, 0), (9, 0), (9, 9), (0, 9)], float)).lines.tolist()
    [True, True, True, True]
    """
    return fit_rings([ring], tolerance)[0]


def fit_rings(rings: Sequence[Array], tolerance: float = tolerances.CURVE, *, fewest: bool = True) -> tuple[Curve, ...]:
    """Fit closed outlines of few cubics and lines to (n, 2) rings.

    Without `fewest` neighbours that would fit as one are left apart: about a quarter more cubics in two thirds of the
    time.

    No point of a curve lies farther than `tolerance` mm from its ring, nor the other way round. Corners and straight
    edges are kept; everywhere else neighbours share their tangent. Halving the tolerance adds about a fifth more
    cubics. Raises GeometryError for a ring of fewer than three points or without extent, and for a tolerance that is
    not above 0.

    >>> fit_rings([])
    ()
    """
    if not (math.isfinite(tolerance) and tolerance > 0):
        raise GeometryError(f"cannot fit curves within {tolerance} mm; the tolerance must be above 0")
    if not rings:
        return ()
    curves = _fitted_rings(rings, tolerance, MERGES if fewest else ())
    return tuple(_mended(c, r, tolerance) for c, r in zip(curves, rings, strict=True))


def _mended(curve: Curve, ring: Array, tolerance: float) -> Curve:
    """Give the curve if it keeps its promises; else fit it anew, more closely near the places where it does not.

    Where even that does not help the ring's own edges are given.
    """
    places = _faults(curve, ring, tolerance)
    for share in CLOSER:
        if not len(places):
            return curve
        (curve,) = _fitted_rings([ring], tolerance, MERGES, places=places, share=share)
        places = np.vstack([places, more]) if len(more := _faults(curve, ring, tolerance)) else more
    if not len(places):
        return curve
    return polygon(ring)


def _faults(curve: Curve, ring: Array, tolerance: float) -> Array:
    """Give the (n, 2) places where a finished curve crosses itself, or is farther than `tolerance` mm from its ring."""
    flat = flatten(curve, min(tolerance, tolerances.CURVE) / 20)
    lines = [shapely.linearrings(points) for points in (flat, ring)]
    shapely.prepare(lines)
    middles = (ring + np.roll(ring, -1, axis=0)) / 2
    pairs = ((lines[1], flat), (lines[0], ring), (lines[0], middles))
    faults = [points[~shapely.dwithin(line, shapely.points(points), tolerance)] for line, points in pairs]
    if not shapely.is_simple(lines[0]):
        faults.append(_crossings(flat))
    return np.vstack(faults)


def _crossings(ring: Array) -> Array:
    """Give the starts of a ring's edges that meet others than their neighbours."""
    edges = shapely.linestrings(np.stack([ring, np.roll(ring, -1, axis=0)], axis=1))
    one, other = shapely.STRtree(edges).query(edges, predicate="intersects")
    apart = np.abs(one - other)
    crossing: Array = ring[np.unique(one[(apart > 1) & (apart < len(ring) - 1)])]
    return crossing


def _fitted_rings(
    rings: Sequence[Array],
    tolerance: float,
    merges: Sequence[int],
    *,
    places: Array | None = None,
    share: float = 1.0,
) -> tuple[Curve, ...]:
    """Fit rings; within CARE of the given places at `share` of the tolerance."""
    samples = sample_rings(rings)
    if places is not None:
        near = shapely.dwithin(shapely.multipoints(places), shapely.points(samples.points), CARE)
        samples = samples._replace(care=np.concatenate([[0], np.cumsum(near)]), share=share)
    aim, first_aim = tolerance * AIM, tolerance * FIRST_AIM
    loose = _merged(
        samples, _split(samples, _half_turns(samples), first_aim, held=False), first_aim, merges, held=False
    )
    samples = _with_shared_tangents(samples, loose)
    spans = [(p.first, p.last) for p in loose.pieces if (p.first, p.last) not in set(samples.straight)]
    firm = _merged(samples, _split(samples, spans, aim, held=True), aim, merges, held=True)
    return _assembled(samples, firm, len(rings))


class _Fitted(NamedTuple):
    """Pieces in the order of their first sample, with their control points."""

    pieces: tuple[_Piece, ...]
    cubics: tuple[Array, ...]


def _fit(samples: Samples, spans: Sequence[tuple[int, int]], aim: float, *, held: bool) -> tuple[Array, Array]:
    """Fit one cubic to each span of samples; give (k, 4, 2) control points and (k,) errors in mm.

    Where care is asked for, errors are given larger by as much. Tangents that straight edges give are always kept, the
    others where `held`.
    """
    ends = np.array(spans, dtype=np.intp).reshape(-1, 2)
    hold = ~samples.corner if held else samples.fixed
    first, last = ends.T
    stretches = Stretches(
        samples.points,
        samples.along,
        first,
        last,
        samples.leaving[first],
        samples.arriving[last],
        hold[first],
        hold[last],
    )
    cubics, errors = fit_cubics(stretches, aim)
    return cubics, errors / samples.shares(first, last)


def _split(samples: Samples, spans: Sequence[tuple[int, int]], aim: float, *, held: bool) -> _Fitted:
    """Fit spans, splitting what misses `aim` mm until all is met or too short to split.

    Where tangents are held, a new knot gets that of the freest cubic through the span.
    """
    done: dict[int, tuple[_Piece, Array]] = {
        a: (_Piece(a, b, True), line(samples.points[a], samples.points[b])) for a, b in samples.straight
    }
    pending = list(spans)
    while pending:
        cubics, errors = _fit(samples, pending, aim, held=held)
        missed = []
        met = errors <= aim * _strictness(samples, pending)
        for span, cubic, good in zip(pending, cubics, met.tolist(), strict=True):
            if good:
                done[span[0]] = (_Piece(*span, False), cubic)
            else:
                missed.append(span)
        knots = [_middle(samples, *span) for span in missed]
        pending = [half for (a, b), k in zip(missed, knots, strict=True) if k is not None for half in ((a, k), (k, b))]
        if held:
            _set_tangents(samples, [(s, k) for s, k in zip(missed, knots, strict=True) if k is not None], aim)
        for (first, last), knot in zip(missed, knots, strict=True):
            for a, b in samples.edges(first, last, aim * float(samples.shares(first, last))) if knot is None else ():
                done[a] = (_Piece(a, b, True), line(samples.points[a], samples.points[b]))
    order = sorted(done)
    return _Fitted(tuple(done[k][0] for k in order), tuple(done[k][1] for k in order))


def _strictness(samples: Samples, spans: Sequence[tuple[int, int]]) -> Array:
    """Give the share of the tolerance that each span may use: less beside a sharp corner.

    Where two sides meet at an angle a, an error of e across moves the tip that they form by e / sin(a / 2), and the
    tip of the burned part with it. The angle between arrival and departure is pi - a, hence the half-angle cosine.
    """
    bend = np.einsum("ij,ij->i", samples.leaving, samples.arriving)
    share = np.where(samples.corner, np.sqrt(np.clip((1 + bend) / 2, LEAST_STRICTNESS**2, 1.0)), 1.0)
    ends = np.array(spans, dtype=np.intp).reshape(-1, 2)
    least: Array = share[ends].min(axis=1)
    return least


def _half_turns(samples: Samples) -> list[tuple[int, int]]:
    """Cut the curved runs where they have turned by another half circle, for which no cubic is enough."""
    spans: list[tuple[int, int]] = []
    for first, last in samples.curved:
        turned = samples.turned[first : last + 1] - samples.turned[first]
        inner = samples.vertices[np.searchsorted(samples.vertices, first + 1) : np.searchsorted(samples.vertices, last)]
        count = math.ceil(turned[-1] / math.pi)
        marks = np.arange(1, count) * turned[-1] / max(count, 1)
        at = np.searchsorted(samples.turned[inner] - samples.turned[first], marks)
        stops = [first]
        for knot in inner[np.minimum(at, len(inner) - 1)] if len(inner) else ():
            room = min(samples.along[knot] - samples.along[stops[-1]], samples.along[last] - samples.along[knot])
            if room >= LEAST_SEGMENT:
                stops.append(int(knot))
        spans += pairwise([*stops, last])
    return spans


def _set_tangents(samples: Samples, knots: Sequence[tuple[tuple[int, int], int]], aim: float) -> None:
    """Give new knots the direction of the cubic fitted freely to their span (changes the samples' tangents)."""
    if not knots:
        return
    cubics, errors = _fit(samples, [span for span, _ in knots], aim, held=False)
    for (_, knot), cubic, error in zip(knots, cubics, errors, strict=True):
        if math.isfinite(error):
            samples.leaving[knot] = samples.arriving[knot] = direction_at(cubic, samples.points[knot])


def _with_shared_tangents(samples: Samples, loose: _Fitted) -> Samples:
    """Give each smooth knot the mean direction of the two free cubics that meet there, by their lengths."""
    leaving, arriving = samples.leaving.copy(), samples.arriving.copy()
    after = {p.first: k for k, p in enumerate(loose.pieces) if not p.line}
    home = {b: a for a, b in samples.curved if not samples.corner[a] and not samples.fixed[a]}
    for k, piece in enumerate(loose.pieces):
        if piece.line or samples.corner[piece.last] or samples.fixed[piece.last]:
            continue
        start = piece.last if piece.last in after else home.get(piece.last)
        if start is None or start not in after:
            continue
        arms = loose.cubics[k][3] - loose.cubics[k][2], loose.cubics[after[start]][1] - loose.cubics[after[start]][0]
        mean = sum((a / np.hypot(*a) * w for a, w in zip(arms, (1.0, 1.0), strict=True)), np.zeros(2))
        size = np.hypot(*mean)
        if size > 1.0:
            for knot in {piece.last, start}:
                leaving[knot] = arriving[knot] = mean / size
    return samples._replace(leaving=leaving, arriving=arriving)


def _middle(samples: Samples, first: int, last: int) -> int | None:
    """Give where to split: the ring vertex nearest the middle by turning and length, else the sample nearest it."""
    inner = samples.vertices[np.searchsorted(samples.vertices, first + 1) : np.searchsorted(samples.vertices, last)]
    for choice in (inner, np.arange(first + 1, last)):
        before = samples.along[choice] - samples.along[first]
        after = samples.along[last] - samples.along[choice]
        choice = choice[np.minimum(before, after) >= LEAST_SEGMENT]
        if len(choice):
            half = (samples.effort[first] + samples.effort[last]) / 2
            return int(choice[np.argmin(np.abs(samples.effort[choice] - half))])
    return None


def _merged(samples: Samples, fitted: _Fitted, aim: float, merges: Sequence[int], *, held: bool) -> _Fitted:
    """Use fewer cubics: one for two neighbours, two for three, wherever that meets `aim` mm."""
    pieces, cubics = list(fitted.pieces), list(fitted.cubics)
    for size in merges:
        groups = _groups(pieces, size)
        if not groups:
            continue
        spans = [_halves(samples, pieces[i].first, pieces[i + size - 1].last, size - 1) for i in groups]
        every = [s for own in spans for s in own]
        fits, errors = _fit(samples, every, aim, held=held)
        met: list[bool] = np.all((errors <= aim * _strictness(samples, every)).reshape(-1, size - 1), axis=1).tolist()
        new = fits.reshape(len(groups), size - 1, 4, 2)
        for i, own, cubic, good in reversed(list(zip(groups, spans, new, met, strict=True))):
            if good:
                pieces[i : i + size] = [_Piece(a, b, False) for a, b in own]
                cubics[i : i + size] = list(cubic)
    return _Fitted(tuple(pieces), tuple(cubics))


def _halves(samples: Samples, first: int, last: int, count: int) -> list[tuple[int, int]]:
    knot = _middle(samples, first, last) if count == 2 else None
    if count == 1:
        return [(first, last)]
    return [(first, knot), (knot, last)] if knot is not None else [(first, last), (first, last)]


def _groups(pieces: Sequence[_Piece], size: int) -> list[int]:
    """Give positions where `size` pieces in a row are cubics of one run, no piece in two groups."""
    groups: list[int] = []
    run = 0
    for k, piece in enumerate(pieces):
        joined = run > 0 and pieces[k - 1].last == piece.first
        run = 0 if piece.line else (run + 1 if joined else 1)
        if run == size:
            groups.append(k - size + 1)
            run = 0
    return groups


def _assembled(samples: Samples, fitted: _Fitted, count: int) -> tuple[Curve, ...]:
    curves: list[list[tuple[Array, bool]]] = [[] for _ in range(count)]
    for piece, cubic in zip(fitted.pieces, fitted.cubics, strict=True):
        curves[int(samples.ring[piece.first])].append((cubic, piece.line))
    return tuple(_closed(parts) for parts in curves)


def _closed(parts: Sequence[tuple[Array, bool]]) -> Curve:
    segments = np.stack([cubic for cubic, _ in parts])
    segments[:, 3] = np.roll(segments[:, 0], -1, axis=0)
    return Curve(segments, np.array([line for _, line in parts], dtype=bool))
