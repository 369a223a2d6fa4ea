"""Outlines with fewer points, fewer decimals or without what is too small to matter."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from nameplate import tolerances
from nameplate.geometry import region
from nameplate.geometry.region import Region, Shape


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
