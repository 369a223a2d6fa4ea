"""The only door to shapely: flat shapes with holes, and what can be done to them.

Terms. A *ring* is an (n, 2) float array without a repeated last point. A *solid* is one connected piece with its
holes; a *region* is any number of solids, possibly none. Every function takes either and gives back a valid region (or
solids where it says so): lines and points left over by an operation are dropped, None and NaN become GeometryError.

Known limit: coordinates are floats; two regions that share an edge exactly may leave a sliver of 1e-12 mm when
subtracted. `cleaned` (in `simplify`) drops slivers.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Literal, TypeAlias

import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from nameplate import tolerances
from nameplate.errors import GeometryError
from nameplate.geometry.box import Box

Array: TypeAlias = npt.NDArray[np.float64]
Flags: TypeAlias = npt.NDArray[np.bool_]
Indices: TypeAlias = npt.NDArray[np.intp]
Solid: TypeAlias = Polygon
Region: TypeAlias = MultiPolygon
Shape: TypeAlias = Polygon | MultiPolygon

EMPTY: Region = MultiPolygon()


def geos_version() -> str:
    """Give the version of the engine below shapely, which two builds of one shapely may differ in."""
    return str(shapely.geos_version_string)


# --- making regions -------------------------------------------------------------------------------------------------


def as_region(geometry: BaseGeometry | None) -> Region:
    """Turn whatever the library returned into a valid region; points and lines are dropped.

    Raises GeometryError for None and for coordinates that are not finite.
    """
    if geometry is None:
        raise GeometryError("the geometry library returned nothing")
    if not geometry.is_empty and not geometry.is_valid:  # nor is one whose coordinates are not finite
        if not np.isfinite(shapely.get_coordinates(geometry)).all():
            raise GeometryError("a shape has coordinates that are not finite numbers")
        geometry = shapely.make_valid(geometry)
    return of_valid(geometry)


def of_valid(geometry: BaseGeometry) -> Region:
    """Make a region of what is valid already, as unions, differences and intersections are: looking again costs time.

    Their lines are cut at every crossing, which the library checks, and joined to rings anew.
    """
    if geometry.is_empty:
        return EMPTY
    if isinstance(geometry, Polygon):
        return shapely.multipolygons([geometry])
    if isinstance(geometry, MultiPolygon) and (
        shapely.get_num_geometries(geometry) == 1 or not shapely.is_empty(shapely.get_parts(geometry)).any()
    ):
        return geometry
    parts = shapely.get_parts(shapely.get_parts(geometry))  # multipolygons may stand in a collection
    return MultiPolygon([g for g in parts if isinstance(g, Polygon) and g.area > 0])


def from_ring(ring: npt.ArrayLike, holes: Sequence[npt.ArrayLike] = ()) -> Region:
    """Make a region from one outer ring and its holes; raises GeometryError for coordinates that are not finite.

    >>> from_ring([(0, 0), (2, 0), (2, 1), (0, 1)]).area
    2.0
    >>> from_ring([]).is_empty
    True
    """
    points = np.asarray(ring, dtype=float).reshape(-1, 2)
    inner = [np.asarray(h, dtype=float).reshape(-1, 2) for h in holes]
    if not all(np.isfinite(p).all() for p in (points, *inner)):
        raise GeometryError("a shape has coordinates that are not finite numbers")
    return as_region(Polygon(points, [h for h in inner if len(h) >= 3])) if len(points) >= 3 else EMPTY


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Region:
    """Make an upright rectangle.

    >>> rectangle(0, 0, 3, 2).area
    6.0
    """
    return as_region(shapely.box(x0, y0, x1, y1))


def capsule(points: npt.ArrayLike, width: float) -> Region:
    """Make a strip of the given width with round ends along a polyline of (x, y) points."""
    return as_region(LineString(np.asarray(points, dtype=float)).buffer(width / 2, quad_segs=arc_steps(width / 2)))


def disc(centre: npt.ArrayLike, diameter: float) -> Region:
    """Make a round disc; `centre` is (x, y).

    >>> round(disc((0, 0), 2).area, 1)
    3.1
    """
    return discs(centre, diameter / 2)


def discs(places: npt.ArrayLike, radius: float) -> Region:
    """Make the union of discs round points given as (n, 2)."""
    centres = shapely.points(np.asarray(places, dtype=float).reshape(-1, 2))
    return of_valid(shapely.union_all(shapely.buffer(centres, radius, quad_segs=arc_steps(radius))))


def of_solids(chosen: Iterable[Solid]) -> Region:
    """Make a region of solids that lie apart.

    >>> of_solids([]).is_empty
    True
    """
    return as_region(MultiPolygon(list(chosen)))


# --- taking regions apart -------------------------------------------------------------------------------------------


def solids(shape: Shape) -> tuple[Solid, ...]:
    """Give the connected pieces of a region."""
    return tuple(shape.geoms) if isinstance(shape, MultiPolygon) else (shape,)


def largest(pieces: Iterable[Solid]) -> Solid:
    """Give the piece of the largest area, the first of several."""
    return max(pieces, key=lambda solid: solid.area)


def outer_rings(shape: Shape) -> tuple[Array, ...]:
    """Give the outer ring of each piece, counter-clockwise, as (n, 2) arrays."""
    return tuple(_ring(s.exterior, ccw=True) for s in solids(shape))


def hole_rings(shape: Shape) -> tuple[Array, ...]:
    """Give the ring of each hole, clockwise, as (n, 2) arrays."""
    return tuple(_ring(r, ccw=False) for s in solids(shape) for r in s.interiors)


def all_rings(shape: Shape) -> tuple[Array, ...]:
    """Give the outer rings, then those of the holes; of one piece its outline first, then its holes."""
    return (*outer_rings(shape), *hole_rings(shape))


def _ring(ring: BaseGeometry, *, ccw: bool) -> Array:
    points: Array = shapely.get_coordinates(ring)[:-1]
    return points if bool(shapely.is_ccw(ring)) == ccw else points[::-1]


def closed_lines(shape: Shape) -> tuple[Array, ...]:
    """Give the boundaries of a region as closed polylines, the first point repeated at the end.

    >>> [len(line) for line in closed_lines(rectangle(0, 0, 2, 1))]
    [5]
    """
    return tuple(np.vstack([ring, ring[:1]]) for ring in all_rings(shape))


def hole_count(shape: Shape) -> int:
    """Count the holes of all pieces."""
    return sum(len(s.interiors) for s in solids(shape))


def holes(shape: Shape) -> Region:
    """Give the holes themselves as a region."""
    return as_region(MultiPolygon([Polygon(r) for s in solids(shape) for r in s.interiors]))


def points(shape: Shape) -> Array:
    """Give all corners of all rings as one (n, 2) array."""
    return shapely.get_coordinates(shape)


def convex_corners(shape: Shape) -> Array:
    """Give the corners of the convex hull of a region as an (n, 2) array, counter-clockwise."""
    if shape.is_empty:
        return np.empty((0, 2))
    around = shapely.convex_hull(shape)
    assert isinstance(around, Polygon)  # a region that is not empty has an area
    return _ring(around.exterior, ccw=True)


def inner_point(solid: Solid) -> tuple[float, float]:
    """Give a point well inside a solid."""
    point = solid.representative_point()
    return float(point.x), float(point.y)


def window(shape: Shape, box: Box) -> Region:
    """Keep what lies in an upright box; much faster than an intersection."""
    try:
        return as_region(shapely.clip_by_rect(shape, *box))
    except shapely.errors.GEOSException:  # it gives up when what is left has no area
        return as_region(shapely.intersection(shape, shapely.box(*box)))


# --- measures -------------------------------------------------------------------------------------------------------


def bounds(shape: Shape) -> Box:
    """Give the upright box round a region; raises GeometryError when it is empty."""
    if shape.is_empty:
        raise GeometryError("an empty shape has no bounds")
    return Box(*(float(v) for v in shape.bounds))


def distance(a: Shape, b: Shape) -> float:
    """Give the least distance between two regions; infinite when one is empty."""
    if a.is_empty or b.is_empty:
        return math.inf
    return float(shapely.distance(a, b))


def hausdorff(a: Shape, b: Shape) -> float:
    """Give the largest distance from a corner of either boundary to the whole of the other, both ways.

    For finely flattened curves this is the Hausdorff distance of the boundaries to within half a flattening step.
    """
    if a.is_empty or b.is_empty:
        return 0.0 if a.is_empty and b.is_empty else math.inf
    with np.errstate(invalid="ignore"):  # coordinates near 0 (1e-200) raise a flag, and change no distance
        return float(shapely.hausdorff_distance(a.boundary, b.boundary))


def covers(a: Shape, b: Shape) -> bool:
    """Tell whether no point of b lies outside a."""
    return bool(shapely.covers(a, b))


def intersects(a: Shape, b: Shape) -> bool:
    """Tell whether the regions share a point."""
    return bool(shapely.intersects(a, b))


# --- combining ------------------------------------------------------------------------------------------------------


def union(*shapes: Shape) -> Region:
    """Join regions.

    >>> union().is_empty
    True
    >>> union(rectangle(0, 0, 2, 1), rectangle(1, 0, 3, 1)).area
    3.0
    """
    return of_valid(shapely.union_all(list(shapes)))


def difference(a: Shape, b: Shape) -> Region:
    """Take b out of a."""
    return of_valid(shapely.difference(a, b))


def intersection(a: Shape, b: Shape) -> Region:
    """Keep what a and b share."""
    return of_valid(shapely.intersection(a, b))


# --- offsets --------------------------------------------------------------------------------------------------------


def arc_steps(radius: float, tolerance: float = tolerances.ARC) -> int:
    """Give the number of chords per quarter circle that keeps each within `tolerance` mm of its arc.

    >>> arc_steps(1.0, 0.002)
    13
    """
    radius = abs(radius)
    if radius <= tolerance:
        return 2
    return max(2, math.ceil(math.pi / 4 / math.acos(1 - tolerance / radius)))


def offset(
    shape: Shape, distance: float, *, join: Literal["round", "mitre"] = "round", mitre_limit: float = 10.0
) -> Region:
    """Grow a region by `distance` mm, or shrink it when negative.

    Mitred corners are cut off square at `mitre_limit` times the distance from the vertex. Raises GeometryError when
    `distance` is not finite.

    >>> offset(rectangle(0, 0, 2, 2), 1, join="mitre").area
    16.0
    """
    if not math.isfinite(distance):
        raise GeometryError(f"cannot offset by {distance}")
    if shape.is_empty or distance == 0:
        return of_valid(shape)
    steps = arc_steps(distance)
    return as_region(shapely.buffer(shape, distance, quad_segs=steps, join_style=join, mitre_limit=mitre_limit))


def _there_and_back(shape: Shape, there: float) -> Region:
    """Offset a region by `there` mm and back; what lies between need not be valid, as a region must."""
    if not math.isfinite(there):
        raise GeometryError(f"cannot offset by {there}")
    return offset(shapely.buffer(shape, there, quad_segs=arc_steps(there)), -there)


def opened(shape: Shape, radius: float) -> Region:
    """Keep only what a disc of the given radius, rolling inside, can reach (rounds convex corners)."""
    return _there_and_back(shape, -radius)


def closed(shape: Shape, radius: float) -> Region:
    """Fill what a disc of the given radius, rolling outside, cannot reach (rounds concave corners)."""
    return _there_and_back(shape, radius)


# --- changing -------------------------------------------------------------------------------------------------------


def filled(shape: Shape) -> Region:
    """Give the region with all its holes filled."""
    return of_valid(shapely.union_all([Polygon(s.exterior) for s in solids(shape)]))


def centroid(shape: Shape) -> Array:
    """Give the centre of gravity (2,) of a region.

    >>> centroid(rectangle(0, 0, 2, 1)).tolist()
    [1.0, 0.5]
    """
    middle = shape.centroid
    return np.array([middle.x, middle.y])


def hull(*shapes: Shape) -> Region:
    """Give the smallest convex region round some regions.

    >>> hull(rectangle(0, 0, 1, 1), rectangle(3, 0, 4, 1)).area
    4.0
    """
    corners = np.concatenate([points(s) for s in shapes])
    return as_region(shapely.convex_hull(LineString(corners))) if len(corners) else EMPTY


def moved(shape: Shape, dx: float = 0.0, dy: float = 0.0, *, turn: float = 0.0, scale: float = 1.0) -> Region:
    """Scale about the origin, turn counter-clockwise about it by `turn` degrees, shift; all finite or GeometryError."""
    if not all(map(math.isfinite, (dx, dy, turn, scale))):
        raise GeometryError("cannot move a shape by what is not a finite number")
    c, s = (float(v) * scale for v in rotation(turn)[0])

    def lay(corners: Array) -> Array:
        x, y = corners.T
        return np.column_stack((c * x - s * y + dx, s * x + c * y + dy))

    return as_region(shapely.transform(shape, lay))  # where an outline nearly touches itself, a turn can make it cross


def rotation(turn: float) -> Array:
    """Give the matrix that turns points, (n, 2) @ (2, 2), counter-clockwise by degrees; exact for right angles.

    >>> (np.array([(3.0, 1.0)]) @ rotation(90)).tolist()
    [[-1.0, 3.0]]
    """
    angle = math.radians(turn % 360)
    c, s = round(math.cos(angle), 15), round(math.sin(angle), 15)
    return np.array([[c, s], [-s, c]])


def unit_vectors(angles: Array) -> Array:
    """Give the unit vectors (n, 2) at (n,) angles in radians, counter-clockwise from the x axis."""
    return np.column_stack([np.cos(angles), np.sin(angles)])


def sheared(shape: Shape, slant: float) -> Region:
    """Shift each point right by its y times the tangent of `slant` degrees."""
    return as_region(affinity.affine_transform(shape, [1, math.tan(math.radians(slant)), 0, 1, 0, 0]))


def mirrored(shape: Shape) -> Region:
    """Mirror left to right about the y axis."""
    return as_region(affinity.affine_transform(shape, [-1, 0, 0, 1, 0, 0]))
