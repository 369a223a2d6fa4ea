"""Parts as cells: which squares of a fine grid a turned part covers.

Terms. A *mask* is a boolean array indexed [x, y]; a cell belongs to it when its centre lies in the part grown by half
the gap. A *part shape* is what the masks of one part share, whatever the turn; a *part mask* is a mask with what the
search needs: squares that cover it (largest first, each size mixed) and the ring of cells just outside it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from nameplate.geometry.collision_set import slim, turned, turned_box
from nameplate.geometry.counting import sums_in, sums_of
from nameplate.geometry.nearby import grid_inside
from nameplate.geometry.region import Array, Region, offset, points

Mask = npt.NDArray[np.bool_]
Cells = npt.NDArray[np.int32]

#: Sides (cells) of the squares that cover a part. Powers of two, largest first, down to single cells; more sides make
#: the sheet dearer to update, and fewer squares do.
SIDES = (16, 8, 4, 2, 1)

#: A square is used when at least this share of it is not covered by earlier ones; lower means more, overlapping tests.
FRESH = 0.5

#: How wide (cells) the ring round a part is in which neighbours count as contact. Wider values nearness too, and what
#: room is lost between: nests of 50 names were 1.5 % shorter with 16 than with 4, and no shorter with 20 or 24.
RING = 16

#: At most this many cells of a part's ring, taken at random, are looked at for contact; more, finer choice, slower.
RING_CELLS = 500


@dataclass(frozen=True)
class PartMask:
    """One part at one turn, as cells.

    `width`, `height` are the size of the part itself (mm); (x0, y0) its box's corner in plate coordinates once
    turned. `cells` is the mask; its cell (0, 0) starts `reach` mm and `shift` (x, y) left of and below that corner.
    `centre` is how many columns the centre of the mask's cells lies right of its first. `outline` lies within `slack`
    mm of the true one, which is `true`, not turned. A mask that is `before`, turned by a quarter to the left, needs no
    squares of its own.
    """

    turn: float
    width: float
    height: float
    x0: float
    y0: float
    shift: tuple[float, float]
    cells: Mask
    centre: float
    outline: Region
    slack: float
    true: Region
    before: PartMask | None = None

    @property
    def squares(self) -> tuple[tuple[int, Cells], ...]:
        """The squares that cover the mask: by their side, an (n, 2) array of positions."""
        return self._for_search[0]

    @property
    def ring(self) -> Cells:
        """The cells of the ring round the mask, as an (n, 2) array."""
        return self._for_search[1]

    @cached_property
    def _for_search(self) -> tuple[tuple[tuple[int, Cells], ...], Cells]:
        """What only a search for a place asks for: a part that is laid where it lay needs none."""
        if self.before is None:
            rng = np.random.default_rng(0)
            return _squares(self.cells, rng), _ring(self.cells, rng)
        top = self.before.cells.shape[1]
        squares = tuple((side, _quarter(places, top - side)) for side, places in self.before.squares)
        return squares, _quarter(self.before.ring, top - 1)


def rasterise(region: Region, x0: float, y0: float, cell: float, nx: int, ny: int) -> Mask:
    """Give the cells whose centres lie inside a region, as an (nx, ny) mask; cell (0, 0) starts at (x0, y0).

    >>> from nameplate.geometry.region import EMPTY, rectangle
    >>> rasterise(rectangle(0, 0, 2, 1), 0, 0, 1, 3, 2).astype(int).tolist()
    [[1, 0], [1, 0], [0, 0]]
    >>> rasterise(EMPTY, 0, 0, 1, 1, 1).tolist()
    [[False]]
    """
    xs, ys = x0 + cell * (np.arange(nx, dtype=float) + 0.5), y0 + cell * (np.arange(ny, dtype=float) + 0.5)
    return np.ascontiguousarray(grid_inside(region, xs, ys).T)


@dataclass(frozen=True, slots=True)
class PartShape:
    """What all masks of one part share: itself, its corners, its slimmed outline, and that grown by `reach` mm."""

    true: Region
    corners: Array
    outline: Region
    slack: float
    grown: Region
    reach: float


def part_shape(region: Region, reach: float) -> PartShape:
    """Prepare a part for its masks, grown by `reach` mm (half the gap)."""
    outline, slack = slim(region)
    return PartShape(region, points(region), outline, slack, offset(outline, reach), reach)


def part_mask(part: PartShape, turn: float, *, cell: float, shift: tuple[float, float] | None = None) -> PartMask:
    """Rasterise a part at one turn on cells of `cell` mm.

    `shift` (each less than a cell) is how far the part lies right of and above its place on the cells; by itself it
    lies in the middle of as few as it needs, and so it does when the mask is turned.
    """
    outline, grown, reach = turned(part.outline, turn), turned(part.grown, turn), part.reach
    box = turned_box(part.corners, turn)  # the true box: the slimmed outline may have lost its outermost points
    size = (box.width + 2 * reach, box.height + 2 * reach)
    if shift is None:
        shift = (_spare(size[0], cell) / 2, _spare(size[1], cell) / 2)
    nx, ny = (math.ceil((side + by) / cell - 1e-9) for side, by in zip(size, shift, strict=True))
    mask = rasterise(grown, box.x0 - reach - shift[0], box.y0 - reach - shift[1], cell, nx, ny)
    if not mask.any():
        mask[nx // 2, ny // 2] = True
    return PartMask(
        turn=turn,
        width=box.width,
        height=box.height,
        x0=box.x0,
        y0=box.y0,
        shift=shift,
        cells=mask,
        centre=_centre(mask),
        outline=outline,
        slack=part.slack,
        true=part.true,
    )


def _spare(length: float, cell: float) -> float:
    """Give what is left over of as few whole cells as a length needs."""
    return max(0.0, math.ceil(length / cell - 1e-9) * cell - length)


def quarter_turned(mask: PartMask) -> PartMask:
    """Give a mask turned by a quarter to the left, without rasterising it again."""
    cells = np.ascontiguousarray(np.rot90(mask.cells))
    return PartMask(
        turn=mask.turn + 90,
        width=mask.height,
        height=mask.width,
        x0=-(mask.y0 + mask.height),
        y0=mask.x0,
        shift=(mask.shift[1], mask.shift[0]),
        cells=cells,
        centre=_centre(cells),
        outline=turned(mask.outline, 90),
        slack=mask.slack,
        true=mask.true,
        before=mask,
    )


def _quarter(places: Cells, top: int) -> Cells:
    """Turn the places of cells, or of squares, in a mask by a quarter to the left; `top` is their highest row."""
    return np.column_stack([top - places[:, 1], places[:, 0]])


def _centre(mask: Mask) -> float:
    """Give how many columns the centre of a mask's cells lies right of its first."""
    return float(np.average(np.arange(len(mask)), weights=mask.sum(axis=1)))


