"""Nesting by true shape: a greedy placer on a fine raster, with an exact check of every placement.

Method: parts come largest box first. Each is tried on every open sheet in order, at every allowed turn; the first
sheet with room takes it, as far left as it goes; among the spots about as far left the one with most contact to what
lies near (or to the sheet's edge) and its weight far left wins. The raster only proposes: exact distances between true
outlines decide.

Any usable region serves, whatever its outline; parts lie in the holes of others. No clock and no unseeded chance is
involved: the same pieces give the same layout.

Known limit: positions are whole cells, so a spot that fits by less than a cell may be missed.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from nameplate.geometry.crowd import ROUNDING, Crowd, shifted, turned_box
from nameplate.geometry.region import (
    Region,
    bounds,
    covers,
    filled,
    hole_rings,
    holes,
    offset,
    outer_rings,
    solids,
)
from nameplate.nest.board import Board
from nameplate.nest.kernel import Spots
from nameplate.nest.layout import Piece, Placement, placement
from nameplate.nest.orders import LEEWAY, orders
from nameplate.nest.raster import Die, Stamp, make_die, make_stamp, rasterise
from nameplate.nest.rectangles import Packed
from nameplate.nest.sheets import Blank, Rules

#: Side of a cell (mm). Half of it makes a nest about 1 % denser and four times slower.
CELL = 0.5

#: A sheet has at least this many cells (cells become smaller on small sheets) ...
LEAST_CELLS = 100_000

#: ... and at most this many, to bound memory (about 4 bytes a cell) and time.
MOST_CELLS = 6_000_000

#: Exact checks made in one such group before looking further right. More finds tighter spots, slower.
TRIES = 20

#: Up to this many pieces are tried in several orders; more gain too little for the time.
FEW_PIECES = 110

#: Spots of a group that are compared.
COMPARED = 256

#: What one column further left, of the centre of a part, counts against contact, which goes from 0 to 1. More lays the
#: heavy end of a part to the left; nests of 50 names were 1 % shorter with 0.002 than without, longer with 0.003.
LEFTNESS = 0.002


@dataclass(frozen=True, slots=True, eq=False)
class Lying:
    """A piece on a table: which (its position in the input), how, and where (cells and mm)."""

    index: int
    stamp: Stamp
    x: int
    y: int
    at: Placement
    number: int


@dataclass(eq=False)
class Table:
    """One sheet being filled. `origin` is the lower left corner (mm) of the box round its usable region."""

    blank: Blank
    board: Board
    crowd: Crowd
    cell: float
    origin: tuple[float, float]
    size: tuple[float, float]
    lying: list[Lying] = field(default_factory=list)

    @property
    def room(self) -> Region:
        """Where parts may lie, a hair larger for the rounding of places."""
        return offset(self.blank.usable, ROUNDING, join="mitre")

    def put(self, lying: Lying, outline: Region) -> None:
        """Lay a piece down."""
        self.board.put(lying.stamp, lying.x, lying.y)
        number = self.crowd.add(outline, lying.stamp.slack)
        self.lying.append(replace(lying, number=number))

    def take(self, lying: Lying) -> None:
        """Take a piece up again. Masks on a board never share a cell, so its cells become free."""
        self.board.take(lying.stamp, lying.x, lying.y)
        self.crowd.remove(lying.number)
        self.lying.remove(lying)

    def put_back(self, lying: Lying) -> None:
        """Lay a piece down where it lay before."""
        self.put(lying, shifted(lying.stamp.outline, lying.at.x, lying.at.y))

    def right(self, lying: Lying) -> float:
        """Give the x (mm) of a piece's right edge."""
        return lying.at.x + lying.stamp.x0 + lying.stamp.width

    @property
    def used(self) -> float:
        """How far along x the sheet is used (mm)."""
        return max((self.right(lying) for lying in self.lying), default=0.0)


def cell_side(blanks: Sequence[Blank]) -> float:
    """Choose the side of a cell for some sheets: `CELL`, or finer on small sheets, or coarser on huge ones."""
    areas = [box.width * box.height for box in (bounds(b.usable) for b in blanks if not b.usable.is_empty)]
    if not areas:
        return CELL
    # by powers of two, so that parts measured in half millimetres fit whole cells
    most, least = math.sqrt(max(areas) / LEAST_CELLS), math.sqrt(max(areas) / MOST_CELLS)
    return max(min(CELL, 2.0 ** math.floor(math.log2(most))), 2.0 ** math.ceil(math.log2(least)))


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
        room = offset(blank.usable, reach)
        free = rasterise([*outer_rings(room), *hole_rings(room)], box.x0 - reach, box.y0 - reach, cell, nx, ny)
    crowd = Crowd(rules.gap)
    return Table(blank, Board(free), crowd, cell, (box.x0, box.y0), (box.width, box.height))


class Store:
    """Dies and stamps by shape, for as long as the nests of one job are worked on."""

    def __init__(self) -> None:
        self.dies: dict[tuple[bytes, float], Die] = {}
        self.stamps: dict[tuple[bytes, float, float, float], Stamp] = {}
        #: what pieces (by their keys) came to on blanks (by stock), so that a quote need not nest them again
        self.packs: dict[Hashable, Packed] = {}


