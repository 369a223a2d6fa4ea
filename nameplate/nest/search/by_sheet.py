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
from nameplate.nest.layout import Piece
from nameplate.nest.search.orders import FillingOrder, among, other_ways
from nameplate.nest.search.trueshape import Stamps, Table, greedy
from nameplate.nest.sheets import Blank, Rules


def fill_each(
    pieces: Sequence[Piece],
    blanks: Sequence[Blank],
    rules: Rules,
    *,
    stamps: Stamps,
    tried: int,
    enough: bool = False,
) -> tuple[list[Table | None], list[int]]:
    """Fill sheets one after the other, each in several ways, the next part always chosen among several.

    A sheet has as many ways as look at the pieces still waiting about `tried` times, each turn counted, and at least
    one. Gives the tables and who is left. With `enough` the first filling that takes every piece left does, however
    long.

    >>> fill_each([], [], Rules(gap=1, edge=5), stamps=Stamps([], Rules(gap=1, edge=5), 0.5), tried=0)
    ([], [])
    """
    tables: list[Table | None] = []
    waiting = list(range(len(pieces)))
    work = [hull(piece.region).area for piece in pieces]
    barren: set[int] = set()  # sheets, by identity, that took none of the parts still waiting
    for blank in blanks:
        if not waiting:
            break
        if id(blank) in barren:
            tables.append(None)
            continue
        mine = [pieces[i] for i in waiting]
        some = [
            FillingOrder([waiting[n] for n in order], leeway)
            for order, leeway in other_ways(mine, tried // (len(mine) * len(rules.turns)))
        ]
        best = (math.inf, math.inf)
        kept: Table | None = None
        rest = waiting
        for table, left in _fillings(pieces, blank, rules, some, stamps):
            rank = (sum(work[i] for i in left), table.used)
            if rank < best:
                best, kept, rest = rank, table, sorted(left)
            if enough and not left:
                break
        if len(rest) == len(waiting):
            barren.add(id(blank))
        waiting = rest
        tables.append(kept)
    return tables, waiting


def _fillings(
    pieces: Sequence[Piece], blank: Blank, rules: Rules, ways: Sequence[FillingOrder], stamps: Stamps
) -> Iterator[tuple[Table, list[int]]]:
    """Fill one sheet in each way; give it and who found no place. No way is followed once it is longer than another."""
    within = math.inf
    for order, leeway in ways:
        tables, left = greedy(
            pieces, [blank], rules, order, stamps=stamps, leeway=leeway, among=among(order), within=within
        )
        if tables and (table := tables[0]):
            if not left:
                within = min(within, table.used)
            yield table, left
