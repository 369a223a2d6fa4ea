"""What to tell a person before ordering: each sheet size alone, the best mix, how good it is, and what more would cost.

Terms. The *typical plate* of a design is the one whose parts have boxes of the median area, which a draft has about as
large as the finished job; one or ten more names of that design are taken to be like it. Each design is told as if all
the names that come were of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from nameplate.geometry.collision_set import shifted
from nameplate.geometry.region import bounds
from nameplate.nest.buying.proof import prove
from nameplate.nest.buying.purchase import Buyer, Purchase, total_cost
from nameplate.nest.engines import engine_of
from nameplate.nest.layout import Layout, Piece, PieceKey, Placement, SheetLayout
from nameplate.nest.request import NestRequest
from nameplate.nest.search.best_spot import Finder
from nameplate.nest.search.filling import place
from nameplate.nest.search.part_masks import NestStore, PartMasks, cell_side
from nameplate.nest.search.table import Table, open_table, put_at
from nameplate.nest.sheets import Blank, Rules, fitting, sizes_of, with_usable
from nameplate.system.grouping import grouped

#: Names tried on the room left; more fit, it is said, when all of them do.
MOST_MORE = 50

#: Sheets on which room is looked for, those with most of it. A full sheet rarely takes another name, and looking costs.
ROOMIEST = 6

#: A placement this near (cells) to whole cells is taken to be on them: places are rounded to four decimals.
ON_CELLS = 1e-2

#: With more pieces of a material than this, sizes the layout does not use are judged by area at its density.
EXACT = 250


@dataclass(frozen=True, slots=True)
class SizeAlone:
    """One stock size if nothing else were bought: sheets and cost. `exact` tells a real nest from an area estimate."""

    stock: int
    width: float
    height: float
    price: float
    sheets: int
    cost: float
    exact: bool


@dataclass(frozen=True, slots=True)
class MaterialQuote:
    """The figures of one material.

    No purchase has fewer than `least_sheets` sheets or costs less than `least_cost`. Anything cheaper would need parts
    to cover `needed_density` of its sheets (None when nothing is cheaper); this nest covers `density`.
    """

    material: str
    alone: tuple[SizeAlone, ...]
    sheets: int
    cost: float
    density: float
    least_sheets: int
    least_cost: float
    needed_density: float | None


@dataclass(frozen=True, slots=True)
class RoomLeft:
    """How many more names like the typical one of a design fit on the sheets of a job, and what is full first.

    `more` says that even more than `names` would fit; `full_first` is the material, empty where there is one.
    """

    design: str
    names: int
    more: bool
    full_first: str


@dataclass(frozen=True, slots=True)
class MoreNames(RoomLeft):
    """What more names of a design would take: the room there is, and what `one` and `ten` more would cost."""

    one: float
    ten: float


@dataclass(frozen=True, slots=True)
class Quote:
    """What a job needs, and what more names of each of its designs would take."""

    materials: tuple[MaterialQuote, ...]
    cost: float
    more: tuple[MoreNames, ...]


def quote(
    layout: Layout,
    request: NestRequest,
    *,
    designs: Mapping[str, str] | None = None,
    stores: dict[str, NestStore] | None = None,
) -> Quote:
    """Work out a quote for a layout that `nest` made of a request; with that nest's `stores` nothing is prepared twice.

    `designs` has the design of each plate by its id; without it all pieces are of one.

    >>> from nameplate.ticket.schema import NestKeys
    >>> quote(Layout(), NestRequest([], [], NestKeys())).cost
    0.0
    """
    jobs = _jobs(layout, request, stores)
    figures = [job.figures() for job in jobs]
    more = tuple(_more_names(own, _rooms(jobs, typical)) for own, typical in _typical(request, designs))
    return Quote(tuple(figures), round(sum((f.cost for f in figures), 0.0), 6), more)


def room_left(
    layout: Layout, request: NestRequest, *, designs: Mapping[str, str] | None = None
) -> tuple[RoomLeft, ...]:
    """Work out how many more names of each design there is room for on a layout that `nest` made of a request.

    `designs` as for `quote`.

    >>> from nameplate.ticket.schema import NestKeys
    >>> room_left(Layout(), NestRequest([], [], NestKeys()))
    ()
    """
    jobs = _jobs(layout, request, None)
    rooms = ((own, _rooms(jobs, typical)) for own, typical in _typical(request, designs))
    return tuple(_room_left(own, room, _fits(room)) for own, room in rooms)


def _typical(request: NestRequest, designs: Mapping[str, str] | None) -> Iterator[tuple[str, list[Piece]]]:
    """Yield each design with its typical plate; what belongs to no plate is of none."""
    known = dict.fromkeys((p.plate for p in request.pieces), "") if designs is None else designs
    by_design = grouped((known[piece.plate], piece) for piece in request.pieces if piece.plate in known)
    for design in sorted(by_design):
        if typical := typical_plate(by_design[design]):
            yield design, typical


def _more_names(design: str, rooms: Sequence[_Room]) -> MoreNames:
    fit = _fits(rooms)
    room = _room_left(design, rooms, fit)
    return MoreNames(design, room.names, room.more, room.full_first, _more(1, rooms, fit), _more(10, rooms, fit))


def _jobs(layout: Layout, request: NestRequest, stores: dict[str, NestStore] | None) -> list[_MaterialJob]:
    stores = {} if stores is None else stores
    materials = sorted({s.material for s in layout.sheets})
    return [_MaterialJob(layout, request, m, stores.setdefault(m, NestStore())) for m in materials]


def _rooms(jobs: Sequence[_MaterialJob], typical: Sequence[Piece]) -> list[_Room]:
    """Give the materials of a typical plate with its parts of each, the one with least room first."""
    rooms = [(job, more) for job in jobs if (more := [p for p in typical if p.material == job.material])]
    return sorted(rooms, key=lambda room: room[0].room_for(room[1]))


def _fits(rooms: Sequence[_Room]) -> list[int]:
    """Count how many more names each material has room for; no more is asked of one than the tightest has."""
    fit: list[int] = []
    for job, more in rooms:
        fit.append(job.still_fit(more, max(10, min(fit, default=MOST_MORE))))
    return fit


def _room_left(design: str, rooms: Sequence[_Room], fit: Sequence[int]) -> RoomLeft:
    least = min(fit, default=0)
    full = rooms[fit.index(least)][0].material if len(fit) > 1 else ""
    return RoomLeft(design, least, bool(fit) and least >= MOST_MORE, full)


def typical_plate(pieces: Sequence[Piece]) -> list[Piece]:
    """Give the first copies of the parts of the plate whose parts have boxes of the median area in all.

    >>> typical_plate([])
    []
    """
    plates = grouped((piece.plate, piece) for piece in pieces if piece.copy == 1)
    ranked = sorted((sum(_box_area(p) for p in parts), plate) for plate, parts in plates.items())
    return plates[ranked[len(ranked) // 2][1]] if ranked else []


def _box_area(piece: Piece) -> float:
    box = bounds(piece.region)
    return box.width * box.height


class _MaterialJob:
    def __init__(self, layout: Layout, request: NestRequest, material: str, store: NestStore) -> None:
        self.material, self.store, self.rules = material, store, request.rules(material)
        self.to_buy = sizes_of(request.stock, material, self.rules)
        self.buyer = Buyer(self.to_buy, self.rules, engine_of(request.keys.engine, store))
        self.sheets: Purchase = [
            (_blank_of(sheet, self.rules), sheet.placements) for sheet in layout.sheets if sheet.material == material
        ]
        laid = {at.key for _, rows in self.sheets for at in rows}
        self.pieces = [piece for piece in request.pieces if piece.key in laid]
        self.area = sum(p.region.area for p in self.pieces)
        self.density = self.area / sum(b.width * b.height for b, _ in self.sheets)

    def figures(self) -> MaterialQuote:
        """Give the figures; the proof is about what is bought, for the parts that lie on it."""
        by_key = {piece.key: piece for piece in self.pieces}
        bought = [(blank, rows) for blank, rows in self.sheets if not blank.on_hand]
        on_bought = [by_key[at.key] for _, rows in bought for at in rows]
        proof = prove(on_bought, self.to_buy, self.rules, bought)
        return MaterialQuote(
            self.material,
            tuple(alone for size in self.to_buy if (alone := self._alone(size)) is not None),
            len(self.sheets),
            total_cost(self.sheets)[0],
            self.density,
            proof.sheets,
            proof.cost,
            proof.needed_density,
        )

    def _alone(self, size: Blank) -> SizeAlone | None:
        """Say how many sheets of one size it would take; None when some part does not fit it."""
        if len(fitting(self.pieces, [size], self.rules)) < len(self.pieces):
            return None
        if {(b.stock, b.on_hand) for b, _ in self.sheets} == {(size.stock, False)}:
            sheets, exact = len(self.sheets), True
        elif len(self.pieces) <= EXACT:
            sheets, exact = len(self.buyer.fill(self.pieces, size)), True
        else:
            sheets, exact = -int(-self.area // (self.density * size.width * size.height)), False
        cost = round(sheets * size.price, 6)
        return SizeAlone(size.stock, size.width, size.height, size.price, sheets, cost, exact)

    def room_for(self, more: Sequence[Piece]) -> float:
        """Give about how often the parts `more` would fill the area that is left."""
        left = sum(b.width * b.height for b, _ in self.sheets) - self.area
        return float(left / sum(p.region.area for p in more))

    def still_fit(self, more: Sequence[Piece], most: int) -> int:
        """Count how often the parts `more` still go onto the sheets, at most `most` times."""
        cell = cell_side([b for b, _ in self.sheets], self.rules.gap)
        masks = PartMasks([*self.pieces, *more], self.rules, cell, self.store)
        tables, added = self._tables(masks), range(len(self.pieces), len(masks.pieces))
        finders = {index: [Finder(table, masks.of(index)) for table in tables] for index in added}
        for n in range(most):
            for index, own in finders.items():
                if not any(place(finder, index, masks) for finder in own):
                    return n
        return most

    def _tables(self, masks: PartMasks) -> list[Table]:
        """Lay out the roomiest sheets; one that cannot be taken up exactly counts as full."""
        tables = []
        position = {piece.key: i for i, piece in enumerate(self.pieces)}
        for blank, rows in self._roomiest(position):
            table = open_table(blank, self.rules, masks.cell)
            if table is not None and all(_put_again(table, position[at.key], masks, at) for at in rows):
                tables.append(table)
        return tables

    def _roomiest(self, position: Mapping[PieceKey, int]) -> Purchase:
        """Give the sheets with most room left, in their order."""
        left = [
            blank.width * blank.height - sum(self.pieces[position[at.key]].region.area for at in rows)
            for blank, rows in self.sheets
        ]
        chosen = sorted(sorted(range(len(left)), key=lambda i: -left[i])[:ROOMIEST])
        return [self.sheets[i] for i in chosen]

    def cost_of(self, more: Sequence[Piece], times: int) -> float:
        """Give the price of the sheets that many more pieces need."""
        numbers = range(1, times + 1)
        copies = [replace(p, copy=copy, region=shifted(p.region, 0.0, 0.0)) for p in more for copy in numbers]
        return total_cost(self.buyer.buy(copies))[0] if self.to_buy else 0.0


_Room: TypeAlias = tuple[_MaterialJob, list[Piece]]


def _more(count: int, rooms: Sequence[_Room], fit: Sequence[int]) -> float:
    """Give what `count` more names cost: what does not fit on the sheets already needed goes onto new ones."""
    costs = (job.cost_of(more, count - n) for (job, more), n in zip(rooms, fit, strict=True) if n < count)
    return round(sum(costs, 0.0), 6)


def _put_again(table: Table, index: int, masks: PartMasks, at: Placement) -> bool:
    """Lay a piece where a layout says, with the mask there is where it lies on whole cells."""
    mask = masks.turned(index, at.turn)
    corner = (at.x + mask.x0 - mask.shift[0], at.y + mask.y0 - mask.shift[1])
    exact = [(c - o) / table.cell for c, o in zip(corner, table.origin, strict=True)]
    x, y = (round(v) for v in exact)
    if max(abs(exact[0] - x), abs(exact[1] - y)) > ON_CELLS:
        return put_at(table, index, masks, at)
    table.put(index, mask, (x, y), shifted(mask.outline, at.x, at.y), at)
    return True


def _blank_of(sheet: SheetLayout, rules: Rules) -> Blank:
    """Give the empty sheet that a layout's sheet was."""
    return with_usable(Blank(**sheet.of_stock), rules)