class Stamps:
    """Makes the stamps of pieces when they are first needed; equal regions share them."""

    def __init__(self, pieces: Sequence[Piece], rules: Rules, cell: float, store: Store | None = None) -> None:
        self.pieces, self.rules, self.cell = pieces, rules, cell
        self.reach = rules.gap / 2
        self._store = store or Store()
        self._shapes: dict[int, tuple[Region, bytes]] = {}
        self._smallest = min((p.region.area for p in pieces), default=0.0)

    def _region(self, index: int) -> tuple[Region, bytes]:
        """Give a piece without its holes when none of the pieces can lie in one, and what tells it from others.

        Templates of one outline are then one shape, and letters have fewer points.
        """
        if index not in self._shapes:
            region = self.pieces[index].region
            inside = solids(holes(region))
            if inside and all(hole.area < self._smallest for hole in inside):
                region = filled(region)
            self._shapes[index] = region, region.normalize().wkb
        return self._shapes[index]

    def shape(self, index: int) -> bytes:
        """Give what tells the shape of a piece from others."""
        return self._region(index)[1]

    def of(self, index: int) -> list[Stamp]:
        """Give the stamps of a piece at every allowed turn; turns that change nothing are left out."""
        found: list[Stamp] = []
        for turn in self.rules.turns:
            stamp = self.turned(index, turn)
            if not any(np.array_equal(stamp.mask, other.mask) for other in found):
                found.append(stamp)
        return found

    def die(self, index: int) -> Die:
        """Give what the stamps of a piece share."""
        key = (self.shape(index), self.reach)
        if key not in self._store.dies:
            self._store.dies[key] = make_die(self._region(index)[0], self.reach)
        return self._store.dies[key]

    def turned(self, index: int, turn: float) -> Stamp:
        """Give the stamp of a piece at one turn."""
        key = (self.shape(index), self.reach, self.cell, turn)
        if key not in self._store.stamps:
            self._store.stamps[key] = make_stamp(self.die(index), turn, cell=self.cell)
        return self._store.stamps[key]


def place(table: Table, index: int, piece: Piece, stamps: Sequence[Stamp], *, leeway: int = LEEWAY) -> bool:
    """Lay a piece on a table at the best spot there is; False when there is none."""
    for stamp, x, y in _proposals(table, stamps, leeway):
        at, outline = _lay(table, piece, stamp, x, y)
        if table.crowd.clear_of(outline, stamp.slack) and (table.blank.plain or covers(table.room, outline)):
            table.put(Lying(index, stamp, x, y, at, -1), outline)
            return True
    return False


def _lay(table: Table, piece: Piece, stamp: Stamp, x: int, y: int) -> tuple[Placement, Region]:
    dx = table.origin[0] + x * table.cell - stamp.x0
    dy = table.origin[1] + y * table.cell - stamp.y0
    at = placement(piece, dx, dy, stamp.turn)
    return at, shifted(stamp.outline, at.x, at.y)


def put_at(table: Table, index: int, piece: Piece, die: Die, at: Placement) -> bool:
    """Lay a piece exactly where a placement says, on or off the cells; False when that breaks a rule."""
    box = turned_box(die.corners, at.turn)
    left, low = box.x0 + at.x - table.origin[0], box.y0 + at.y - table.origin[1]
    if min(left, low, table.size[0] - left - box.width, table.size[1] - low - box.height) < -ROUNDING:
        return False
    x, y = (max(0, math.floor(v / table.cell + 1e-9)) for v in (left, low))
    rest = (max(0.0, left - x * table.cell), max(0.0, low - y * table.cell))
    stamp = make_stamp(die, at.turn, cell=table.cell, shift=rest)
    outline = shifted(stamp.outline, at.x, at.y)
    if not table.crowd.clear_of(outline, stamp.slack):
        return False
    if not table.blank.plain and not covers(table.room, outline):
        return False
    table.put(Lying(index, stamp, x, y, at, -1), outline)
    return True


