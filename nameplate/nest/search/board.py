"""A sheet as a board of cells on which the free places for a part mask can be found quickly.

Method: for squares of a few sizes the board keeps, for every cell, whether the square starting there touches
anything; packed eight cells to a byte, once for each of the eight shifts, so that "does square (dx, dy) of the mask
collide, for all positions at once" is one OR over bytes. A mask is covered by some hundred squares, and a position
that none of them blocks is free. A column of the sheet is contiguous, so positions come out leftmost first.

Known limit: a position is a whole cell; what the cells allow is still to be checked exactly.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from nameplate.geometry.region import Array
from nameplate.nest.search.raster import RING, SIDES, Mask, PartMask

Bytes = npt.NDArray[np.uint8]
Spots = npt.NDArray[np.int64]

#: Border of occupied cells round the board: what a square or a ring may read beyond it.
BORDER = RING

#: Squares tested in the first round, which blocks most places of a full sheet; each later round tests four times as
#: many.
FIRST_ROUND = 16


class Board:
    """The occupied cells of one sheet. `free` is the mask of cells on which parts may lie."""

    def __init__(self, free: Mask) -> None:
        self.nx, self.ny = free.shape
        top = max(SIDES)
        self.rows = (self.ny + 2 * BORDER + top + 7) // 8 * 8 + 8
        self.columns = self.nx + 2 * BORDER + top
        self.occupied = np.ones((self.columns, self.rows), dtype=bool)
        self.occupied[BORDER : BORDER + self.nx, BORDER : BORDER + self.ny] = ~free
        #: by side and shift
        self._packed = np.zeros((len(SIDES), 8, self.columns, self.rows // 8), dtype=np.uint8)
        self._stale = np.ones(self.columns, dtype=bool)

    def put(self, mask: PartMask, x: int, y: int) -> None:
        """Occupy a mask's cells with its first cell at (x, y)."""
        nx, ny = mask.cells.shape
        view = self.occupied[BORDER + x :, BORDER + y :][:nx, :ny]
        view |= mask.cells[: view.shape[0], : view.shape[1]]
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
        while True:
            if side in SIDES:
                planes = self._packed[SIDES.index(side)]
                after = _down(packed, 8)[:keep]
                planes[0, start : start + keep] = packed[:keep]
                for shift in range(1, 8):
                    planes[shift, start : start + keep] = packed[:keep] >> shift | after << (8 - shift)
            if side == top:
                break
            packed[:-side] |= packed[side:]
            packed |= _down(packed, side)
            side *= 2

    def tests(self, mask: PartMask) -> Spots:
        """Give where, among the bytes of all planes, the test of each square of a mask begins for position 0."""
        per_column = self.rows // 8
        plane = self.columns * per_column
        starts = []
        for side, places in mask.squares:
            dx, dy = places.astype(np.int64).T + BORDER
            starts.append((SIDES.index(side) * 8 + dy % 8) * plane + dx * per_column + dy // 8)
        tests: Spots = np.concatenate(starts)
        return tests

    def forbidden(self, ys: int) -> Bytes:
        """Give the bits of a column in which positions from row `ys` on are blocked."""
        blocked = np.zeros(self.rows, dtype=bool)
        blocked[ys:] = True
        return np.packbits(blocked, bitorder="little")

    def free(self, tests: Spots, forbidden: Bytes, x: int, columns: int) -> Spots:
        """Give the free positions in some columns from x on, as flat numbers for `position`, leftmost first.

        `tests` are those of a mask, `forbidden` says which rows are blocked anyway.
        """
        if self._stale.any():
            self._refresh()
        return _open(self._packed.ravel(), tests, forbidden, x, columns)

    def position(self, spot: int) -> tuple[int, int]:
        """Give the cell (x, y) of a flat number."""
        return int(spot) // self.rows, int(spot) % self.rows

    def contact(self, mask: PartMask, spots: Spots) -> Array:
        """Give, for each position, the share of the mask's ring cells that touch something."""
        columns, rows = mask.ring.astype(np.int64).T + BORDER
        touching: Array = self.occupied.ravel()[spots[:, None] + (columns * self.rows + rows)].mean(axis=1)
        return touching


def _down(packed: Bytes, by: int) -> Bytes:
    """Move the bits of each column down by up to a byte, so that each cell holds the one `by` further up."""
    after = np.zeros_like(packed)
    after[:, :-1] = packed[:, 1:]
    if by == 8:
        return after
    moved: Bytes = (packed >> by | after << (8 - by)).astype(np.uint8)
    return moved


def _open(planes: Bytes, tests: Spots, forbidden: Bytes, x: int, columns: int) -> Spots:
    """Give the positions in some columns from x on that no test blocks, nor the bits of `forbidden` in each column."""
    first = x * len(forbidden)
    blocked: Bytes = np.broadcast_to(forbidden, (columns, len(forbidden))).flatten()
    # row n: the bytes of all these columns in the test that begins at byte n
    rows: Bytes = np.ndarray((planes.size - first - len(blocked) + 1, len(blocked)), np.uint8, planes, first, (1, 1))
    start, step = 0, FIRST_ROUND
    while start < len(tests):
        blocked |= np.bitwise_or.reduce(rows[tests[start : start + step]], axis=0)
        if np.minimum.reduce(blocked) == 255:
            return np.empty(0, dtype=np.int64)
        start, step = start + step, step * 4
    left = np.flatnonzero(blocked != 255)
    open_bits = np.flatnonzero(np.unpackbits(~blocked[left], bitorder="little"))
    spots: Spots = 8 * (first + left[open_bits // 8]) + open_bits % 8
    return spots
