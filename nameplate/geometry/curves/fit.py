"""Smooth outlines fitted to polygons: closed chains of few cubic Beziers and straight lines.

Terms. A *ring* is an (n, 2) array without a repeated last point. A *knot* is where two pieces of a curve meet; it is a
*corner* where the outline turns sharply, and *smooth* (one tangent for both pieces) everywhere else.

The fit, for all rings at once: straight edges and corners cut every ring into *runs* (`segmentation`); each run is
tried as one cubic (`least_squares`); what misses the tolerance is split; neighbours that fit as one are merged again
(`spans`). The finished curve is measured against its ring in both directions (`fit_check`).

Known limit: a run too short to split (LEAST_SEGMENT) that no cubic meets is written as the lines it came as.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from nameplate import tolerances
from nameplate.geometry.curves.curve import Curve, polygon
from nameplate.geometry.curves.fit_check import faults
from nameplate.geometry.curves.segmentation import Samples, sample_rings
from nameplate.geometry.curves.spans import Merge, cut_beside, half_turns, merged, split, with_lines
from nameplate.geometry.planar import as_complex, as_points
from nameplate.geometry.region import Array, Indices

#: Share of the tolerance that the fit aims at. What is left over covers the points dropped before fitting and what lies
#: between the measured points; 0.65 takes a sixth more cubics.
AIM = 0.9

#: Shares of the tolerance to try when a finished outline crosses itself or is not within the tolerance after all.
CLOSER = (0.5, 0.2, 0.05)

#: How far (mm) round such a place the fit is made more closely.
CARE = 1.0

#: Rounds of merging neighbours.
MERGES = (Merge(2), Merge(3, 0, 0.6), Merge(3, 1, 0.4), Merge(2, 1), Merge(2))

#: Further rounds while outlines that belong together have more pieces than this: a name should have no more than 400
#: cubics. All of them together spare a long name every seventeenth cubic and take two thirds of its fit's time again.
MANY = 380
FURTHER = (
    *(Merge(3, 2, 0.6), Merge(3, 0, 0.35), Merge(3, 1, 0.65), Merge(2), Merge(2, 1)),
    *(Merge(3, 2, 0.35), Merge(3, 0, 0.65), Merge(3, 1, 0.35), Merge(3, 2, 0.65), Merge(2), Merge(2, 1)),
    *(Merge(3, 0, 0.42), Merge(3, 1, 0.58), Merge(3, 2, 0.42), Merge(2), Merge(2, 1)),
)


def fit_rings(
    rings: Sequence[Array], tolerance: float = tolerances.CURVE, *, fewest: bool = True, beside: Sequence[Curve] = ()
) -> tuple[Curve, ...]:
    """Fit closed outlines of few cubics and lines to (n, 2) rings.

    No point of a curve lies farther than `tolerance` mm from its ring, nor the other way round. Corners and straight
    edges are kept; everywhere else neighbours share their tangent. Halving the tolerance adds about a fifth more
    cubics. Raises GeometryError for a ring of fewer than three points or without extent.

    Rings that run parallel to finished curves (an offset of the same shape) are tried with the knots of those first,
    given as `beside`, which without `fewest` costs a tenth more cubics and half the time. Without `fewest` neighbours
    that would fit as one are left apart; without `beside` either, that costs a quarter more cubics and saves a third.

    >>> fit_rings([])
    ()
    """
    if not rings:
        return ()
    samples = sample_rings(rings, min(tolerance, tolerances.CURVE))
    if beside:
        spans = cut_beside(samples, np.concatenate([as_complex(curve.segments[:, 0]) for curve in beside]))
    else:
        spans = half_turns(samples)
    curves = _fitted(samples, spans, tolerance * AIM, MERGES if fewest else (), len(rings))
    return tuple(_mended(c, r, tolerance) for c, r in zip(curves, rings, strict=True))


def _mended(curve: Curve, ring: Array, tolerance: float) -> Curve:
    """Give the curve if it keeps its promises; else fit it anew, more closely near the places where it does not.

    Where even that does not help the ring's own edges are given.
    """
    places = faults(curve, ring, tolerance)
    for share in CLOSER:
        if not len(places):
            return curve
        curve = _closer(ring, tolerance, places, share)
        places = np.vstack([places, more]) if len(more := faults(curve, ring, tolerance)) else more
    return polygon(ring) if len(places) else curve


def _closer(ring: Array, tolerance: float, places: Array, share: float) -> Curve:
    """Fit a ring anew; within CARE of the given (n, 2) places at `share` of the tolerance."""
    samples = sample_rings([ring], min(tolerance, tolerances.CURVE) * share)
    near = shapely.dwithin(shapely.multipoints(places), shapely.points(as_points(samples.points)), CARE)
    samples = samples._replace(care=np.concatenate([[0], np.cumsum(near)]), share=share)
    return _fitted(samples, half_turns(samples), tolerance * AIM, MERGES, 1)[0]


def _fitted(
    samples: Samples, spans: Indices, tolerance: float, merges: Sequence[Merge], count: int
) -> tuple[Curve, ...]:
    pieces = merged(samples, split(samples, spans, tolerance), tolerance, merges)
    pieces = with_lines(samples, merged(samples, pieces, tolerance, FURTHER, MANY) if merges else pieces)
    cuts = np.searchsorted(samples.ring[pieces.spans[:, 0]], np.arange(1, count))
    curves = []
    for segments, lines in zip(np.split(as_points(pieces.cubics), cuts), np.split(pieces.lines, cuts), strict=True):
        segments[:, 3] = np.roll(segments[:, 0], -1, axis=0)
        curves.append(Curve(segments, lines))
    return tuple(curves)
