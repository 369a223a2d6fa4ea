"""The masks of the pieces of a nest, made when they are first needed and kept for later nests of the same job."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import replace
from hashlib import blake2b

import numpy as np

from nameplate.geometry.region import Region, bounds, filled
from nameplate.nest.layout import Piece
from nameplate.nest.rectangles import Packed
from nameplate.nest.search.board import BORDER
from nameplate.nest.search.raster import PartMask, PartShape, part_mask, part_shape, quarter_turned
from nameplate.nest.sheets import Blank, Rules, usable_boxes

#: Side of a cell (mm). Half of it makes a nest about 1 % denser and four times slower.
CELL = 0.5

#: A sheet has at least this many cells (cells become smaller on small sheets) ...
LEAST_CELLS = 100_000

#: ... and at most this many, to bound memory (about 4 bytes a cell) and time.
MOST_CELLS = 6_000_000

#: With the gap and the border round it, no sheet has more cells than this: narrow sheets are mostly border.
MOST_OF_ALL = 2 * MOST_CELLS

#: A gap is at most this many cells wide. Fewer are coarser, and room is lost beside each part; the cells that a part
#: covers with its gap grow with the square.
GAP_CELLS = 100


def cell_side(blanks: Sequence[Blank], gap: float = 0.0) -> float:
    """Choose the side of a cell for some sheets and a gap (mm).

    `CELL`, or finer on small sheets, or coarser on huge or very narrow ones, and where the gap is wide.
    """
    boxes = usable_boxes(blanks)
    if not boxes:
        return CELL
    # by powers of two, so that parts measured in half millimetres fit whole cells
    area = max(box.width * box.height for box in boxes)
    most, least = math.sqrt(area / LEAST_CELLS), max(math.sqrt(area / MOST_CELLS), gap / GAP_CELLS)
    cell = max(min(CELL, 2.0 ** math.floor(math.log2(most))), 2.0 ** math.ceil(math.log2(least)))
    while any(
        (b.width + gap + 2 * BORDER * cell) * (b.height + gap + 2 * BORDER * cell) > MOST_OF_ALL * cell**2
        for b in boxes
    ):
        cell *= 2
    return cell


class NestStore:
    """What the nests of one job's material share: part shapes and masks by outline, and finished packings."""

    def __init__(self) -> None:
        self.shapes: dict[tuple[bytes, float], PartShape] = {}
        self.masks: dict[tuple[bytes, float, float, float], PartMask] = {}
        #: what pieces (by their keys) came to on blanks (by stock), so that a quote need not nest them again
        self.packs: dict[Hashable, Packed] = {}


class PartMasks:
    """The masks of some pieces on cells of one size; pieces of equal outlines share them."""

    def __init__(self, pieces: Sequence[Piece], rules: Rules, cell: float, store: NestStore | None = None) -> None:
        self.pieces, self.rules, self.cell = pieces, rules, cell
        self.reach = rules.gap / 2
        self._store = store or NestStore()
        self._digests: dict[int, bytes] = {}
        self._boxes = [(box := bounds(p.region)).width * box.height for p in pieces]
        self._mean = sum(self._boxes) / max(1, len(pieces))

    def _region(self, index: int) -> Region:
        """Give a piece without its holes: they are cut first, and what lay in one would fall before it is cut.

        Templates of one outline are then one shape, and letters have fewer points.
        """
        return filled(self.pieces[index].region)

    def digest(self, index: int) -> bytes:
        """Give what tells the outline of a piece from others; it takes a thousandth of the outline's memory."""
        if index not in self._digests:
            self._digests[index] = blake2b(self._region(index).normalize().wkb, digest_size=16).digest()
        return self._digests[index]

    def bulk(self, index: int) -> float:
        """Give the area of the box of a piece, compared with the mean."""
        return self._boxes[index] / self._mean

    def of(self, index: int) -> list[PartMask]:
        """Give the masks of a piece at every allowed turn; turns that change nothing are left out."""
        found: list[PartMask] = []
        for turn in self.rules.turns:
            mask = self.turned(index, turn)
            if not any(np.array_equal(mask.cells, other.cells) for other in found):
                found.append(mask)
        return found

    def shape(self, index: int) -> PartShape:
        """Give what the masks of a piece share."""
        key = (self.digest(index), self.reach)
        if key not in self._store.shapes:
            self._store.shapes[key] = part_shape(self._region(index), self.reach)
        return self._store.shapes[key]

    def turned(self, index: int, turn: float) -> PartMask:
        """Give the mask of a piece at one turn."""
        key = (self.digest(index), self.reach, self.cell, turn)
        if key not in self._store.masks:
            if turn >= 90:
                mask = replace(quarter_turned(self.turned(index, turn - 90)), turn=turn)
            else:
                mask = part_mask(self.shape(index), turn, cell=self.cell)
            self._store.masks[key] = mask
        return self._store.masks[key]
