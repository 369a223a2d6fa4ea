"""A sheet as a board of cells on which the free places for a stamp can be found quickly.

Method: for squares of a few sizes the board keeps, for every cell, whether the square starting there touches
anything; packed eight cells to a byte, once for each of the eight shifts, so that "does square (dx, dy) of the stamp
collide, for all positions at once" is one OR over bytes. The few positions that survive all squares are checked cell
by cell. Positions come out leftmost first because a column of the sheet is contiguous.

The two innermost loops are compiled where numba is installed (`kernel.py`), with the same results.

Known limit: a position is a whole cell; what the cells allow is still to be checked exactly.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from nameplate.nest.kernel import Bytes, Kernel, Spots, kernel
from nameplate.nest.raster import RING, SIDES, Cells, Mask, Stamp

#: Columns searched at a time. Narrower stops sooner on a half-empty sheet, wider has less overhead.
BAND = 192

#: Squares of at least this side are tested packed, for all positions at once; smaller ones only where those left hope.
LEAST_PACKED = 4

#: Positions checked cell by cell in the first slice of a band; each later slice is twice as large. Smaller stops
#: sooner on an empty sheet, larger has less overhead on a full one.
FIRST_SLICE = 256

#: Border of occupied cells round the board: what a square or a ring may read beyond it.
BORDER = RING

#: Cells looked at in the first round of the cell-by-cell check; each later round looks at four times as many.
FIRST_ROUND = 8


class Board:
    """The occupied cells of one sheet. `free` is the mask of cells on which parts may lie."""

    def __init__(self, free: Mask) -> None:
        self.nx, self.ny = free.shape
        top = max(SIDES)
        self.rows = (self.ny + 2 * BORDER + top + 7) // 8 * 8 + 8
        self.columns = self.nx + 2 * BORDER + top
        self.occupied = np.ones((self.columns, self.rows), dtype=bool)
        self.occupied[BORDER : BORDER + self.nx, BORDER : BORDER + self.ny] = ~free
        self.walls = self.occupied.copy()
        sides = [side for side in SIDES if side >= LEAST_PACKED]
        packed = np.zeros((len(sides), 8, self.columns, self.rows // 8), dtype=np.uint8)
        self._packed: dict[int, Bytes] = dict(zip(sides, packed, strict=True))
        #: all planes one after the other: that of a side and shift starts at (its number * 8 + shift) * plane
        self._planes = packed.ravel()
        self._loose = {side: np.ones_like(self.occupied) for side in SIDES if side < LEAST_PACKED}
        self._stale = np.ones(self.columns, dtype=bool)

    def put(self, stamp: Stamp, x: int, y: int) -> None:
        """Occupy the stamp's cells with its first cell at (x, y)."""
        view = self.occupied[BORDER + x :, BORDER + y :][: stamp.mask.shape[0], : stamp.mask.shape[1]]
        view |= stamp.mask[: view.shape[0], : view.shape[1]]
        self._stale[BORDER + x : BORDER + x + stamp.mask.shape[0]] = True

    def take(self, stamp: Stamp, x: int, y: int) -> None:
        """Free the stamp's cells again (parts whose masks share a cell give it up together)."""
        sl = (slice(BORDER + x, None), slice(BORDER + y, None))
        nx, ny = stamp.mask.shape
        view, wall = self.occupied[sl][:nx, :ny], self.walls[sl][:nx, :ny]
        view &= ~stamp.mask[: view.shape[0], : view.shape[1]] | wall
        self._stale[BORDER + x : BORDER + x + nx] = True

    def _refresh(self) -> None:
        """Bring the squares up to date where columns changed."""
        changed = np.flatnonzero(np.diff(np.concatenate([[False], self._stale, [False]])))
        for first, last in changed.reshape(-1, 2).tolist():
            self._refresh_columns(first, last)
        self._stale[:] = False

    def _refresh_columns(self, first: int, last: int) -> None:
        top = max(SIDES)
        start = max(0, first - top)
        cells = self.occupied[start : min(self.columns, last + top)]
        keep = last - start
        packed = np.packbits(cells, axis=1, bitorder="little")
        side = 1
        while side < top:
            packed[:-side] |= packed[side:]
            packed |= _down(packed, side)
            side *= 2
            if side in self._loose:
                whole = np.unpackbits(packed[:keep], axis=1, bitorder="little")
                self._loose[side][start : start + keep] = whole.view(bool)
            if side in self._packed:
                planes = self._packed[side]
                after = _down(packed, 8)[:keep]
                planes[0, start : start + keep] = packed[:keep]
                for shift in range(1, 8):
                    planes[shift, start : start + keep] = packed[:keep] >> shift | after << (8 - shift)

    def spots(self, stamp: Stamp, xs: int, ys: int) -> Iterator[Spots]:
        """Give the free positions of a stamp, leftmost first, band by band, as flat numbers for `position`.

        Positions run from 0 to xs - 1 along x and 0 to ys - 1 along y.
        """
        if self._stale.any():
            self._refresh()
        loops = kernel()
        tests = self._tests(stamp)
        rest = [(self._loose[side].ravel(), self._flat(cells)) for side, cells in stamp.squares if side in self._loose]
        rest.append((self.occupied.ravel(), self._flat(stamp.cells)))
        allowed = np.zeros(self.rows, dtype=bool)
        allowed[:ys] = True
        forbidden = np.packbits(~allowed, bitorder="little")
        for x in range(0, xs, BAND):
            free = _open(self._planes, tests, forbidden, x, min(BAND, xs - x), loops)
            start, step = 0, FIRST_SLICE
            while start < len(free):
                some = free[start : start + step]
                for occupied, cells in rest:
                    some = _survivors(some, cells, occupied, loops)
                if len(some):
                    yield some
                start, step = start + step, step * 2

    def _tests(self, stamp: Stamp) -> Spots:
        """Give where, among the bytes of all planes, the test of each large square begins for position 0."""
        per_column = self.rows // 8
        plane = self.columns * per_column
        starts = []
        for side, places in stamp.squares:
            if side in self._packed:
                dx, dy = places.astype(np.int64).T + BORDER
                starts.append((list(self._packed).index(side) * 8 + dy % 8) * plane + dx * per_column + dy // 8)
        tests: Spots = np.concatenate(starts)
        return tests

    def _flat(self, cells: Cells) -> Spots:
        wide = cells.astype(np.int64) + BORDER
        flat: Spots = wide[:, 0] * self.rows + wide[:, 1]
        return flat

    def position(self, spot: int) -> tuple[int, int]:
        """Give the cell (x, y) of a flat number."""
        return int(spot) // self.rows, int(spot) % self.rows

    def contact(self, stamp: Stamp, spots: Spots) -> npt.NDArray[np.int64]:
        """Count, for each position, the ring cells that touch something."""
        ring = self._flat(stamp.ring)
        touching: npt.NDArray[np.int64] = self.occupied.ravel()[spots[:, None] + ring[None, :]].sum(axis=1)
        return touching


def _down(packed: Bytes, by: int) -> Bytes:
    """Move the bits of each column down by up to a byte, so that each cell holds the one `by` further up."""
    after = np.zeros_like(packed)
    after[:, :-1] = packed[:, 1:]
    if by == 8:
        return after
    moved: Bytes = (packed >> by | after << (8 - by)).astype(np.uint8)
    return moved


def _open(planes: Bytes, tests: Spots, forbidden: Bytes, x: int, columns: int, loops: Kernel | None) -> Spots:
    """Give the positions in some columns from x on that no test blocks, nor the bits of `forbidden` in each column."""
    first = x * len(forbidden)
    if loops is not None:
        out = np.empty(columns * len(forbidden) * 8, dtype=np.int64)
        return out[: loops.open(planes, tests, forbidden, first, columns, out)]
    blocked = np.tile(forbidden, columns)
    for i, test in enumerate(tests.tolist()):
        np.bitwise_or(blocked, planes[first + test : first + test + len(blocked)], out=blocked)
        if i % 16 == 15 and blocked.min() == 255:
            break
    return np.flatnonzero(np.unpackbits(blocked, bitorder="little") == 0) + first * 8


def _survivors(spots: Spots, cells: Spots, occupied: Mask, loops: Kernel | None) -> Spots:
    """Keep the positions at which none of the cells is occupied; most go in the first rounds."""
    if loops is not None:
        out = np.empty_like(spots)
        return out[: loops.clear(spots, cells, occupied, out)]
    start, step = 0, FIRST_ROUND
    while start < len(cells) and len(spots):
        part = cells[start : start + step]
        spots = spots[~occupied[spots[:, None] + part[None, :]].any(axis=1)]
        start, step = start + step, min(step * 4, max(64, 2_000_000 // max(1, len(spots))))
    return spots
