"""Quick approximations of shapes, with few points: for judging how much room something takes, not for cutting."""

from __future__ import annotations

import numpy as np
import shapely

from nameplate.geometry.region import Region, as_region

#: Chords of a quarter circle. More are rounder than an approximation needs.
QUARTER = 2

#: The opening that finds thin strokes shrinks and grows by this share of the radius less and more, so that what is
#: wide enough is not found along its curved edges.
EASE = 0.02

#: When less than this share of a shape is thin, that is corners and ends.
FEW_THIN = 0.01

#: Thin pieces under this share of the square of the width are corners, not strokes.
CORNER = 0.15

#: A thin stroke is grown by this share of what it lacks in the mean. With all of it hairline scripts come out 4 % too
#: large, measured on ten fonts.
GROWTH = 0.8


def approximately_thickened(shape: Region, width: float) -> Region:
    """Give about what a shape is once its strokes are at least `width` mm wide.

    Method: what an opening by half the width takes away is thin; each such piece is about as wide as twice its area by
    its perimeter, and is grown by half of what that lacks.

    >>> from nameplate.geometry.region import rectangle
    >>> round(approximately_thickened(rectangle(0, 0, 20, 1), 2).area)  # exactly 2 x 20 and two half discs: 43
    38
    >>> approximately_thickened(rectangle(0, 0, 20, 4), 2).area
    80.0
    """
    if shape.is_empty:
        return as_region(shape)
    radius = width / 2
    core = shapely.buffer(shape, -radius * (1 - EASE), quad_segs=QUARTER)
    wide = shapely.buffer(core, radius * (1 + EASE), quad_segs=QUARTER)
    if wide.area > (1 - FEW_THIN) * shape.area:
        return as_region(shape)
    thin = as_region(shapely.difference(shape, wide))
    pieces = [p for p in thin.geoms if p.area > CORNER * width**2]
    lack = [max(0.0, width - 2 * piece.area / piece.length) for piece in pieces]
    grown = shapely.buffer(pieces, GROWTH / 2 * np.array(lack), quad_segs=QUARTER)
    return as_region(shapely.union_all([shape, *grown]))
