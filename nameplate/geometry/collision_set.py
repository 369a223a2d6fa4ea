"""Shapes that must keep a distance from one another, with quick exact answers to "may this one lie here?".

A *collision set* holds shapes already placed. Each is prepared once for distance questions; boxes sort out the far
ones. Shapes may be given slimmed, with how far that moved them (their *slack*), which is added to the distance kept:
quick and still on the safe side.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from nameplate.geometry.box import Box
from nameplate.geometry.region import Array, Region, Shape, as_region, bounds, filled, of_valid, rotation

#: How far (mm) a slimmed outline may lie from the true one. Half the points of a letter go; a tenth of this keeps
#: nearly all of them.
SLIM = 0.01

#: Outlines with at most this many points are plain shapes.
FEW = 80

#: So are those that fill at least this share of their boxes, holes counted in, however many points they have: such as
#: rectangles with rounded corners or finger notches. An ellipse fills 0.79. Less keeps more outlines whole: slower.
BOXY = 0.9

#: A distance short by this much (mm) still counts as kept: the rounding of two placements to four decimals.
ROUNDING = 5e-4

#: With no gap at all, an overlap of at most this share of the smaller shape counts as touching: published layouts of
#: packing problems, with their coordinates rounded, keep to it.
OVERLAP = 1e-5


def slim(shape: Shape) -> tuple[Region, float]:
    """Leave out points that lie within SLIM mm of the line between those kept.

    Gives the outline and how far (mm) it may lie from the given one: 0 when that is plain and is kept.
    """
    if is_plain(shape):
        return as_region(shape), 0.0
    simple = shapely.simplify(shape, SLIM, preserve_topology=False)
    if simple.is_empty or not simple.is_valid:  # the careful way takes ten times as long
        simple = shapely.simplify(shape, SLIM)
    return simple if isinstance(simple, MultiPolygon) else MultiPolygon([simple]), SLIM


def is_plain(shape: Shape) -> bool:
    """Tell whether a shape is kept whole, so that its straight edges can lie just a gap from those of others.

    >>> from nameplate.geometry.region import rectangle
    >>> is_plain(rectangle(0, 0, 2, 1))
    True
    """
    if shapely.get_num_coordinates(shape) <= FEW:
        return True
    box = bounds(shape)
    return bool(filled(shape).area >= BOXY * box.width * box.height)


def shifted(shape: Shape, dx: float, dy: float) -> Region:
    """Shift a shape without checking it again; a valid one stays valid."""
    step = np.array([dx, dy])
    there = shapely.transform(shape, lambda points: points + step)
    return there if isinstance(there, MultiPolygon) else of_valid(there)


def turned(shape: Shape, turn: float) -> Region:
    """Turn a shape about the origin by degrees without checking it again."""
    matrix = rotation(turn)
    return of_valid(shapely.transform(shape, lambda points: points @ matrix))


def turned_box(corners: Array, turn: float) -> Box:
    """Give the upright box of (n, 2) points turned about the origin by degrees.

    >>> turned_box(np.array([[0.0, 0.0], [2.0, 1.0]]), 90)
    Box(x0=-1.0, y0=0.0, x1=0.0, y1=2.0)
    """
    xy = corners @ rotation(turn)
    return Box(*(float(v) + 0.0 for v in (*xy.min(axis=0), *xy.max(axis=0))))


class CollisionSet:
    """Placed shapes that keep `gap` mm from each other."""

    def __init__(self, gap: float) -> None:
        self.gap = gap
        self.shapes: list[Region] = []
        self._boxes: Array = np.empty((0, 4))
        self._slack: list[float] = []

    def add(self, shape: Region, slack: float = 0.0) -> None:
        """Put a shape down; the caller has asked `clear_of` before."""
        shapely.prepare(shape)
        self.shapes.append(shape)
        self._slack.append(slack)
        self._boxes = np.vstack([self._boxes, np.array([shape.bounds])])

    def near(self, shape: Shape, distance: float) -> list[int]:
        """Give the numbers of shapes whose boxes are nearer than `distance` mm."""
        x0, y0, x1, y1 = shape.bounds
        b, g = self._boxes, distance
        close = (b[:, 0] < x1 + g) & (b[:, 2] > x0 - g) & (b[:, 1] < y1 + g) & (b[:, 3] > y0 - g)
        return [int(i) for i in np.flatnonzero(close)]

    def clear_of(self, shape: Shape, slack: float) -> bool:
        """Tell whether a shape keeps the gap to every shape of the set.

        With a gap of zero, shapes may touch but not share an inside.
        """
        if self.gap > 0:
            return not any(
                shapely.dwithin(self.shapes[i], shape, self.gap + slack + self._slack[i] - ROUNDING)
                for i in self.near(shape, self.gap + slack + SLIM)
            )
        met = (s for s in (self.shapes[i] for i in self.near(shape, 0.0)) if shapely.intersects(s, shape))
        return not any(shapely.intersection(s, shape).area > OVERLAP * min(s.area, shape.area) for s in met)
