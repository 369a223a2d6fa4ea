"""Nesting by true shape: a greedy placer on a fine raster, with an exact check of every placement.

Method: one sheet is filled after the other. Parts come largest box first, each laid at the best spot there is
(`search.py`); or the next is chosen among the first few that wait, whichever touches most of what lies near it. The
raster only proposes: exact distances between true outlines decide.

Any usable region serves, whatever its outline; parts lie in the holes of others. No clock and no unseeded chance is
involved: the same pieces give the same layout.

Known limit: positions are whole cells, so a spot that fits by less than a cell may be missed.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field, replace
from hashlib import blake2b

import numpy as np

from nameplate.geometry.collision_set import Crowd, shifted, turned_box
from nameplate.geometry.region import (
    Region,
    bounds,
    filled,
    hole_rings,
    holes,
    moved,
    offset,
    outer_rings,
    solids,
)
from nameplate.geometry.room import PLAY, TURNING, Room
from nameplate.nest.layout import Piece, Placement, placement
from nameplate.nest.rectangles import Packed
from nameplate.nest.search.best_spot import Finder, Spot
from nameplate.nest.search.board import BORDER, Board
from nameplate.nest.search.orders import LEEWAY, largest_first
from nameplate.nest.search.raster import Die, Stamp, make_die, make_stamp, quarter_turned, rasterise
from nameplate.nest.sheets import Blank, Rules

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

#: What a part as large as the mean counts against contact when the next part is chosen. More lays large parts first.
BULK = 0.06


@dataclass(frozen=True, slots=True, eq=False)
class PlacedPart:
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
    room: Room
    lying: list[PlacedPart] = field(default_factory=list)

    def holds(self, stamp: Stamp, x: float, y: float) -> bool:
        """Tell whether a part shifted by (x, y) mm lies where parts may: by its slimmed outline, in doubt by itself."""
        slim = shifted(stamp.outline, x, y)
        return self.room.holds(slim, slack=stamp.slack + TURNING) or (
            stamp.slack > 0
            and self.room.holds(slim, beyond=stamp.slack)
            and self.room.holds(moved(stamp.true, x, y, turn=stamp.turn), slack=TURNING)
        )

    def put(self, lying: PlacedPart, outline: Region) -> None:
        """Lay a piece down."""
        self.board.put(lying.stamp, lying.x, lying.y)
        number = self.crowd.add(outline, lying.stamp.slack)
        self.lying.append(replace(lying, number=number))

    def take(self, lying: PlacedPart) -> None:
        """Take a piece up again. Masks on a board never share a cell, so its cells become free."""
        self.board.take(lying.stamp, lying.x, lying.y)
        self.crowd.remove(lying.number)
        self.lying.remove(lying)

    def put_back(self, lying: PlacedPart) -> None:
        """Lay a piece down where it lay before."""
        self.put(lying, shifted(lying.stamp.outline, lying.at.x, lying.at.y))

    def right(self, lying: PlacedPart) -> float:
        """Give the x (mm) of a piece's right edge."""
        return lying.at.x + lying.stamp.x0 + lying.stamp.width

    @property
    def used(self) -> float:
        """How far along x the sheet is used (mm)."""
        return max((self.right(lying) for lying in self.lying), default=0.0)


def cell_side(blanks: Sequence[Blank], gap: float = 0.0) -> float:
    """Choose the side of a cell for some sheets and a gap (mm).

    `CELL`, or finer on small sheets, or coarser on huge or very narrow ones, and where the gap is wide.
    """
    boxes = [bounds(usable) for usable in {id(b.usable): b.usable for b in blanks}.values() if not usable.is_empty]
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
    return Table(blank, Board(free), crowd, cell, (box.x0, box.y0), (box.width, box.height), Room(blank.usable))


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
        self._shapes: dict[int, bytes] = {}
        self._smallest = min((p.region.area for p in pieces), default=0.0)
        self._boxes = [(box := bounds(p.region)).width * box.height for p in pieces]
        self._mean = sum(self._boxes) / max(1, len(pieces))

    def _region(self, index: int) -> Region:
        """Give a piece without its holes when none of the pieces can lie in one.

        Templates of one outline are then one shape, and letters have fewer points.
        """
        region = self.pieces[index].region
        inside = solids(holes(region))
        return filled(region) if inside and all(hole.area < self._smallest for hole in inside) else region

    def shape(self, index: int) -> bytes:
        """Give what tells the shape of a piece from others: a digest, which takes a thousandth of the shape."""
        if index not in self._shapes:
            self._shapes[index] = blake2b(self._region(index).normalize().wkb, digest_size=16).digest()
        return self._shapes[index]

    def bulk(self, index: int) -> float:
        """Give the area of the box of a piece, compared with the mean."""
        return self._boxes[index] / self._mean

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
            self._store.dies[key] = make_die(self._region(index), self.reach)
        return self._store.dies[key]

    def turned(self, index: int, turn: float) -> Stamp:
        """Give the stamp of a piece at one turn."""
        key = (self.shape(index), self.reach, self.cell, turn)
        if key not in self._store.stamps:
            if turn >= 90:
                stamp = replace(quarter_turned(self.turned(index, turn - 90)), turn=turn)
            else:
                stamp = make_stamp(self.die(index), turn, cell=self.cell)
            self._store.stamps[key] = stamp
        return self._store.stamps[key]