class _Search:
    """The free spots of one stamp on one table, leftmost first."""

    def __init__(self, table: Table, stamp: Stamp) -> None:
        self.stamp, self.board = stamp, table.board
        xs, ys = (
            math.floor((room - size) / table.cell + 1e-7) + 1
            for room, size in zip(table.size, (stamp.width, stamp.height), strict=True)
        )
        self._bands = iter(()) if min(xs, ys) <= 0 else table.board.spots(stamp, xs, ys)
        self.waiting: Spots = np.empty(0, dtype=np.int64)
        #: cells from the box's left edge to its right edge, so that turns are compared by how far right they reach
        self.length = round(stamp.width / table.cell)

    def fill(self) -> bool:
        """Fetch the next band when none is waiting; False when there are no more."""
        while not len(self.waiting):
            band = next(self._bands, None)
            if band is None:
                return False
            self.waiting = band
        return True

    def reach(self) -> int:
        """Give the column that the leftmost waiting spot reaches to."""
        return int(self.waiting[0] // self.board.rows) + self.length

    def take(self, reach: int) -> Spots:
        """Take the waiting spots that reach no further than a column."""
        end = int(np.searchsorted(self.waiting, (reach - self.length + 1) * self.board.rows))
        taken, self.waiting = self.waiting[:end], self.waiting[end:]
        return taken


def _proposals(table: Table, stamps: Sequence[Stamp], leeway: int) -> Iterator[tuple[Stamp, int, int]]:
    """Give spots for exact checking: group by group to the right, in each by contact, and centres further left."""
    searches = [_Search(table, stamp) for stamp in stamps]
    while searches := [search for search in searches if search.fill()]:
        limit = min(search.reach() for search in searches) + leeway
        group = []
        for order, search in enumerate(searches):
            spots = _ends(search.take(limit))
            touching = table.board.contact(search.stamp, spots) / len(search.stamp.ring)
            worth = touching - LEFTNESS * (spots // table.board.rows + search.stamp.heart)
            group += [(-round(float(w), 9), int(s), order, search.stamp) for w, s in zip(worth, spots, strict=True)]
        for _, spot, _, stamp in sorted(group, key=lambda g: g[:3])[:TRIES]:
            x, y = table.board.position(spot)
            yield stamp, x, y


def _ends(spots: Spots) -> Spots:
    """Keep the ends of upright runs of spots: contact is greatest where a part can slide no further."""
    if not len(spots):
        return spots
    step = np.diff(spots) != 1
    ends: Spots = spots[np.append(True, step) | np.append(step, True)]
    sample: Spots = ends[:: max(1, math.ceil(len(ends) / COMPARED))]
    return sample


def pack_shapes(
    pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules, *, store: Store | None = None
) -> Packed:
    """Pack pieces by their true shape onto the given sheets, first sheet first.

    Few pieces are tried in several orders, and the shortest nest is kept.

    >>> pack_shapes([], [], Rules(gap=1, edge=5))
    Packed(placements=(), left=())
    """
    if not blanks:
        return Packed((), tuple(range(len(pieces))))
    stamps = Stamps(pieces, rules, cell_side(blanks), store)
    tries = [
        greedy(pieces, blanks, rules, order, stamps=stamps)
        for order in orders(pieces)[: 1 if len(pieces) > FEW_PIECES or rules.coarse else None]
    ]
    tables, left = min(tries, key=lambda t: (len(t[1]), *nest_length(t[0])))
    return as_packed(tables, left, len(blanks))


def nest_length(tables: Sequence[Table | None]) -> tuple[int, float]:
    """Rank tables: how many are in use, then how far (mm) the last is."""
    filled = [t for t in tables if t and t.lying]
    return (len(filled), filled[-1].used) if filled else (0, 0.0)


def as_packed(tables: Sequence[Table | None], left: Sequence[int], blanks: int) -> Packed:
    """Give the placements of tables in order of the blanks; tables not opened are empty."""
    rows = [
        tuple(lying.at for lying in sorted(table.lying, key=lambda ly: ly.index)) if table else () for table in tables
    ]
    return Packed((*rows, *((),) * (blanks - len(rows))), tuple(sorted(left)))


def greedy(
    pieces: Sequence[Piece],
    blanks: Sequence[Blank],
    rules: Rules,
    order: Sequence[int],
    *,
    stamps: Stamps | None = None,
    leeway: int = LEEWAY,
    within: float = math.inf,
) -> tuple[list[Table | None], list[int]]:
    """Lay pieces down in the given order, first fit over the sheets; give the tables and who found no place.

    Once the last of the sheets is used further than `within` mm, the rest of the order finds no place: a nest that is
    already longer than another need not be finished.
    """
    cell = stamps.cell if stamps else cell_side(blanks)
    stamps = stamps or Stamps(pieces, rules, cell)
    tables: list[Table | None] = []
    left = []
    full: set[tuple[bytes, int]] = set()
    for index in order:
        if len(tables) == len(blanks) and (last := tables[-1]) and last.used > within:
            left.append(index)
            continue
        mine, shape = stamps.of(index), stamps.shape(index)
        if any(_goes_on(table, index, pieces[index], mine, (shape, n), full, leeway) for n, table in enumerate(tables)):
            continue
        while len(tables) < len(blanks):
            table = open_table(blanks[len(tables)], rules, cell)
            tables.append(table)
            if table is not None and place(table, index, pieces[index], mine, leeway=leeway):
                break
        else:
            left.append(index)
    return tables, left


def _goes_on(
    table: Table | None,
    index: int,
    piece: Piece,
    stamps: Sequence[Stamp],
    which: tuple[bytes, int],
    full: set[tuple[bytes, int]],
    leeway: int,
) -> bool:
    """Lay a piece on a table that only fills: a shape that found no place on it before (`full`) finds none now."""
    if table is None or which in full:
        return False
    if place(table, index, piece, stamps, leeway=leeway):
        return True
    full.add(which)
    return False
