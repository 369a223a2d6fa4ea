"""The largest upright rectangle in a region, on a grid.

Method: the histogram sweep. For each column of the grid and each row the run of free cells to its left is known; a
stack finds the largest rectangle that ends at the column. Linear in the number of cells. A column whose free cells all
have a free cell behind them ends no largest rectangle and is passed over; equal runs are taken together.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from nameplate.geometry.box import Box
from nameplate.geometry.region import Region, bounds, difference, offset, rectangle
from nameplate.nest.search.raster import Mask, rasterise

#: Grid (mm) on which the largest rectangle is found: it may be that much too small on each side, never too large.
GRID = 1.0

#: The grid has at most so many cells, or it is coarser: four square metres of the usual grid.
MOST_CELLS = 4_000_000


def largest_rectangle(region: Region) -> Box | None:
    """Give the largest upright rectangle of grid cells inside a region; None when not one cell fits.

    Only cells that lie wholly inside count, so the rectangle is never too large.

    >>> largest_rectangle(rectangle(0, 0, 30, 20))
    Box(x0=0.0, y0=0.0, x1=30.0, y1=20.0)
    >>> largest_rectangle(rectangle(0, 0, 0.5, 0.5)) is None
    True
    """
    if region.is_empty:
        return None
    box = bounds(region)
    grid = max(GRID, math.sqrt(box.width * box.height / MOST_CELLS))
    nx, ny = math.floor(box.width / grid + 1e-9), math.floor(box.height / grid + 1e-9)
    if min(nx, ny) < 1:
        return None
    best = (0, 0, 0, 0, 0)
    runs = np.zeros(ny, dtype=np.int64)
    cells = _whole_cells(region, box, grid, nx, ny)
    ends = np.append((cells[:-1] & ~cells[1:]).any(axis=1), True)
    for x, column in enumerate(cells):
        runs = np.where(column, runs + 1, 0)
        if ends[x]:
            best = max(best, _best_below(runs, x))
    if best[0] == 0:
        return None
    _, x0, y0, x1, y1 = best
    return Box(box.x0 + x0 * grid, box.y0 + y0 * grid, box.x0 + x1 * grid, box.y0 + y1 * grid)


def _whole_cells(region: Region, box: Box, grid: float, nx: int, ny: int) -> Mask:
    """Tell which cells lie wholly in the region: those whose centre does, once it is shrunk by half a cell's diagonal.

    The straight edges of the region's box need no such care and are kept.
    """
    whole = rectangle(*box)
    inner = difference(whole, offset(difference(whole, region), grid * 0.7072))
    return rasterise(inner, box.x0, box.y0, grid, nx, ny)


def _best_below(runs: npt.NDArray[np.int64], x: int) -> tuple[int, int, int, int, int]:
    """Give the largest rectangle that ends at column x: (area, x0, y0, x1, y1) in cells."""
    best = (0, 0, 0, 0, 0)
    stack: list[tuple[int, int]] = []
    changes = np.append(0, np.flatnonzero(np.diff(runs)) + 1)
    for y, run in [*zip(changes.tolist(), runs[changes].tolist(), strict=True), (len(runs), 0)]:
        start = y
        while stack and stack[-1][1] >= run:
            start, length = stack.pop()
            best = max(best, (length * (y - start), x + 1 - length, start, x + 1, y))
        stack.append((start, run))
    return best