def place(table: Table, index: int, piece: Piece, stamps: Sequence[Stamp], *, leeway: int = LEEWAY) -> bool:
    """Lay a piece on a table at the best spot there is; False when there is none."""
    spot = Finder(table, stamps).best(leeway)
    if spot is not None:
        _lay(table, index, piece, spot)
    return spot is not None


def _lay(table: Table, index: int, piece: Piece, spot: Spot) -> None:
    at = placement(piece, spot.dx, spot.dy, spot.stamp.turn)
    table.put(PlacedPart(index, spot.stamp, spot.x, spot.y, at, -1), spot.outline)


def put_at(table: Table, index: int, piece: Piece, die: Die, at: Placement) -> bool:
    """Lay a piece exactly where a placement says, on or off the cells; False when that breaks a rule."""
    box = turned_box(die.corners, at.turn)
    left, low = box.x0 + at.x - table.origin[0], box.y0 + at.y - table.origin[1]
    if min(left, low, table.size[0] - left - box.width, table.size[1] - low - box.height) < TURNING - PLAY:
        return False
    x, y = (max(0, math.floor(v / table.cell + 1e-9)) for v in (left, low))
    rest = (max(0.0, left - x * table.cell), max(0.0, low - y * table.cell))
    stamp = make_stamp(die, at.turn, cell=table.cell, shift=rest)
    outline = shifted(stamp.outline, at.x, at.y)
    if not table.crowd.clear_of(outline, stamp.slack):
        return False
    if not table.blank.plain and not table.holds(stamp, at.x, at.y):
        return False
    table.put(PlacedPart(index, stamp, x, y, at, -1), outline)
    return True


def pack_shapes(
    pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules, *, store: Store | None = None
) -> Packed:
    """Pack pieces by their true shape onto the given sheets, first sheet first, largest box first.

    >>> pack_shapes([], [], Rules(gap=1, edge=5))
    Packed(placements=(), left=())
    """
    if not blanks:
        return Packed((), tuple(range(len(pieces))))
    stamps = Stamps(pieces, rules, cell_side(blanks, rules.gap), store)
    tables, left = greedy(pieces, blanks, rules, largest_first(pieces), stamps=stamps)
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
    among: int = 1,
    within: float = math.inf,
) -> tuple[list[Table | None], list[int]]:
    """Lay pieces down in the given order, first fit over the sheets; give the tables and who found no place.

    With `among` each next piece is chosen of so many shapes, see `fill`. Once the last of the sheets is used further
    than `within` mm, the rest of the order finds no place: a nest that is already longer than another need not be
    finished.
    """
    stamps = stamps or Stamps(pieces, rules, cell_side(blanks, rules.gap))
    tables: list[Table | None] = []
    waiting = list(order)
    barren: set[int] = set()  # what took nothing takes nothing again: the same parts wait
    for n, blank in enumerate(blanks):
        if not waiting:
            break
        table = None if id(blank) in barren else open_table(blank, rules, stamps.cell)
        if table is not None:
            limit = within if n == len(blanks) - 1 else math.inf
            waiting = fill(table, pieces, waiting, stamps, leeway=leeway, among=among, within=limit)
        if table is not None and not table.lying:
            table = None
            barren.add(id(blank))
        tables.append(table)
    return tables, waiting


def fill(
    table: Table,
    pieces: Sequence[Piece],
    order: Sequence[int],
    stamps: Stamps,
    *,
    leeway: int = LEEWAY,
    among: int = 1,
    within: float = math.inf,
) -> list[int]:
    """Lay pieces on a table in the given order while they find a spot; give those that found none, in order.

    Of the first `among` shapes still waiting the one goes next that touches most of what lies near it, with some
    favour for large ones. Nothing more is laid once the table is used further than `within` mm.
    """
    waiting: dict[bytes, list[int]] = {}
    for index in order:
        waiting.setdefault(stamps.shape(index), []).append(index)
    finders: dict[bytes, Finder] = {}
    full: set[bytes] = set()
    while table.used <= within:
        best: tuple[float, bytes, Spot] | None = None
        tried = 0
        for shape, indices in waiting.items():
            if shape in full:
                continue
            if tried == among:
                break
            if shape not in finders:
                finders[shape] = Finder(table, stamps.of(indices[0]))
            spot = finders[shape].best(leeway)
            if spot is None:
                full.add(shape)
                continue
            tried += 1
            score = spot.contact + BULK * stamps.bulk(indices[0])
            if best is None or score > best[0]:
                best = score, shape, spot
        if best is None:
            break
        _, shape, spot = best
        index = waiting[shape].pop(0)
        _lay(table, index, pieces[index], spot)
        if not waiting[shape]:
            del waiting[shape]
    left = {index for indices in waiting.values() for index in indices}
    return [index for index in order if index in left]
