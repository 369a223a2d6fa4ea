"""How good a purchase is: what none can go below, and the density that anything cheaper would need.

Method: the counts of sheets that have the least sum (`counts.py`), with the proven area of each part and each sheet,
and a sheet for each part that lies with no other like it on any size (`bounds.py`). The bound is weak, so a certificate
stands beside it: the density that anything cheaper would need.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nameplate.geometry.region import Array, bounds
from nameplate.nest.buying.bounds import grown_area, needs_a_sheet
from nameplate.nest.buying.counts import Limit, least_counts
from nameplate.nest.buying.purchase import CENT, Purchase, total_cost
from nameplate.nest.layout import Piece
from nameplate.nest.sheets import Blank, Rules
from nameplate.system.shelf import stored


@dataclass(frozen=True, slots=True)
class Proof:
    """How good a purchase is.

    No purchase can have fewer than `sheets` sheets or cost less than `cost`. Anything cheaper than the purchase would
    need parts to cover `needed_density` of its sheets (None when nothing cheaper can be bought at all).
    """

    sheets: int
    cost: float
    needed_density: float | None


def prove(pieces: Sequence[Piece], sizes: Sequence[Blank], rules: Rules, purchase: Purchase) -> Proof:
    """Bound what any purchase of these sizes needs, and say what density a cheaper one would take.

    >>> prove([], [], Rules(gap=1, edge=5), [])
    Proof(sheets=0, cost=0.0, needed_density=None)
    """
    if not pieces or not sizes:
        return Proof(0, 0.0, None)
    grown = sum(grown_area(stored(p, "region"), rules.gap) for p in pieces)
    boxes = [bounds(size.usable) for size in sizes]
    rooms = np.array([(box.width + rules.gap) * (box.height + rules.gap) for box in boxes])
    costs = np.array([size.cost for size in sizes])
    whole = [(size.width, size.height, rules.edge, rules.turns) for size in sizes]
    alone = 0 if rules.free else sum(all(needs_a_sheet(piece, *size) for size in whole) for piece in pieces)
    return Proof(
        round(_least(np.ones(len(sizes)), rooms, grown, alone)),
        round(_least(costs, rooms, grown, alone), 6),
        _needed_density(pieces, sizes, total_cost(purchase)[0]),
    )


def _least(goal: Array, rooms: Array, need: float, sheets: int) -> float:
    """Give the least sum of `goal` with which sheets have the room that is needed (mm2), and are so many or more."""
    limits = [Limit(rooms, least=need), Limit(np.ones(len(rooms)), least=sheets)]
    counts = least_counts(goal, limits, [max(sheets, math.ceil(need / room)) for room in rooms])
    return 0.0 if counts is None else float(goal @ counts)


def _needed_density(pieces: Sequence[Piece], sizes: Sequence[Blank], cost: float) -> float | None:
    """Give the density at which the parts would fit the largest area to be had for less than `cost`."""
    if cost <= 0 or any(size.cost <= 0 for size in sizes):
        return None
    areas = np.array([size.width * size.height for size in sizes])
    costs = np.array([size.cost for size in sizes])
    counts = least_counts(-areas, [Limit(costs, most=cost - CENT)], [int(cost / size.cost) for size in sizes])
    area = 0.0 if counts is None else float(areas @ counts)
    return sum(p.region.area for p in pieces) / area if area > 0 else None