def _squares(mask: Mask, rng: np.random.Generator) -> tuple[tuple[int, Cells], ...]:
    """Cover the mask with squares that lie wholly in it, the largest first; those of a size are mixed.

    The squares of one size lie on four grids, each shifted by half a side against the others.
    """
    fresh = mask.copy()
    chosen = []
    for side in SIDES:
        whole = _sums(mask, side) == side * side
        kept = [np.empty((0, 2), dtype=np.int64)]
        for px in range(0, side, max(1, side // 2)):
            for py in range(0, side, max(1, side // 2)):
                spots = np.argwhere(whole[px::side, py::side])
                if len(spots):
                    counts = _sums(fresh, side)[px::side, py::side][spots[:, 0], spots[:, 1]]
                    spots = spots[counts >= FRESH * side * side] * side + (px, py)
                    step = np.arange(side)
                    fresh[spots[:, 0, None, None] + step[:, None], spots[:, 1, None, None] + step] = False
                    kept.append(spots)
        chosen.append((side, rng.permutation(np.concatenate(kept)).astype(np.int32)))
    return tuple(chosen)


def _sums(mask: Mask, side: int) -> npt.NDArray[np.int32]:
    """Count the mask's cells in each square of the given side, by its lower corner."""
    return sums_in(sums_of(mask), side, side)


def _ring(mask: Mask, rng: np.random.Generator) -> Cells:
    """Give a sample of the cells at most `RING` columns and rows outside the mask, relative to its first cell."""
    near = _sums(np.pad(mask, 2 * RING), 2 * RING + 1) > 0
    ring = np.argwhere(near & ~np.pad(mask, RING)).astype(np.int32) - RING
    return rng.permutation(ring)[:RING_CELLS].copy()  # a view would keep all
