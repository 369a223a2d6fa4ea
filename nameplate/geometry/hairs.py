"""Hairs: spikes and slits of no width, left where outlines were cut and joined, which no beam burns.

Turned on a sheet, their two sides come to lie on each other or cross, in the last digit, and what is built on such an
outline goes wrong: a parallel of it may lie inside of it.
"""

from __future__ import annotations

import numpy as np

from nameplate.geometry import region as rg
from nameplate.geometry.planar import Complex, as_complex, dot, to_chord
from nameplate.geometry.region import Array, Flags, Region, Shape

#: Spikes and slits narrower than this (mm) are hairs. Far under what a beam or an eye can tell; a wider limit would
#: shorten tips that are wanted.
HAIR = 0.001

#: A ring turns at a hair's tip, in one corner or two, by more than the angle that has this cosine. A larger share would
#: take the steps of fine arcs for hairs.
TURNED = 0.5


def without_hairs(shape: Shape) -> Region:
    """Cut off the spikes of a region, and fill its slits, that are narrower than HAIR a step from their tip.

    >>> spiked = rg.from_ring([(0, 0), (2, 0), (2, 1), (3, 1), (2, 1.0001), (2, 2), (0, 2)])
    >>> without_hairs(spiked).area
    4.0
    """
    before = [(rg.outer_rings(solid)[0], *rg.hole_rings(solid)) for solid in rg.solids(shape)]
    after = [[_trimmed(ring) for ring in rings] for rings in before]
    if all(len(x) == len(y) for old, new in zip(before, after, strict=True) for x, y in zip(old, new, strict=True)):
        return rg.of_valid(shape)
    return rg.union(*(rg.from_ring(outer, holes) for outer, *holes in after))


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
