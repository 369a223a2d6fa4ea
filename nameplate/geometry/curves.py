"""Smooth outlines: closed chains of cubic Beziers and straight lines, fitted to polygons and flattened back.

Terms. A *ring* is an (n, 2) array without a repeated last point. A *knot* is where two pieces of a curve meet; it is a
*corner* where the outline turns sharply, and *smooth* (one tangent for both pieces) everywhere else.

The fit, for all rings at once: straight edges and corners cut every ring into *runs*; each run is tried as one cubic
(`least_squares`); what misses the tolerance is split; neighbours that fit as one are merged again. Every accepted cubic
was measured against its stretch of the ring in both directions.

Known limit: a run too short to split (LEAST_SPLIT) that no cubic meets is written as the lines it came as.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from nameplate import tolerances
from nameplate.errors import GeometryError
from nameplate.geometry.least_squares import Stretches, fit_cubics
from nameplate.geometry.region import Array
from nameplate.geometry.runs import Samples, sample_rings

Flags = npt.NDArray[np.bool_]

#: Share of the tolerance that the fit aims at. What is left over covers what lies between the measured points, and
#: the rounding of the written file; 1.0 saves a twentieth of the cubics.
AIM = 0.65

#: A stretch shorter than this (mm) is not split again: its halves would be under 0.05 mm.
LEAST_SPLIT = 0.1

#: Rounds of merging neighbours; each halves what is left to gain.
MERGE_ROUNDS = 4


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """One closed outline of cubics and lines.

    `segments` is (n, 4, 2): start, two control points, end; each starts where the one before ends, the first where
    the last ends. `lines` (n,) marks the straight ones.
    """

    segments: Array
    lines: Flags

    @property
    def start(self) -> Array:
        """The (2,) point where the outline begins and ends."""
        start: Array = self.segments[0, 0]
        return start


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


def fit_rings(rings: Sequence[Array], tolerance: float = tolerances.CURVE) -> tuple[Curve, ...]:
    """Fit closed outlines of few cubics and lines to (n, 2) rings.

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
    samples = sample_rings(rings)
    pieces = _merged(samples, _split(samples, tolerance * AIM), tolerance * AIM)
    return _assembled(samples, pieces, len(rings))


def _fit(samples: Samples, spans: Sequence[tuple[int, int]]) -> tuple[Array, Array]:
    """Fit one cubic to each span of samples; give (k, 4, 2) control points and (k,) errors in mm."""
    ends = np.array(spans, dtype=np.intp).reshape(-1, 2)
    stretches = Stretches(
        samples.points,
        samples.along,
        ends[:, 0],
        ends[:, 1],
        samples.leaving[ends[:, 0]],
        samples.arriving[ends[:, 1]],
        ~samples.corner[ends[:, 0]],
        ~samples.corner[ends[:, 1]],
    )
    return fit_cubics(stretches)


class _Fitted(NamedTuple):
    """Pieces in the order of their first sample, with their control points."""

    pieces: tuple[_Piece, ...]
    cubics: tuple[Array, ...]


def _split(samples: Samples, aim: float) -> _Fitted:
    """Fit every run, splitting what misses `aim` mm until all is met or too short to split."""
    done: dict[int, tuple[_Piece, Array]] = {
        a: (_Piece(a, b, True), _line(samples.points[a], samples.points[b])) for a, b in samples.straight
    }
    pending = list(samples.curved)
    while pending:
        cubics, errors = _fit(samples, pending)
        missed = []
        for span, cubic, error in zip(pending, cubics, errors, strict=True):
            if error <= aim:
                done[span[0]] = (_Piece(*span, False), cubic)
            else:
                missed.append(span)
        pending = []
        for first, last in missed:
            knot = _middle(samples, first, last)
            if knot is not None:
                pending += [(first, knot), (knot, last)]
            else:
                for a, b in samples.edges(first, last, aim):
                    done[a] = (_Piece(a, b, True), _line(samples.points[a], samples.points[b]))
    order = sorted(done)
    return _Fitted(tuple(done[k][0] for k in order), tuple(done[k][1] for k in order))


def _middle(samples: Samples, first: int, last: int) -> int | None:
    """Give the ring vertex nearest the middle by turning and length, or None where there is none to split at."""
    if samples.along[last] - samples.along[first] < LEAST_SPLIT:
        return None
    inner = samples.vertices[np.searchsorted(samples.vertices, first + 1) : np.searchsorted(samples.vertices, last)]
    room = LEAST_SPLIT / 2
    inner = inner[
        (samples.along[inner] - samples.along[first] >= room) & (samples.along[last] - samples.along[inner] >= room)
    ]
    if not len(inner):
        return None
    half = (samples.effort[first] + samples.effort[last]) / 2
    return int(inner[np.argmin(np.abs(samples.effort[inner] - half))])


