"""Filling one sheet: parts are laid at their best spots (`best_spot.py`) until none of those that wait finds one.

Method: parts come in a given order; or the next is chosen among the first few shapes that wait, whichever touches most
of what lies near it. The raster only proposes: exact distances between true outlines decide.

Any usable region serves, whatever its outline; no part lies in the hole of another, which is cut before it. No clock
and no unseeded chance is involved: the same pieces give the same layout.

Known limit: positions are whole cells, so a spot that fits by less than a cell may be missed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import islice
from operator import itemgetter

from nameplate.nest.layout import placement
from nameplate.nest.search.best_spot import Finder, Spot
from nameplate.nest.search.orders import LEEWAY, FillingOrder
from nameplate.nest.search.part_masks import PartMasks
from nameplate.nest.search.table import Table
from nameplate.system.grouping import grouped

#: What a part as large as the mean counts against contact when the next part is chosen. More lays large parts first.
BULK = 0.06


def place(finder: Finder, index: int, masks: PartMasks, *, leeway: int = LEEWAY) -> bool:
    """Lay a piece on its finder's table at the best spot there is; False when there is none.

    A finder that has laid such a piece before goes on from there.
    """
    if (spot := finder.best(leeway)) is not None:
        _lay(finder.table, index, masks, spot)
    return spot is not None


def _lay(table: Table, index: int, masks: PartMasks, spot: Spot) -> None:
    at = placement(masks.pieces[index], spot.dx, spot.dy, spot.mask.turn)
    table.put(index, spot.mask, (spot.x, spot.y), spot.outline, at)


def fill(table: Table, way: FillingOrder, masks: PartMasks, *, within: float = math.inf) -> list[int]:
    """Lay pieces on a table while they find a spot; give those that found none, in order.

    Of the first `way.choice` shapes still waiting the one goes next that touches most of what lies near it, with some
    favour for large ones. Nothing more is laid once the table is used further than `within` mm: a filling that is
    already longer than another need not be finished.
    """
    waiting = grouped((masks.digest(index), index) for index in way.order)
    finders: dict[bytes, Finder] = {}
    full: set[bytes] = set()

    def offers() -> Iterator[tuple[float, bytes, Spot]]:
        for shape, indices in waiting.items():
            if shape in full:
                continue
            if shape not in finders:
                finders[shape] = Finder(table, masks.of(indices[0]))
            if (spot := finders[shape].best(way.leeway)) is None:
                full.add(shape)
            else:
                yield spot.contact + BULK * masks.bulk(indices[0]), shape, spot

    while table.used <= within:
        best = max(islice(offers(), way.choice), key=itemgetter(0), default=None)
        if best is None:
            break
        _, shape, spot = best
        _lay(table, waiting[shape].pop(0), masks, spot)
        if not waiting[shape]:
            del waiting[shape]
    left = {index for indices in waiting.values() for index in indices}
    return [index for index in way.order if index in left]
