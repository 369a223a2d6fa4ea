"""One sheet while it is being filled: its cells, the exact outlines on it, and what lies where."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from nameplate.geometry.collision_set import CollisionSet, shifted, turned_box
from nameplate.geometry.region import Region, bounds, moved, offset
from nameplate.geometry.room import PLAY, TURNING, Room
from nameplate.nest.layout import Placement
from nameplate.nest.search.board import Board
from nameplate.nest.search.part_masks import PartMasks
from nameplate.nest.search.raster import PartMask, part_mask, rasterise
from nameplate.nest.sheets import Blank, Rules


@dataclass(frozen=True, slots=True, eq=False)
class PlacedPart:
    """A piece on a table: which (its position in the input), its mask, and its placement (mm)."""

    index: int
    mask: PartMask
    at: Placement


@dataclass(eq=False)
class Table:
    """One sheet being filled. `origin` is the lower left corner (mm) of the box round its usable region."""

    blank: Blank
    board: Board
    outlines: CollisionSet
    cell: float
    origin: tuple[float, float]
    size: tuple[float, float]
    room: Room
    parts: list[PlacedPart] = field(default_factory=list)

    def accepts(self, mask: PartMask, outline: Region, x: float, y: float) -> bool:
        """Tell whether a part shifted by (x, y) mm, whose outline is there, keeps every distance exactly."""
        return self.outlines.clear_of(outline, mask.slack) and (self.blank.plain or self._holds(mask, outline, x, y))

    def _holds(self, mask: PartMask, outline: Region, x: float, y: float) -> bool:
        """Tell whether a part lies in the sheet's room: by its slimmed outline, in doubt by its true one."""
        return self.room.holds(outline, slack=mask.slack + TURNING) or (
            mask.slack > 0
            and self.room.holds(outline, beyond=mask.slack)
            and self.room.holds(moved(mask.true, x, y, turn=mask.turn), slack=TURNING)
        )

    def put(self, index: int, mask: PartMask, cell: tuple[int, int], outline: Region, at: Placement) -> None:
        """Lay a piece down, its mask's first cell at `cell` and its outline, already shifted, at `at`."""
        self.board.put(mask, *cell)
        self.outlines.add(outline, mask.slack)
        self.parts.append(PlacedPart(index, mask, at))

    @property
    def used(self) -> float:
        """How far along x the sheet is used (mm)."""
        return max((part.at.x + part.mask.x0 + part.mask.width for part in self.parts), default=0.0)

    @property
    def placements(self) -> tuple[Placement, ...]:
        """Where everything lies, in the order of the pieces."""
        return tuple(part.at for part in sorted(self.parts, key=lambda part: part.index))


def open_table(blank: Blank, rules: Rules, cell: float) -> Table | None:
    """Make an empty table of a sheet; None when nothing can lie on it."""
    if blank.usable.is_empty:
        return None
    reach = rules.gap / 2
    box = bounds(blank.usable)
    nx, ny = (math.ceil((side + 2 * reach) / cell) for side in (box.width, box.height))
    if blank.plain:
        free = np.ones((nx, ny), dtype=bool)
    else:
        free = rasterise(offset(blank.usable, reach), box.x0 - reach, box.y0 - reach, cell, nx, ny)
    outlines = CollisionSet(rules.gap)
    return Table(blank, Board(free), outlines, cell, (box.x0, box.y0), (box.width, box.height), Room(blank.usable))


def put_at(table: Table, index: int, masks: PartMasks, at: Placement) -> bool:
    """Lay a piece exactly where a placement says, on or off the cells; False when that breaks a rule."""
    shape = masks.shape(index)
    box = turned_box(shape.corners, at.turn)
    left, low = box.x0 + at.x - table.origin[0], box.y0 + at.y - table.origin[1]
    if min(left, low, table.size[0] - left - box.width, table.size[1] - low - box.height) < TURNING - PLAY:
        return False
    x, y = (max(0, math.floor(v / table.cell + 1e-9)) for v in (left, low))
    rest = (max(0.0, left - x * table.cell), max(0.0, low - y * table.cell))
    mask = part_mask(shape, at.turn, cell=table.cell, shift=rest)
    outline = shifted(mask.outline, at.x, at.y)
    if not table.accepts(mask, outline, at.x, at.y):
        return False
    table.put(index, mask, (x, y), outline, at)
    return True
