"""What to tell a person before ordering: each sheet size alone, the best mix, how good it is, and what more would cost.

Terms. The *typical plate* is the one whose parts have the median area; one or ten more names are taken to be like it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from nameplate.geometry.collision_set import shifted
from nameplate.nest.buying.purchase import Engine, prove, total_cost
from nameplate.nest.layout import Layout, Piece, PieceKey, Placement, SheetLayout
from nameplate.nest.nesting import buy, engine_of, fill
from nameplate.nest.search.effort import Sheets
from nameplate.nest.search.trueshape import PlacedPart, Stamps, Store, Table, cell_side, open_table, place, put_at
from nameplate.nest.sheets import Blank, Offcut, Rules, fitting, rules_of, sizes_of, usable_region
from nameplate.ticket.schema import NestKeys, StockKeys

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
class Quote:
    """What a job needs, what one and ten more names would cost, and how many still fit on the sheets it needs.

    `still_fit_more` says that even more than `still_fit` would fit.
    """

    materials: tuple[MaterialQuote, ...]
    cost: float
    one_more: float
    ten_more: float
    still_fit: int
    still_fit_more: bool


def quote(
    layout: Layout,
    pieces: Sequence[Piece],
    stock: Sequence[StockKeys],
    keys: NestKeys,
    *,
    kerf: Mapping[str, float] | None = None,
    grain: Collection[str] = (),
    offcuts: Sequence[Offcut] = (),
    stores: dict[str, Store] | None = None,
    coarse: Collection[str] = (),
) -> Quote:
    """Work out a quote for a layout that `nest` made of the same pieces and stock.

    With the `stores` of that nest nothing is prepared twice; `coarse` as for that nest.

    >>> quote(Layout(), [], [], NestKeys()).cost
    0.0
    """
    typical = typical_plate(pieces)
    stores = {} if stores is None else stores
    figures, rooms = [], []
    for material in sorted({s.material for s in layout.sheets}):
        rules = rules_of(keys, (kerf or {}).get(material, 0.0), grain=material in grain, coarse=material in coarse)
        store, to_buy = stores.setdefault(material, Store()), sizes_of(stock, material, rules)
        job = _Job(layout, pieces, material, rules, to_buy, engine_of(keys.engine, store), store)
        figures.append(job.figures())
        rooms.append((job, [p for p in typical if p.material == material]))
    rooms = sorted(((job, more) for job, more in rooms if more), key=lambda room: room[0].room_for(room[1]))
    fit: list[int] = []
    for job, more in rooms:  # the tightest first: more than that is not asked of the others
        fit.append(job.still_fit(more, max(10, min(fit, default=MOST_MORE))))
    return Quote(
        tuple(figures),
        round(sum((f.cost for f in figures), 0.0), 6),
        _more(1, rooms, fit),
        _more(10, rooms, fit),
        min(fit, default=0),
        bool(fit) and min(fit) >= MOST_MORE,
    )


def quote_record(found: Quote) -> dict[str, Any]:
    """Give a quote as plain values for JSON."""
    return asdict(found)


def typical_plate(pieces: Sequence[Piece]) -> list[Piece]:
    """Give the first copies of the parts of the plate whose parts have the median area.

    >>> typical_plate([])
    []
    """
    areas: dict[str, float] = {}
    for piece in pieces:
        if piece.copy == 1:
            areas[piece.plate] = areas.get(piece.plate, 0.0) + piece.region.area
    ranked = sorted(areas, key=lambda plate: (areas[plate], plate))
    return [p for p in pieces if p.copy == 1 and p.plate == ranked[len(ranked) // 2]] if ranked else []


class _Job:
    """One material of a layout."""

    def __init__(
        self,
        layout: Layout,
        pieces: Sequence[Piece],
        material: str,
        rules: Rules,
        to_buy: list[Blank],
        engine: Engine,
        store: Store,
    ) -> None:
        self.rules, self.to_buy, self.material = rules, to_buy, material
        self.sheets: Sheets = [
            (_blank_of(sheet, rules), sheet.placements) for sheet in layout.sheets if sheet.material == material
        ]
        laid = {at.key for _, rows in self.sheets for at in rows}
        self.pieces = [piece for piece in pieces if piece.key in laid]
        self.store, self.engine = store, engine
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
            sheets, exact = len(fill(self.pieces, size, self.rules, self.engine)), True
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
        stamps = Stamps(
            [*self.pieces, *more], self.rules, cell_side([b for b, _ in self.sheets], self.rules.gap), self.store
        )
        tables = self._tables(stamps)
        for n in range(most):
            for index in range(len(self.pieces), len(stamps.pieces)):
                mine = stamps.of(index)
                if not any(place(t, index, stamps.pieces[index], mine) for t in tables):
                    return n
        return most

    def _tables(self, stamps: Stamps) -> list[Table]:
        """Lay out the roomiest sheets; one that cannot be taken up exactly counts as full."""
        tables = []
        position = {piece.key: i for i, piece in enumerate(self.pieces)}
        for blank, rows in self._roomiest(position):
            table = open_table(blank, self.rules, stamps.cell)
            laid = [table is not None and _put_again(table, position[at.key], stamps, at) for at in rows]
            if table is not None and all(laid):
                tables.append(table)
        return tables

    def _roomiest(self, position: Mapping[PieceKey, int]) -> Sheets:
        """Give the sheets with most room left, in their order."""
        left = [
            blank.width * blank.height - sum(self.pieces[position[at.key]].region.area for at in rows)
            for blank, rows in self.sheets
        ]
        chosen = sorted(sorted(range(len(left)), key=lambda i: -left[i])[:ROOMIEST])
        return [self.sheets[i] for i in chosen]

    def cost_of(self, more: Sequence[Piece], times: int) -> float:
        """Give the price of the sheets that many more pieces need."""
        copies = [
            Piece(p.plate, p.kind, copy, p.layer, p.material, shifted(p.region, 0.0, 0.0))
            for p in more
            for copy in range(1, times + 1)
        ]
        return total_cost(buy(copies, self.to_buy, self.rules, self.engine))[0] if self.to_buy else 0.0


def _more(count: int, rooms: Sequence[tuple[_Job, list[Piece]]], fit: Sequence[int]) -> float:
    """Give what `count` more names cost: what does not fit on the sheets already needed goes onto new ones."""
    costs = (job.cost_of(more, count - n) for (job, more), n in zip(rooms, fit, strict=True) if n < count)
    return round(sum(costs, 0.0), 6)


def _put_again(table: Table, index: int, stamps: Stamps, at: Placement) -> bool:
    """Lay a piece where a layout says, with the stamp there is where it lies on whole cells."""
    stamp = stamps.turned(index, at.turn)
    corner = (at.x + stamp.x0 - stamp.shift[0], at.y + stamp.y0 - stamp.shift[1])
    exact = [(c - o) / table.cell for c, o in zip(corner, table.origin, strict=True)]
    x, y = (round(v) for v in exact)
    if max(abs(exact[0] - x), abs(exact[1] - y)) > ON_CELLS:
        return put_at(table, index, stamps.pieces[index], stamps.die(index), at)
    table.put(PlacedPart(index, stamp, x, y, at, -1), shifted(stamp.outline, at.x, at.y))
    return True


def _blank_of(sheet: SheetLayout, rules: Rules) -> Blank:
    return Blank(
        sheet.stock,
        sheet.material,
        sheet.width,
        sheet.height,
        sheet.price,
        sheet.on_hand,
        sheet.offcut,
        sheet.outline,
        sheet.keep_outs,
        usable_region(sheet.width, sheet.height, sheet.outline, sheet.keep_outs, rules),
    )
