"""A zone on a raster: at which shifts by whole cells a shape lies inside, and how deep.

Method: the raster is one long whole number with a bit for each place, set where the place is inside. Shifting that
number down by a cell of the shape tells for all shifts at once whether this cell stays inside; "and" over all cells
leaves the shifts that keep them all. A row of the number is twice as long as the raster is wide, so that nothing runs
over into the next row.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nameplate.geometry import region
from nameplate.geometry.nearby import depths
from nameplate.geometry.region import Array, Flags, Region
from nameplate.placement.objective import Objective

#: Shifts by whole cells this near (cells) to where the ink may be stand for it; more than half leaves none out.
HALF = 0.501

#: Depths read between the points of the raster are off by less than this many cells (half a cell's diagonal).
ROUGH = 0.75

#: How many cells are looked up at a time; more at a time take more memory.
AT_ONCE = 48

Grid = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Raster:
    """The depths of a zone: `depths[j, i]` is that of `origin + cell * (i, j)`, negative outside.

    `inside` has a bit for each place that is inside, `deep` for each that is more than a cell inside.
    """

    depths: Array
    origin: Array
    cell: float
    inside: int
    deep: int

    def read(self, places: Array) -> Array:
        """Give the depths of (n, 2) places, too small by up to a cell; places off the raster are outside."""
        up, across = self.depths.shape
        at = np.clip((places - self.origin) / self.cell, 0.0, (across - 1.001, up - 1.001))
        (i, j), (u, v) = at.astype(np.int64).T, (at % 1.0).T
        low = self.depths[j, i] * (1 - u) + self.depths[j, i + 1] * u
        high = self.depths[j + 1, i] * (1 - u) + self.depths[j + 1, i + 1] * u
        return np.asarray(low * (1 - v) + high * v - ROUGH * self.cell)

    def shifts(self, points: Array, objective: Objective, scale: float, *, deep: bool = False) -> Array:
        """Give the shifts (n, 2) by whole cells at which all points, scaled, lie inside, or deep inside.

        Where the ink may not be everywhere, those nearest to where it may are moved there.
        """
        return self._lying(points, objective, scale, self.deep if deep else self.inside)[2]

    def scores(self, points: Array, objective: Objective, scale: float) -> tuple[Array, Array]:
        """Give the least depth of any point at each of the shifts, and the shifts."""
        cells, free, shifts = self._lying(points, objective, scale, self.inside)
        across, flat = self.depths.shape[1], self.depths.ravel()
        starts, score = free @ np.array([1, across]), np.full(len(free), np.inf)
        for some in np.array_split(cells @ np.array([1, across]), max(1, len(cells) // AT_ONCE)):
            if len(some) and len(free):
                np.minimum(score, flat[starts[:, None] + some].min(axis=1), out=score)
        return score, shifts

    def _lying(self, points: Array, objective: Objective, scale: float, inside: int) -> tuple[Grid, Grid, Array]:
        """Give the cells of a shape, the places where they lie inside, and the shifts to these, as the ink is held."""
        cells, low = self._cells(points, scale)
        free = self._free(cells, low, objective, scale, inside)
        return cells, free, objective.held(scale, self.origin + self.cell * (free - low))

    def _cells(self, points: Array, scale: float) -> tuple[Grid, Grid]:
        """Give the cells of a shape, counted from its lowest column and row, outer ones first; and those lowest."""
        cells = np.rint(points * (scale / self.cell)).astype(np.int64)
        low = cells.min(axis=0)
        wide, high = (cells.max(axis=0) - low + 1).tolist()
        taken = np.zeros(wide * high, dtype=bool)
        taken[(cells - low) @ np.array([1, wide])] = True
        keys = np.flatnonzero(taken)
        cells = np.column_stack([keys % wide, keys // wide])
        far = np.abs(cells - cells.max(axis=0) / 2).max(axis=1)
        return cells[np.argsort(-far, kind="stable")], low

    def _free(self, cells: Grid, low: Grid, objective: Objective, scale: float, inside: int) -> Grid:
        """Give the places (n, 2) of the raster on which the lowest column and row of the cells may lie."""
        up, across = self.depths.shape
        wide, high = cells.max(axis=0)
        if wide >= across or high >= up:
            return np.zeros((0, 2), dtype=np.int64)
        free = self._held(low, objective, scale)
        for step in (cells @ np.array([1, 2 * across])).tolist():
            free &= inside >> step
            if not free:
                return np.zeros((0, 2), dtype=np.int64)
        bits = np.frombuffer(free.to_bytes(up * across // 4 + 1, "little"), dtype=np.uint8)
        flags = np.unpackbits(bits, bitorder="little")[: 2 * up * across].reshape(up, 2 * across)
        return np.argwhere(flags)[:, ::-1]

    def _held(self, low: Grid, objective: Objective, scale: float) -> int:
        """Set the bits of all places at which the ink may be."""
        up, across = self.depths.shape
        if not len(objective.rows()[1]):
            return int(1 << 2 * across * up) - 1
        steps = np.arange(max(up, across))
        shifts = self.origin + self.cell * (steps[:, None] - low)
        near = np.abs(shifts - objective.held(scale, shifts)) <= HALF * self.cell
        return _bits(np.logical_and.outer(near[:up, 1], near[:across, 0]))


def raster(zone: Region, cells: int) -> Raster:
    """Make the raster of a zone, with so many cells along its longer side."""
    box = region.bounds(zone)
    cell = max(box.width, box.height) / cells
    across, up = (int(np.ceil(v / cell)) + 1 for v in (box.width, box.height))
    x, y = np.meshgrid(box.x0 + cell * np.arange(across), box.y0 + cell * np.arange(up))
    within = depths(zone, np.column_stack([x.ravel(), y.ravel()])).reshape(up, across)
    return Raster(within, np.array([box.x0, box.y0]), cell, _bits(within >= 0), _bits(within > cell))


def _bits(flags: Flags) -> int:
    """Give flags (rows, columns) as a whole number, each row followed by as many bits that are not set."""
    rows = np.concatenate([flags, np.zeros_like(flags)], axis=1)
    return int.from_bytes(np.packbits(rows.ravel(), bitorder="little").tobytes(), "little")
