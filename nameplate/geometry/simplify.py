"""Outlines with fewer points, fewer decimals or without what is too small to matter."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from nameplate import tolerances
from nameplate.geometry import region
from nameplate.geometry.planar import Complex, as_complex, dot, to_chord
from nameplate.geometry.region import Array, Flags, Region, Shape

#: Spikes and slits narrower than this (mm) are hairs. Far under what a beam or an eye can tell; a wider limit would
#: shorten tips that are wanted.
HAIR = 0.001

#: A ring turns at a hair's tip, in one corner or two, by more than the angle that has this cosine. A larger share would
#: take the steps of fine arcs for hairs.
TURNED = 0.5


def cleaned(shape: Shape, *, sliver: float = 0.0, step: float = tolerances.SAME_POINT) -> Region:
    """Drop points nearer than `step` mm to their neighbours' line, and pieces and holes under `sliver` mm2."""
    simple = region.as_region(shapely.simplify(shape, step))
    if not sliver:
        return simple
    kept = [
        Polygon(s.exterior, [r for r in s.interiors if Polygon(r).area >= sliver])
        for s in region.solids(simple)
        if s.area >= sliver
    ]
    return region.as_region(MultiPolygon(kept))


def rounded(shape: Shape, decimals: int) -> Region:
    """Round coordinates to so many decimals; where that makes a ring cross itself, what it leaves is sorted out.

    >>> rounded(region.rectangle(0, 0, 1.26, 1), 1).bounds
    (0.0, 0.0, 1.3, 1.0)
    """
    near = shapely.transform(shape, lambda places: np.round(places, decimals))
    return region.of_valid(near if near.is_valid else shapely.set_precision(shape, 10.0**-decimals))


def simplified(shape: Shape, tolerance: float) -> Region:
    """Leave out points so that no edge moves by more than `tolerance` mm; offsets of the result are much faster.

    >>> len(region.points(simplified(region.from_ring([(0, 0), (1, 0.001), (2, 0), (2, 2), (0, 2)]), 0.01)))
    5
    """
    quick = shapely.simplify(shape, tolerance, preserve_topology=False)
    alike = _form(quick) == _form(shape)
    return region.of_valid(quick) if alike and quick.is_valid else region.as_region(shapely.simplify(shape, tolerance))


def _form(shape: Shape) -> tuple[int, int]:
    return len(region.solids(shape)), region.hole_count(shape)


def without_hairs(shape: Shape) -> Region:
    """Cut off the spikes of a region, and fill its slits, that are narrower than HAIR a step from their tip.

    They have been left where outlines were cut and joined, and no beam burns them. Turned on a sheet, their two sides
    come to lie on each other or cross, in the last digit, and what is built on such an outline goes wrong: a parallel
    of it may lie inside of it.

    >>> spiked = region.from_ring([(0, 0), (2, 0), (2, 1), (3, 1), (2, 1.0001), (2, 2), (0, 2)])
    >>> without_hairs(spiked).area
    4.0
    """
    before = [region.all_rings(solid) for solid in region.solids(shape)]
    after = [[_trimmed(ring) for ring in rings] for rings in before]
    if all(len(x) == len(y) for old, new in zip(before, after, strict=True) for x, y in zip(old, new, strict=True)):
        return region.of_valid(shape)
    return region.union(*(region.from_ring(outer, holes) for outer, *holes in after))


def _trimmed(ring: Array) -> Array:
    """Leave out the tips of hairs, one after another, until none is left."""
    points = as_complex(ring)
    while len(points) > 2:
        tips = _tips(points)
        if not tips.any():
            break
        points = points[~_apart(tips)]
    return np.column_stack([points.real, points.imag])


def _tips(points: Complex) -> Flags:
    """Tell at which corners a ring runs back along itself: one neighbour lies on the way to the other."""
    before, after = np.roll(points, 1), np.roll(points, -1)
    there, back = before - points, after - points
    turns = dot(there, back) >= -TURNED * np.abs(there) * np.abs(back)
    near = np.minimum(to_chord(before, points, after), to_chord(after, points, before)) < HAIR
    return np.asarray(turns & near, dtype=bool)


def _apart(tips: Flags) -> Flags:
    """Take of tips beside each other only the first, since leaving it out changes what the next one is."""
    first: Flags = tips & ~np.roll(tips, 1)
    return first if first.any() else np.arange(len(tips)) == 0