def _line(a: Array, b: Array) -> Array:
    return np.stack([a, a + (b - a) / 3, b - (b - a) / 3, b])


def _merged(samples: Samples, fitted: _Fitted, aim: float) -> _Fitted:
    """Join neighbouring cubics of one run wherever one cubic meets `aim` mm over both."""
    pieces, cubics = list(fitted.pieces), list(fitted.cubics)
    for turn in range(MERGE_ROUNDS):
        pairs = _pairs(pieces, turn % 2)
        if not pairs:
            continue
        merged, errors = _fit(samples, [(pieces[i].first, pieces[i + 1].last) for i in pairs])
        for i, cubic, error in reversed(list(zip(pairs, merged, errors, strict=True))):
            if error <= aim:
                pieces[i : i + 2] = [_Piece(pieces[i].first, pieces[i + 1].last, False)]
                cubics[i : i + 2] = [cubic]
    return _Fitted(tuple(pieces), tuple(cubics))


def _pairs(pieces: Sequence[_Piece], skip: int) -> list[int]:
    """Give positions i where pieces i and i + 1 are cubics of one run, no piece in two pairs."""
    pairs: list[int] = []
    i = skip
    while i + 1 < len(pieces):
        a, b = pieces[i], pieces[i + 1]
        if not a.line and not b.line and a.last == b.first:
            pairs.append(i)
            i += 1
        i += 1
    return pairs


def _assembled(samples: Samples, fitted: _Fitted, count: int) -> tuple[Curve, ...]:
    curves: list[list[tuple[Array, bool]]] = [[] for _ in range(count)]
    for piece, cubic in zip(fitted.pieces, fitted.cubics, strict=True):
        curves[int(samples.ring[piece.first])].append((cubic, piece.line))
    return tuple(_closed(parts) for parts in curves)


def _closed(parts: Sequence[tuple[Array, bool]]) -> Curve:
    segments = np.stack([cubic for cubic, _ in parts])
    segments[:, 3] = np.roll(segments[:, 0], -1, axis=0)
    return Curve(segments, np.array([line for _, line in parts], dtype=bool))


# --- using curves ---------------------------------------------------------------------------------------------------


def flatten(curve: Curve, tolerance: float = tolerances.FLATTEN) -> Array:
    """Give the curve as an (n, 2) ring whose chords lie within `tolerance` mm of it.

    The number of chords is the bound from the second derivative: a chord over 1/n of a cubic is off by at most
    max|B''| / (8 n^2), with |B''| at most six times the larger second difference of the control points.

    >>> flatten(fit_ring(np.array([(0, 0), (3, 0), (0, 4)], float))).tolist()
    [[0.0, 0.0], [3.0, 0.0], [0.0, 4.0]]
    """
    p = curve.segments
    bend = np.maximum(
        np.linalg.norm(p[:, 0] - 2 * p[:, 1] + p[:, 2], axis=1), np.linalg.norm(p[:, 1] - 2 * p[:, 2] + p[:, 3], axis=1)
    )
    chords = np.where(curve.lines, 1, np.maximum(1, np.ceil(np.sqrt(6 * bend / (8 * tolerance))))).astype(np.intp)
    own = np.repeat(np.arange(len(p)), chords)
    t = ((np.arange(len(own)) - np.repeat(np.cumsum(chords) - chords, chords)) / chords[own])[:, None]
    q = p[own]
    s = 1 - t
    ring: Array = s**3 * q[:, 0] + 3 * s * s * t * q[:, 1] + 3 * s * t * t * q[:, 2] + t**3 * q[:, 3]
    return ring


def moved(curve: Curve, dx: float = 0.0, dy: float = 0.0, turn: float = 0.0) -> Curve:
    """Turn a curve counter-clockwise about the origin by `turn` degrees, then shift it; exact for right angles.

    >>> moved(fit_ring(np.array([(0, 0), (3, 0), (0, 4)], float)), 1, 1, 90).start.tolist()
    [1.0, 1.0]
    """
    angle = math.radians(turn % 360)
    c, s = round(math.cos(angle), 15), round(math.sin(angle), 15)
    rotation = np.array([[c, s], [-s, c]])
    return Curve(curve.segments @ rotation + np.array([dx, dy]), curve.lines)


def reversed_curve(curve: Curve) -> Curve:
    """Run through a curve the other way round, from the same start."""
    return Curve(curve.segments[::-1, ::-1].copy(), curve.lines[::-1].copy())


def started_at(curve: Curve, knot: int) -> Curve:
    """Begin a curve at the start of segment `knot`."""
    return Curve(np.roll(curve.segments, -knot, axis=0), np.roll(curve.lines, -knot))
