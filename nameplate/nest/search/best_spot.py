"""The best spot for a part on a sheet, as the parts before it lie.

Method: at each turn the columns that still have free places are looked at, leftmost first. Among the spots that reach
about as far right as the one that reaches least, the one with most contact to what lies near (or to the sheet's edge)
and its weight far left wins. The raster only proposes: exact distances between true outlines decide.

Parts are only added while a search goes on, so a place once taken, or refused by the exact check, never opens again,
and a search goes on from the column it had come to.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from nameplate.geometry.collision_set import shifted
from nameplate.geometry.region import Region
from nameplate.nest.layout import mm
from nameplate.nest.search.board import Spots
from nameplate.nest.search.raster import PartMask
from nameplate.nest.search.table import Table

#: Exact checks made in one group of spots before looking further right. More finds tighter spots, slower.
TRIES = 20

#: Spots of a group that are compared.
COMPARED = 256

#: What one column further left, of the centre of a part, counts against contact, which goes from 0 to 1. More lays the
#: heavy end of a part to the left; nests of 50 names were 1 % shorter with 0.002 than without, longer with 0.003.
LEFTNESS = 0.002

#: Columns looked at in the first step of a search; each later step takes twice as many, up to the second number. More
#: costs more where there is room, less where there is none.
STEP, WIDEST = 16, 128


@dataclass(frozen=True, slots=True, eq=False)
class Spot:
    """Where a part may lie: its mask, the cell (x, y), how far the part shifts for that (mm), and its outline there.

    `contact` is the share of the ring round it that touches something.
    """

    mask: PartMask
    x: int
    y: int
    dx: float
    dy: float
    outline: Region
    contact: float


class FreeSpots:
    """The free spots of one mask on one table, from the leftmost column that has any."""

    def __init__(self, table: Table, mask: PartMask) -> None:
        self.mask, self.board = mask, table.board
        self._columns, ys = (
            math.floor((room - size - shift) / table.cell + 1e-7) + 1
            for room, size, shift in zip(table.size, (mask.width, mask.height), mask.shift, strict=True)
        )
        if ys <= 0:
            self._columns = 0
        self._tests = table.board.tests(mask)
        self._forbidden = table.board.forbidden(max(ys, 0))
        self._at = 0
        #: cells from the box's left edge to its right edge, so that turns are compared by how far right they reach
        self._length = round((mask.width + mask.shift[0]) / table.cell)
        self._seen: tuple[int, Spots] = (0, np.empty(0, dtype=np.int64))

    def go_on(self) -> bool:
        """Find the leftmost column that has a free spot; False when none has."""
        step = STEP
        while self._at < self._columns:
            end = min(self._at + step, self._columns)
            spots = self.board.free(self._tests, self._forbidden, self._at, end - self._at)
            if len(spots):
                self._at = int(spots[0]) // self.board.rows
                self._seen = end, spots
                return True
            self._at, step = end, min(2 * step, WIDEST)
        return False

    def reach(self) -> int:
        """Give the column that the leftmost spot reaches to."""
        return self._at + self._length

    def up_to(self, reach: int) -> Spots:
        """Give the free spots that reach no further than a column."""
        end, spots = self._seen
        wanted = min(self._columns, reach - self._length + 1)
        if wanted > end:
            more = self.board.free(self._tests, self._forbidden, end, wanted - end)
            spots = np.concatenate([spots, more])
            self._seen = wanted, spots
        return spots[: np.searchsorted(spots, wanted * self.board.rows)]

    def pass_by(self, reach: int) -> None:
        """Look no more at spots that reach no further than a column."""
        self._at = max(self._at, reach - self._length + 1)


class Finder:
    """Finds the best spot of one part, at any of its turns, on one table that only fills."""

    def __init__(self, table: Table, masks: Sequence[PartMask]) -> None:
        self.table = table
        self._searches = [FreeSpots(table, mask) for mask in masks]
        self._refused: set[tuple[float, int]] = set()
        self._best: tuple[int, Spot | None] = (-1, None)

    def best(self, leeway: int) -> Spot | None:
        """Give the best spot as the table lies; None when there is none. `leeway` is in columns."""
        if self._best[0] != len(self.table.parts):
            self._best = len(self.table.parts), self._find(leeway)
        return self._best[1]

    def _find(self, leeway: int) -> Spot | None:
        while searches := self._leftmost(leeway):
            limit = min(search.reach() for search in searches) + leeway
            for spot in self._group(searches, limit):
                if self._clear(spot):
                    return spot
            for search in searches:
                search.pass_by(limit)
        return None

    def _leftmost(self, leeway: int) -> list[FreeSpots]:
        """Bring those turns up to date that may reach no further than `leeway` columns beyond the least; give them.

        A turn reaches at least as far as when it was last looked at, so one that is too far already is left alone.
        """
        limit, found = math.inf, []
        for search in sorted(self._searches, key=FreeSpots.reach):
            if search.reach() > limit:
                break
            if search.go_on():
                found.append(search)
                limit = min(limit, search.reach() + leeway)
            else:
                self._searches.remove(search)
        return [search for search in self._searches if search in found]

    def _group(self, searches: Sequence[FreeSpots], limit: int) -> Iterator[Spot]:
        """Give the spots that reach no further than `limit`, by contact and how far left the part's centre lies."""
        board, group = self.table.board, []
        for order, search in enumerate(searches):
            spots = _ends(search.up_to(limit))
            if not len(spots):
                continue
            contact = board.contact(search.mask, spots)
            worth = np.round(contact - LEFTNESS * (spots // board.rows + search.mask.centre), 9)
            best = np.argsort(-worth, kind="stable")[: TRIES + len(self._refused)]
            group += [(-float(worth[i]), int(spots[i]), order, float(contact[i])) for i in best]
        proposals = [row for row in sorted(group) if (searches[row[2]].mask.turn, row[1]) not in self._refused]
        for _, spot, order, touching in proposals[:TRIES]:
            yield self._spot(searches[order].mask, spot, touching)

    def _spot(self, mask: PartMask, spot: int, contact: float) -> Spot:
        table, (x, y) = self.table, self.table.board.position(spot)
        dx = table.origin[0] + x * table.cell + mask.shift[0] - mask.x0
        dy = table.origin[1] + y * table.cell + mask.shift[1] - mask.y0
        dx, dy = mm(dx), mm(dy)  # where it will lie is what must be judged
        return Spot(mask, x, y, dx, dy, shifted(mask.outline, dx, dy), contact)

    def _clear(self, spot: Spot) -> bool:
        """Tell whether a spot keeps all distances exactly; one that does not is never looked at again."""
        if self.table.accepts(spot.mask, spot.outline, spot.dx, spot.dy):
            return True
        self._refused.add((spot.mask.turn, spot.x * self.table.board.rows + spot.y))
        return False


def _ends(spots: Spots) -> Spots:
    """Keep the ends of upright runs of spots: contact is greatest where a part can slide no further."""
    if not len(spots):
        return spots
    bounds = np.ones(len(spots) + 1, dtype=bool)
    np.not_equal(np.diff(spots), 1, out=bounds[1:-1])
    ends: Spots = spots[bounds[:-1] | bounds[1:]]
    sample: Spots = ends[:: max(1, math.ceil(len(ends) / COMPARED))]
    return sample
