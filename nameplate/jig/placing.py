"""Where a label can be scored on a template: the free place for a box of a given size.

Method: sample the allowed region on a lattice, count the samples inside every box position with a summed-area table,
and keep positions whose box is full; the first of them, in order of preference, that the allowed region really covers.

Known limit: positions are tried on the lattice only, so a box that fits nowhere but between lattice points is missed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.geometry.counting import sums_in, sums_of
from nameplate.geometry.nearby import distances, grid_inside, prepare
from nameplate.geometry.region import Array, Flags, Region

#: Distance of the lattice points, mm. Halving it finds boxes that fit with 0.25 mm to spare instead of 0.5 mm, for
#: four times the work.
LATTICE = 0.5

#: Most lattice points: up to 500 x 500 mm they are LATTICE apart, on larger plates farther, so that a plate of three
#: metres takes the time of that one.
MOST_POINTS = 1_000_000

#: A roomier place is preferred to a nearer one: boxes are tried with this much extra room first (mm).
ROOM = (2.0, 1.0, 0.0)

#: Exact checks before a size is given up; the lattice is a good guide, so few are needed.
TRIES = 200


class FreePlaces:
    """The free room of a region, in which boxes are placed one after another."""

    def __init__(self, allowed: Region) -> None:
        self.allowed = allowed
        self._closed: list[Box] = []
        self._lattice = None if allowed.is_empty else _Lattice.over(allowed)
        prepare(allowed)

    def take(self, width: float, height: float, *, prefer: Literal["low", "high"] = "low") -> Box | None:
        """Find a place for a box of `width` by `height` mm, or None.

        Roomy places come first, then low (or high) ones, then those near the middle line x = 0.

        >>> FreePlaces(rg.rectangle(0, 0, 10, 10)).take(4, 2) is not None
        True
        >>> FreePlaces(rg.EMPTY).take(4, 2) is None
        True
        """
        if self._lattice is None:
            return None
        width = max(width, self._lattice.step)
        for room in ROOM:
            spots = self._lattice.full_boxes(width + 2 * room, height + 2 * room)
            for x, y in _preferred(spots, width + 2 * room, prefer)[:TRIES]:
                box = Box(0.0, 0.0, width, height).moved(float(x) + room, float(y) + room)
                if self._is_free(box):
                    return box
        return None

    def near(self, width: float, height: float, shape: Region, reach: float) -> Iterator[Box]:
        """Yield places for a box of `width` by `height` mm within `reach` mm of a shape, nearest first, TRIES at most.

        >>> free = FreePlaces(rg.rectangle(0, 0, 20, 10))
        >>> next(free.near(4, 2, rg.rectangle(18, 0, 20, 2), 3)).x0 > 10
        True
        >>> list(FreePlaces(rg.EMPTY).near(4, 2, rg.rectangle(18, 0, 20, 2), 3))
        []
        """
        if self._lattice is None or shape.is_empty:
            return
        width = max(width, self._lattice.step)
        spots = self._lattice.within(rg.bounds(shape).grown(reach).grown(width, height)).full_boxes(width, height)
        apart = distances(shape, spots + np.array([width, height]) / 2)
        for x, y in spots[np.lexsort((spots[:, 0], spots[:, 1], np.round(apart, 6)))[:TRIES]].tolist():
            if self._is_free(box := Box(x, y, x + width, y + height)):
                yield box

    def _is_free(self, box: Box) -> bool:
        taken = any(box.x0 < c.x1 and c.x0 < box.x1 and box.y0 < c.y1 and c.y0 < box.y1 for c in self._closed)
        return not taken and rg.covers(self.allowed, rg.rectangle(*box))

    def close(self, box: Box) -> None:
        """Take a box out of the free room."""
        self._closed.append(box)
        if self._lattice is not None:
            self._lattice = self._lattice.without(box)


class _Lattice(NamedTuple):
    """Samples of the allowed region, and the summed-area table of them."""

    x0: float
    y0: float
    step: float
    inside: Flags
    sums: npt.NDArray[np.int32]

    @classmethod
    def over(cls, allowed: Region) -> _Lattice:
        box = rg.bounds(allowed)
        step = max(LATTICE, math.sqrt((box.x1 - box.x0) * (box.y1 - box.y0) / MOST_POINTS))
        xs = np.arange(box.x0, box.x1 + step, step)
        ys = np.arange(box.y0, box.y1 + step, step)
        return cls.of(box.x0, box.y0, step, grid_inside(allowed, xs, ys))

    @classmethod
    def of(cls, x0: float, y0: float, step: float, inside: Flags) -> _Lattice:
        return cls(x0, y0, step, inside, sums_of(inside))

    def without(self, box: Box) -> _Lattice:
        """Give the lattice with the samples of a box taken out."""
        inside = self.inside.copy()
        rows = slice(max(0, int((box.y0 - self.y0) // self.step)), max(0, int((box.y1 - self.y0) // self.step) + 2))
        columns = slice(max(0, int((box.x0 - self.x0) // self.step)), max(0, int((box.x1 - self.x0) // self.step) + 2))
        inside[rows, columns] = False
        return self.of(self.x0, self.y0, self.step, inside)

    def within(self, box: Box) -> _Lattice:
        """Give the part of the lattice that lies within a box."""
        low = np.maximum(np.floor([(box.y0 - self.y0) / self.step, (box.x0 - self.x0) / self.step]), 0).astype(int)
        high = np.maximum(np.ceil([(box.y1 - self.y0) / self.step, (box.x1 - self.x0) / self.step]), low).astype(int)
        rows, columns = (slice(a, b) for a, b in zip(low, high, strict=True))
        corner = (self.x0 + low[1] * self.step, self.y0 + low[0] * self.step)
        return self.of(*corner, self.step, self.inside[rows, columns])

    def full_boxes(self, width: float, height: float) -> Array:
        """Give the lower left corners, (n, 2), of the boxes all of whose samples are free."""
        columns = int(np.ceil(width / self.step)) + 1
        rows = int(np.ceil(height / self.step)) + 1
        row, column = np.nonzero(sums_in(self.sums, rows, columns) == rows * columns)
        return np.column_stack([self.x0 + column * self.step, self.y0 + row * self.step])


def _preferred(spots: Array, width: float, prefer: Literal["low", "high"]) -> Array:
    upward = spots[:, 1] if prefer == "low" else -spots[:, 1]
    aside = np.abs(spots[:, 0] + width / 2)
    return spots[np.lexsort((spots[:, 0], aside, np.round(upward, 6)))]
