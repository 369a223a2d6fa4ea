"""Measures of solids and holes: inscribed circles, sections, and the removal of holes too small to cut."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon

from nameplate import tolerances
from nameplate.errors import GeometryError
from nameplate.geometry import region as rg
from nameplate.geometry.region import Array, Region, Shape, Solid, as_region, solids

#: Solids and holes smaller than this (mm2) are left-overs of rounding; a real speck would be burned away.
DUST = 1e-3


class Circle(NamedTuple):
    """A circle: its centre and radius (mm)."""

    x: float
    y: float
    r: float


def point_count(shape: Shape) -> int:
    """Count the corners of a region, the first of each ring twice.

    >>> point_count(rg.rectangle(0, 0, 10, 2)), point_count(rg.EMPTY)
    (5, 0)
    """
    return int(shapely.get_num_coordinates(shape))


def inscribed(shape: Shape) -> Circle:
    """Find the largest circle inside a region, to within 0.01 mm; raises GeometryError when it is empty.

    >>> round(inscribed(rg.rectangle(0, 0, 10, 2)).r, 2)
    1.0
    """
    if shape.is_empty:
        raise GeometryError("an empty shape has no circle inside")
    line = shapely.maximum_inscribed_circle(shape, tolerance=0.01)
    (x, y), *_ = shapely.get_coordinates(line)
    return Circle(float(x), float(y), float(line.length))


def cores(solid: Solid, depth: float) -> tuple[Solid, ...]:
    """Give the bodies that are left of a solid shrunk by `depth` mm: without tips of strokes, which are under
    tolerances.GRAIN mm2, unless there is nothing else, as of a dot or a dash that is hardly wider than twice the depth.

    >>> [len(cores(rg.solids(rg.rectangle(0, 0, side, side))[0], 1.0)) for side in (9, 2.1, 1.9)]
    [1, 1, 0]
    """
    every = solids(rg.offset(solid, -depth))
    return tuple(body for body in every if body.area > tolerances.GRAIN) or every


def narrowed(low: float, high: float, holds: Callable[[float], bool], *, within: float) -> tuple[float, float]:
    """Narrow down by halving between which two values, so near to one another, something ceases to hold.

    >>> narrowed(0.0, 8.0, lambda width: width < 3.3, within=1.0)
    (3.0, 4.0)
    """
    while high - low > within:
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low, high


def holds_disc(solid: Solid, radius: float) -> bool:
    """Tell of a solid that is stout for its outline that a disc of this radius (mm) lies in it; false says nothing.

    The parallel at a depth d is no longer than the outline and 2 pi d for each hole but the first (Sz.-Nagy's bound of
    inner parallel sets, from memory); a solid without such a disc has no more area than these parallels pass over.

    >>> [holds_disc(*rg.solids(rg.rectangle(0, 0, 10, 2)), radius) for radius in (0.8, 1.1)]
    [True, False]
    """
    bends = math.pi * max(len(solid.interiors) - 1, 0)
    return bool(solid.area > radius * (solid.length + bends * radius))


def section(shape: Shape, x: float) -> Array:
    """Give the stretches (y0, y1) of the upright line at x that lie in a region, ascending, as an (n, 2) array.

    >>> section(rg.union(rg.rectangle(0, 0, 2, 1), rg.rectangle(0, 3, 2, 5)), 1.0).tolist()
    [[0.0, 1.0], [3.0, 5.0]]
    >>> section(rg.EMPTY, 0.0).shape
    (0, 2)
    """
    if shape.is_empty:
        return np.zeros((0, 2))
    box = rg.bounds(shape)
    inside = shapely.get_parts(shapely.intersection(LineString([(x, box.y0 - 1), (x, box.y1 + 1)]), shape))
    lines = [sorted((g.coords[0][1], g.coords[-1][1])) for g in inside if isinstance(g, LineString) and g.length]
    return np.array(sorted(lines), dtype=float).reshape(-1, 2)


def stretches(line: Array, shape: Shape) -> tuple[Array, ...]:
    """Give the stretches of a polyline, (n, 2), that lie in a region, each an (m, 2) array.

    >>> [piece.tolist() for piece in stretches(np.array([[-1.0, 1.0], [9.0, 1.0]]), rg.rectangle(0, 0, 2, 2))]
    [[[0.0, 1.0], [2.0, 1.0]]]
    """
    inside = shapely.get_parts(shapely.line_merge(shapely.intersection(shapely.LineString(line), shape)))
    return tuple(shapely.get_coordinates(part) for part in inside if part.length > 0)


def without_pinholes(shape: Shape, diameter: float) -> Region:
    """Fill the holes whose inscribed circle is smaller than `diameter` mm.

    >>> plate = rg.difference(rg.rectangle(0, 0, 10, 10), rg.rectangle(4, 4, 4.5, 9))
    >>> rg.hole_count(without_pinholes(plate, 0.6)), rg.hole_count(without_pinholes(plate, 0.4))
    (0, 1)
    """
    return _with_holes(shape, lambda hole: _admits(hole, diameter))


def without_dust(shape: Shape) -> Region:
    """Drop solids and fill holes under DUST mm2: rounding leaves them where edges nearly coincide.

    >>> without_dust(rg.union(rg.rectangle(0, 0, 1, 1), rg.rectangle(2, 0, 2.01, 0.01))).area
    1.0
    """
    clean = _with_holes(shape, lambda hole: hole.area >= DUST)
    kept = [s for s in clean.geoms if s.area >= DUST]
    return clean if len(kept) == len(clean.geoms) else as_region(MultiPolygon(kept))


def _with_holes(shape: Shape, wanted: Callable[[Polygon], bool]) -> Region:
    """Fill the holes that are not wanted; a region with wanted ones only is given as it is."""
    kept = [[r for r in s.interiors if wanted(Polygon(r))] for s in solids(shape)]
    if sum(map(len, kept)) == rg.hole_count(shape) and isinstance(shape, MultiPolygon):
        return shape
    return as_region(MultiPolygon([Polygon(s.exterior, rings) for s, rings in zip(solids(shape), kept, strict=True)]))


def _admits(hole: Polygon, diameter: float) -> bool:
    """Tell whether a circle fits into a hole; the largest is at least as wide as twice the area over the length."""
    if 2 * hole.area >= diameter * hole.length:
        return True
    x0, y0, x1, y1 = hole.bounds
    if min(x1 - x0, y1 - y0) < diameter:
        return False
    return not shapely.buffer(hole, -diameter / 2, quad_segs=4).is_empty
