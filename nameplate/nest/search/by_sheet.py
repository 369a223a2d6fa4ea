"""Nesting sheet by sheet: each sheet is filled in several ways, and the best filling stays before the next is begun.

Method: a sheet is filled in every way from the parts still waiting. The filling stays that leaves least to do, measured
by the convex hulls of the parts left over; where some take every part, the one that reaches least far. (By plain area,
spidery parts were left for last, which nest badly.) One order for all sheets must be lucky on each of them; here each
sheet has its own luck.

Known limit: a sheet filled well may leave parts that nest badly; the caller compares with a nest made otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from nameplate.geometry.region import hull
from nameplate.nest.layout import Piece, Placement
from nameplate.nest.rectangles import Packed
from nameplate.nest.search.budget import NEST, SearchBudget
from nameplate.nest.search.filling import fill
from nameplate.nest.search.orders import FillingOrder, filling_orders
from nameplate.nest.search.part_masks import NestStore, PartMasks, cell_side
from nameplate.nest.search.table import Table, open_table
from nameplate.nest.sheets import Blank, Rules


def pack_shapes(
    pieces: Sequence[Piece],
    blanks: Sequence[Blank],
    rules: Rules,
    budget: SearchBudget = NEST,
    *,
    store: NestStore | None = None,
) -> Packed:
    """Pack pieces by their true shape onto the given sheets, one after the other, each filled in several ways.

    >>> pack_shapes([], [], Rules(gap=1, edge=5))
    Packed(placements=(), left=())
    """
    masks = PartMasks(pieces, rules, cell_side(blanks, rules.gap), store)
    rows: list[tuple[Placement, ...]] = []
    waiting = list(range(len(pieces)))
    work = [hull(piece.region).area for piece in pieces]
    barren: set[int] = set()  # sheets, by identity, that took none of the parts still waiting
    for blank in blanks:
        table, rest = (None, waiting) if id(blank) in barren else _filled(blank, waiting, masks, budget, work)
        if len(rest) == len(waiting):
            barren.add(id(blank))
        waiting = rest
        rows.append(table.placements if table else ())
    return Packed(tuple(rows), tuple(waiting))


def _filled(
    blank: Blank, waiting: list[int], masks: PartMasks, budget: SearchBudget, work: Sequence[float]
) -> tuple[Table | None, list[int]]:
    """Fill one sheet in every way; give the best filling and who found no place. `work` is that of each piece (mm2)."""
    if not waiting:
        return None, waiting
    best = (math.inf, math.inf)
    kept: Table | None = None
    rest = waiting
    for table, left in _fillings(blank, _ways(waiting, masks, budget), masks):
        rank = (sum(work[i] for i in left), table.used)
        if rank < best:
            best, kept, rest = rank, table, sorted(left)
        if budget.first_whole and not left:
            break
    return kept, rest


def _ways(waiting: Sequence[int], masks: PartMasks, budget: SearchBudget) -> list[FillingOrder]:
    """Give the ways to lay some pieces, none twice: of a few pieces most orders by chance are the same ones."""
    found: dict[tuple[tuple[bytes, ...], int, int], FillingOrder] = {}
    for way in filling_orders([masks.pieces[i] for i in waiting], budget, len(masks.rules.turns)):
        order = [waiting[n] for n in way.order]
        found.setdefault((tuple(map(masks.digest, order)), way.leeway, way.choice), way._replace(order=order))
    return list(found.values())


def _fillings(blank: Blank, ways: Sequence[FillingOrder], masks: PartMasks) -> Iterator[tuple[Table, list[int]]]:
    """Fill one sheet in each way; give it and who found no place. No way is followed once it is longer than another."""
    within = math.inf
    for way in ways:
        table = open_table(blank, masks.rules, masks.cell)
        if table is None:
            return
        left = fill(table, way, masks, within=within)
        if not left:
            within = min(within, table.used)
        if table.parts:
            yield table, left
