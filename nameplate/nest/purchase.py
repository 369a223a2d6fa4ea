"""Which sheets to buy: the cheapest combination of sizes that really nests, and how much cheaper it could ever be.

Method: an integer programme (HiGHS, through scipy) finds the cheapest combination whose area would do at the density
that nests of these parts reach; the combination is then really nested; when something is left over, the programme is
told that this combination and all smaller ones do not do, and asked again, until it finds nothing cheaper than the best
that did.

Lower bound: the same programme with the proven area of each part and each sheet (see `bounds`) instead of a density.
The bound is weak, so a certificate stands beside it: the density that anything cheaper would need.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from nameplate.geometry.region import Array, bounds
from nameplate.nest.bounds import NOISE, grown_area
from nameplate.nest.layout import Piece, Placement
from nameplate.nest.rectangles import Packed
from nameplate.nest.sheets import Blank, Rules

Purchase: TypeAlias = list[tuple[Blank, tuple[Placement, ...]]]

#: An engine packs pieces onto given sheets, in order, and says what is left over.
Engine: TypeAlias = Callable[[Sequence[Piece], Sequence[Blank], Rules], Packed]

#: Sheets of one size that a programme may ask for at most.
MOST_SHEETS = 10_000

#: How much denser (a factor) than the fullest sheet so far a combination may have to be to be worth a try. Higher
#: tries more combinations that turn out too small.
HOPE = 1.01

#: A cheaper purchase must save at least this much; prices have two decimals.
CENT = 0.005


@dataclass(frozen=True, slots=True)
class Proof:
    """How good a purchase is.

    No purchase can have fewer than `sheets` sheets or cost less than `cost`. Anything cheaper than the purchase would
    need parts to cover `needed_density` of its sheets (None when nothing cheaper can be bought at all).
    """

    sheets: int
    cost: float
    needed_density: float | None


def total_cost(purchase: Purchase) -> tuple[float, float, int]:
    """Rank a purchase: cost, then area bought (mm2), then number of sheets.

    >>> total_cost([])
    (0.0, 0.0, 0)
    """
    area = float(sum(blank.width * blank.height for blank, _ in purchase))
    return round(sum((blank.cost for blank, _ in purchase), 0.0), 6), area, len(purchase)


def cheaper_mix(
    pieces: Sequence[Piece], sizes: Sequence[Blank], rules: Rules, engine: Engine, start: Purchase, tries: int
) -> Purchase:
    """Look for a combination of sizes that is cheaper than `start`, nesting at most `tries` of them."""
    if len(sizes) < 2 or not pieces or not start or total_cost(start)[0] == 0:
        return start
    best = start
    parts_area = sum(p.region.area for p in pieces)
    density = HOPE * fullest(pieces, start)
    refused: list[tuple[int, ...]] = []
    for _ in range(tries):
        counts = _cheapest_counts(sizes, parts_area / density, refused, total_cost(best)[0] - CENT)
        if counts is None:
            break
        blanks = [size for size, n in zip(sizes, counts, strict=True) for _ in range(n)]
        blanks.sort(key=lambda b: -b.usable.area)
        packed = engine(pieces, blanks, rules)
        if packed.left:
            refused.append(counts)
        else:
            best = [(blank, rows) for blank, rows in zip(blanks, packed.placements, strict=True) if rows]
    return best


def fullest(pieces: Sequence[Piece], purchase: Purchase) -> float:
    """Give the density of the fullest sheet: what sheets of these parts come to when there are enough of them."""
    area = {piece.key: piece.region.area for piece in pieces}
    return float(max(sum(area[at.key] for at in rows) / blank.usable.area for blank, rows in purchase))


def _cheapest_counts(
    sizes: Sequence[Blank], area: float, refused: Sequence[tuple[int, ...]], most: float
) -> tuple[int, ...] | None:
    """Give the cheapest counts of sizes with at least `area` usable mm2, none of the refused, at most `most` in cost.

    A refused combination rules out every combination with no more of any size: for each there must be some size of
    which more is taken (a yes-or-no variable for each size).
    """
    k, extra = len(sizes), len(sizes) * len(refused)
    costs = np.array([size.cost for size in sizes] + [0.0] * extra)
    usable = [size.usable.area for size in sizes]
    rows = [usable + [0.0] * extra, list(costs)]
    low, high = [area, -np.inf], [np.inf, most]
    for r, counts in enumerate(refused):
        picks = [0.0] * (k + extra)
        for i, n in enumerate(counts):
            row = [0.0] * (k + extra)
            row[i], row[k + r * k + i] = 1.0, -(n + 1.0)
            rows.append(row)
            low.append(0.0)
            high.append(np.inf)
            picks[k + r * k + i] = 1.0
        rows.append(picks)
        low.append(1.0)
        high.append(np.inf)
    # area breaks ties between equal costs: the smaller purchase
    goal = costs + np.array([1e-9 * u / max(usable) for u in usable] + [0.0] * extra)
    upper = np.array([float(MOST_SHEETS)] * k + [1.0] * extra)
    found = _solve(goal, np.array(rows), np.array(low), np.array(high), upper)
    return None if found is None else tuple(round(v) for v in found[:k])


def _solve(goal: Array, rows: Array, low: Array, high: Array, upper: Array) -> Array | None:
    """Minimise goal . n over whole numbers 0 <= n <= upper with low <= rows n <= high; None when there are none."""
    if len(goal) == 1:
        return _solve_one(float(goal[0]), rows[:, 0], low, high, float(upper[0]))
    from scipy.optimize import Bounds, LinearConstraint, milp

    result = milp(
        goal,
        constraints=LinearConstraint(rows, low, high),
        integrality=np.ones(len(goal), dtype=np.int64),
        bounds=Bounds(np.zeros(len(goal)), upper),
        options={"mip_rel_gap": 0.0},
    )
    if not result.success or result.x is None:
        return None
    values: Array = np.round(np.asarray(result.x, dtype=float))
    return values


def _solve_one(goal: float, rows: Array, low: Array, high: Array, most: float) -> Array | None:
    """Solve for a single number, whose coefficients are above 0: the least or the most that the limits allow."""
    least = math.ceil(max(0.0, float((low / rows).max())) - NOISE)
    most = min(most, math.floor(float((high / rows).min()) + NOISE)) if np.isfinite(high).any() else most
    return None if least > most else np.array([float(least if goal > 0 else most)])


def prove(pieces: Sequence[Piece], sizes: Sequence[Blank], rules: Rules, purchase: Purchase) -> Proof:
    """Bound what any purchase of these sizes needs, and say what density a cheaper one would take.

    >>> prove([], [], Rules(gap=1, edge=5), [])
    Proof(sheets=0, cost=0.0, needed_density=None)
    """
    if not pieces or not sizes:
        return Proof(0, 0.0, None)
    grown = sum(grown_area(p.region, rules.gap) for p in pieces)
    rooms = []
    for size in sizes:
        box = bounds(size.usable)
        rooms.append((box.width + rules.gap) * (box.height + rules.gap))
    need = (np.array([rooms]), np.array([grown * (1 - 1e-9)]), np.array([np.inf]))
    upper = np.full(len(sizes), float(MOST_SHEETS))
    costs = np.array([size.cost for size in sizes])
    fewest = _solve(np.ones(len(sizes)), *need, upper)
    cheapest = _solve(costs, *need, upper)
    return Proof(
        0 if fewest is None else round(float(fewest.sum())),
        0.0 if cheapest is None else round(float(cheapest @ costs), 6),
        _needed_density(pieces, sizes, total_cost(purchase)[0]),
    )


def _needed_density(pieces: Sequence[Piece], sizes: Sequence[Blank], cost: float) -> float | None:
    """Give the density at which the parts would fit the largest area to be had for less than `cost`."""
    priced = [size for size in sizes if size.cost > 0]
    if len(priced) < len(sizes) or cost <= 0:
        return None
    areas = np.array([size.width * size.height for size in sizes])
    costs = np.array([size.cost for size in sizes])
    most = _solve(
        -areas, costs[None, :], np.array([0.0]), np.array([cost - CENT]), np.full(len(sizes), float(MOST_SHEETS))
    )
    area = 0.0 if most is None else float(most @ areas)
    return sum(p.region.area for p in pieces) / area if area > 0 else None
