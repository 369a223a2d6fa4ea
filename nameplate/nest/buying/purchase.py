"""Which sheets to buy: the cheapest combination of sizes that really nests, and how much cheaper it could ever be.

Method: an integer programme (HiGHS, through scipy; all combinations where they are few) finds the cheapest
combination whose area would do at the density that nests of these parts reach; the combination is then really nested;
when something is left over, the programme is told that this combination and all smaller ones do not do, and asked
again, until it finds nothing cheaper than the best that did.

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
from nameplate.nest.buying.bounds import NOISE, grown_area
from nameplate.nest.layout import Piece, Placement
from nameplate.nest.rectangles import Packed
from nameplate.nest.sheets import Blank, Rules, fitting
from nameplate.system.shelf import stored

Purchase: TypeAlias = list[tuple[Blank, tuple[Placement, ...]]]

#: An engine packs pieces onto given sheets, in order, and says what is left over.
Engine: TypeAlias = Callable[[Sequence[Piece], Sequence[Blank], Rules], Packed]

#: Up to so many combinations of counts are all looked at; with more the integer programme is quicker, though loading
#: its solver alone takes half a second.
MOST_COMBINATIONS = 50_000

#: Sheets of one size that a programme may ask for at most.
MOST_SHEETS = 10_000

#: How much denser (a factor) than the fullest sheet so far a combination may have to be to be worth a try. Higher
#: tries more combinations that turn out too small.
HOPE = 1.01

#: How much denser (a factor) than the fullest of those that turned out too small the next combination may have to be.
#: Higher spends more tries on combinations that fail in the same way.
LEARN = 1.04

#: A combination on which this share of the parts' area found no place, or less, is worth nesting in other orders.
NEARLY = 0.04

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
    pieces: Sequence[Piece],
    sizes: Sequence[Blank],
    rules: Rules,
    engine: Engine,
    start: Purchase,
    tries: int,
    *,
    harder: Engine | None = None,
) -> Purchase:
    """Look for a combination of sizes that is cheaper than `start`, nesting at most `tries` of them.

    What `engine` nearly got onto a combination is given to the engine that tries `harder`. What a combination too small
    came to tells how dense the next one may have to be.
    """
    if len(sizes) < 2 or not pieces or not start or total_cost(start)[0] == 0:
        return start
    best = start
    parts_area = sum(p.region.area for p in pieces)
    density = HOPE * fullest(pieces, start)
    refused: list[tuple[int, ...]] = []
    reached = 0.0
    for _ in range(tries):
        counts = _cheapest_counts(sizes, parts_area / density, refused, total_cost(best)[0] - CENT)
        if counts is None:
            break
        blanks = [size for size, n in zip(sizes, counts, strict=True) for _ in range(n)]
        blanks.sort(key=lambda b: -b.usable.area)
        packed = engine(pieces, blanks, rules)
        left = sum(pieces[i].region.area for i in packed.left)
        if packed.left and harder is not None and left <= NEARLY * parts_area:
            packed = harder(pieces, blanks, rules)
        if packed.left:
            refused.append(counts)
            over = [pieces[i] for i in packed.left]
            if len(fitting(over, blanks, rules)) == len(over):  # it was room that lacked, not a larger size
                reached = max(reached, (parts_area - left) / sum(b.usable.area for b in blanks))
                density = min(density, LEARN * reached)
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
    few = _combinations(_most_of(sizes, area, refused, most))
    if few is not None:
        return _cheapest_of(few, sizes, area, refused, most)
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


def _most_of(sizes: Sequence[Blank], area: float, refused: Sequence[tuple[int, ...]], most: float) -> list[int]:
    """Give for each size how many of it the cheapest combination may have: more would be in vain, or cost too much."""
    enough = [
        max(math.ceil(area / size.usable.area), *(counts[i] + 1 for counts in refused), 0)
        for i, size in enumerate(sizes)
    ]
    return [min(n, int(most / size.cost + NOISE)) if size.cost else n for n, size in zip(enough, sizes, strict=True)]


def _combinations(most: Sequence[int]) -> Array | None:
    """Give every combination of whole numbers from 0 to `most`, (n, k); None when there are too many."""
    if math.prod(n + 1 for n in most) > MOST_COMBINATIONS:
        return None
    return np.indices([n + 1 for n in most]).reshape(len(most), -1).T.astype(float)


def _cheapest_of(
    counts: Array, sizes: Sequence[Blank], area: float, refused: Sequence[tuple[int, ...]], most: float
) -> tuple[int, ...] | None:
    """Give what `_cheapest_counts` does, out of the given combinations, (n, k)."""
    costs, usable = (np.array(values) for values in ([s.cost for s in sizes], [s.usable.area for s in sizes]))
    good = (counts @ usable >= area * (1 - NOISE)) & (counts @ costs <= most)
    for smaller in refused:
        good &= (counts > np.array(smaller)).any(axis=1)
    counts = counts[good]
    if not len(counts):
        return None
    return tuple(int(n) for n in counts[np.lexsort((counts @ usable, np.round(counts @ costs, 6)))[0]])


def _solve(goal: Array, rows: Array, low: Array, high: Array, upper: Array) -> Array | None:
    """Minimise goal . n over whole numbers 0 <= n <= upper with low <= rows n <= high; None when there are none."""
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


def prove(pieces: Sequence[Piece], sizes: Sequence[Blank], rules: Rules, purchase: Purchase) -> Proof:
    """Bound what any purchase of these sizes needs, and say what density a cheaper one would take.

    >>> prove([], [], Rules(gap=1, edge=5), [])
    Proof(sheets=0, cost=0.0, needed_density=None)
    """
    if not pieces or not sizes:
        return Proof(0, 0.0, None)
    grown = sum(grown_area(stored(p, "region"), rules.gap) for p in pieces)
    rooms = []
    for size in sizes:
        box = bounds(size.usable)
        rooms.append((box.width + rules.gap) * (box.height + rules.gap))
    costs = np.array([size.cost for size in sizes])
    fewest, cheapest = (_least(goal, np.array(rooms), grown * (1 - NOISE)) for goal in (np.ones(len(sizes)), costs))
    return Proof(round(fewest), round(cheapest, 6), _needed_density(pieces, sizes, total_cost(purchase)[0]))


def _least(goal: Array, rooms: Array, need: float) -> float:
    """Give the least goal . n of whole numbers n with rooms . n >= need; 0 when there are none within reason."""
    few = _combinations([math.ceil(need / room) for room in rooms])
    if few is not None:
        return float((few @ goal)[few @ rooms >= need].min())
    found = _solve(goal, rooms[None, :], np.array([need]), np.array([np.inf]), np.full(len(goal), float(MOST_SHEETS)))
    return 0.0 if found is None else float(found @ goal)


def _needed_density(pieces: Sequence[Piece], sizes: Sequence[Blank], cost: float) -> float | None:
    """Give the density at which the parts would fit the largest area to be had for less than `cost`."""
    priced = [size for size in sizes if size.cost > 0]
    if len(priced) < len(sizes) or cost <= 0:
        return None
    areas = np.array([size.width * size.height for size in sizes])
    costs = np.array([size.cost for size in sizes])
    few = _combinations([int((cost - CENT) / size.cost) for size in sizes])
    if few is not None:
        area = float((few @ areas)[few @ costs <= cost - CENT].max(initial=0.0))
    else:
        most = _solve(
            -areas, costs[None, :], np.array([0.0]), np.array([cost - CENT]), np.full(len(sizes), float(MOST_SHEETS))
        )
        area = 0.0 if most is None else float(most @ areas)
    return sum(p.region.area for p in pieces) / area if area > 0 else None
