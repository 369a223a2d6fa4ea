"""The only door to skia-pathops: drawn outlines of curves become regions, filled by the non-zero rule.

Terms. A *pen* receives `moveTo`, `lineTo`, `qCurveTo`, `curveTo` and `closePath`, as font libraries call them. The
*flatness* bounds the distance between a curve and the chord that replaces it, in the units of the outline.

Method: the contours are united on their curves (so that intersections are true), the result is cut into chords, and
its area is compared with the same union made on chords alone. Where the two disagree, or the curve library gives up,
the union of the chords is used, which cannot lose a stroke.

Known limit: the curve library calculates in single precision, 1e-7 of the largest coordinate.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from nameplate.errors import GeometryError
from nameplate.geometry.region import EMPTY, Array, Region, as_region
from nameplate.geometry.rings import crossings

#: Largest relative difference of area between the two unions before the curve union is distrusted. The two differ by
#: what flattening removes, under 1e-3 for a glyph; a lost stroke is far over 1e-2.
AREA_AGREEMENT = 5e-3

#: More corners, separate contours or crossings than this in one outline is a drawing, not a letter; every later step
#: takes time by the square of them. Letters have some hundred corners, rough brush letters two thousand.
MOST_POINTS = 6_000
MOST_CONTOURS = 60
MOST_CROSSINGS = 1_000

#: From so many corners on, crossings are counted before anything else is done.
COUNTED_FROM = 300

#: Most pairs of edges that are looked at for that.
MOST_NEAR = 5_000_000

#: Faces whose winding number is found at a time, which bounds the memory.
_BLOCK = 256

Point = tuple[float, float]


def drawn_region(draw: Callable[[Any], None], flatness: float) -> Region:
    """Give the region that `draw` draws on the pen it is given, filled by the non-zero rule.

    Raises GeometryError for coordinates that are not finite, and for outlines of more than MOST_POINTS chords,
    MOST_CONTOURS contours or MOST_CROSSINGS crossings.

    >>> def two_squares(pen):
    ...     for x in (0, 1):  # both counter-clockwise, overlapping: even-odd filling would lose the overlap
    ...         pen.moveTo((x, 0)); pen.lineTo((x + 2, 0)); pen.lineTo((x + 2, 2)); pen.lineTo((x, 2)); pen.closePath()
    >>> round(drawn_region(two_squares, 0.01).area, 9)
    6.0
    >>> drawn_region(lambda pen: None, 0.01).is_empty
    True
    """
    import pathops

    path = pathops.Path()
    draw(path.getPen())
    rings = _rings(path, flatness)
    _check_size(rings)
    by_chords = _non_zero(rings)
    try:
        path.simplify(fix_winding=True, keep_starting_points=False)
    except pathops.PathOpsError:
        return by_chords
    by_curves = _even_odd(_rings(path, flatness))
    if abs(by_curves.area - by_chords.area) > AREA_AGREEMENT * by_chords.area:
        return by_chords
    return by_curves


def _check_size(rings: list[Array]) -> None:
    if len(rings) > MOST_CONTOURS:
        raise GeometryError(f"it has {len(rings)} separate outlines, and a letter has at most {MOST_CONTOURS}")
    if sum(map(len, rings)) < COUNTED_FROM:
        return
    if crossings(rings, most=MOST_CROSSINGS, most_near=MOST_NEAR) >= MOST_CROSSINGS:
        raise GeometryError(f"its outline crosses itself {MOST_CROSSINGS} times or more")


def _rings(path: Iterable[tuple[int, tuple[Point, ...]]], flatness: float) -> list[Array]:
    """Flatten each contour; the verbs are those of the curve library, one curve each."""
    from pathops import PathVerb

    rings: list[list[Point]] = []
    total = 0
    here: Point = (0.0, 0.0)
    for verb, pts in path:
        if verb == PathVerb.CLOSE:
            continue
        if verb == PathVerb.MOVE:
            rings.append([])
        corners = _flattened(here, pts, flatness)
        rings[-1] += corners
        here = pts[-1]
        total += len(corners)
        if total > MOST_POINTS:
            raise GeometryError(f"an outline has more than {MOST_POINTS} points")
    arrays = [np.array(r, dtype=float) for r in rings if len(r) >= 3]
    if not all(np.isfinite(r).all() for r in arrays):
        raise GeometryError("an outline has coordinates that are not finite numbers")
    return arrays


def _flattened(start: Point, pts: tuple[Point, ...], flatness: float) -> list[Point]:
    """Give the corners after `start`. A chord over 1/n of a curve is at most |second derivative| / 8 n^2 away.

    Plain arithmetic: a curve of a letter becomes a handful of chords, too few for arrays to pay.
    """
    control, degree = (start, *pts), len(pts)
    bends = zip(control, control[1:], control[2:], strict=False)
    bend = max((math.hypot(x0 - 2 * x1 + x2, y0 - 2 * y1 + y2) for (x0, y0), (x1, y1), (x2, y2) in bends), default=0.0)
    square = degree * (degree - 1) / 8 * bend / flatness
    if not square <= MOST_POINTS**2:  # NaN as well
        raise GeometryError("an outline has a curve that cannot be flattened")
    steps = max(1, math.ceil(math.sqrt(square)))
    on_curve = _on_quadratic if degree == 2 else _on_cubic
    return [*(on_curve(*control, t=i / steps) for i in range(1, steps)), pts[-1]]


def _on_quadratic(p0: Point, p1: Point, p2: Point, *, t: float) -> Point:
    a, b, c = (1 - t) * (1 - t), 2 * t * (1 - t), t * t
    return a * p0[0] + b * p1[0] + c * p2[0], a * p0[1] + b * p1[1] + c * p2[1]


def _on_cubic(p0: Point, p1: Point, p2: Point, p3: Point, *, t: float) -> Point:
    u = 1 - t
    a, b, c, d = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
    return a * p0[0] + b * p1[0] + c * p2[0] + d * p3[0], a * p0[1] + b * p1[1] + c * p2[1] + d * p3[1]


def _even_odd(rings: list[Array]) -> Region:
    """Fill rings that do not cross: a ring inside an odd number of others is a hole."""
    filled = EMPTY
    for ring in rings:
        filled = as_region(shapely.symmetric_difference(filled, as_region(Polygon(ring))))
    return filled


def _non_zero(rings: list[Array]) -> Region:
    """Fill rings by the non-zero rule: every face of their arrangement whose winding number is not zero."""
    if not rings:
        return EMPTY
    lines = shapely.union_all([LineString(np.vstack([r, r[:1]])) for r in rings])
    faces = shapely.get_parts(shapely.polygonize([lines]))
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    some = [inside[i : i + _BLOCK] for i in range(0, len(inside), _BLOCK)]
    wound = np.concatenate([sum((winding(r, s) for r in rings), np.zeros(len(s))) for s in some or [inside]])
    return as_region(shapely.union_all(faces[wound != 0]))


def winding(ring: Array, where: Array) -> Array:
    """Give how often a ring runs round each of the (n, 2) points, counter-clockwise positive.

    Each edge that crosses the ray to the right of a point counts, upwards +1, downwards -1.

    >>> winding(np.array([(0, 0), (2, 0), (2, 1), (0, 1)], dtype=float), np.array([(1, 0.5), (3, 0.5)])).tolist()
    [1.0, 0.0]
    """
    x0, y0 = ring[:, 0], ring[:, 1]
    x1, y1 = np.roll(x0, -1), np.roll(y0, -1)
    px, py = where[:, :1], where[:, 1:]
    side = (x1 - x0) * (py - y0) - (px - x0) * (y1 - y0)
    up = (y0 <= py) & (y1 > py) & (side > 0)
    down = (y0 > py) & (y1 <= py) & (side < 0)
    return np.asarray(up.sum(axis=1) - down.sum(axis=1), dtype=float)
