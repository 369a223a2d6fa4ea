"""Which sheets to buy: the cheapest combination of sizes that really nests.

Method: each size is tried alone, pieces too large for it go to the other sizes, and the cheapest stays; the last
sheet's parts go on a cheaper size when they fit there. Then the cheapest counts of sheets (`counts.py`) whose area
would do at the density that nests of these parts reach are really nested; when something is left over, that combination
and all smaller ones are ruled out and the next is asked for, until none is cheaper than the best that did.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from nameplate.nest.buying.counts import NOISE, Limit, least_counts
from nameplate.nest.layout import Piece, Placement
from nameplate.nest.rectangles import Packed
from nameplate.nest.search.budget import LARGEST_FIRST, SearchBudget
from nameplate.nest.sheets import Blank, Rules, fitting, sorted_out

Purchase: TypeAlias = list[tuple[Blank, tuple[Placement, ...]]]

#: An engine packs pieces onto given sheets, in order, within a budget, and says what is left over.
Engine: TypeAlias = Callable[[Sequence[Piece], Sequence[Blank], Rules, SearchBudget], Packed]

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

#: Combinations of sizes that are really nested in search of a cheaper one.
MIXES = 5

#: Pieces of a very large job that are nested on every size to see which is cheapest.
SAMPLE = 120

#: With more pieces than this, no combinations are tried: each takes as long as the nest itself, and gains less.
MANY = 300


def total_cost(purchase: Purchase) -> tuple[float, float, int]:
    """Rank a purchase: cost, then area bought (mm2), then number of sheets.

    >>> total_cost([])
    (0.0, 0.0, 0)
    """
    area = float(sum(blank.width * blank.height for blank, _ in purchase))
    return round(sum((blank.cost for blank, _ in purchase), 0.0), 6), area, len(purchase)


@dataclass(frozen=True, slots=True)
class Buyer:
    """Buys sheets of some sizes: by an engine, within a `budget`; what nearly fits within that `again`, where given."""

    sizes: Sequence[Blank]
    rules: Rules
    engine: Engine
    budget: SearchBudget = LARGEST_FIRST
    again: SearchBudget | None = None

    def buy(self, pieces: Sequence[Piece]) -> Purchase:
        """Lay pieces, each of which fits some size, on the cheapest combination of sizes found."""
        bought = self._last_sheet_cheaper(self._cheapest(pieces, self.sizes), pieces)
        return self.cheaper_mix(pieces, bought) if len(pieces) <= MANY else bought

    def fill(self, pieces: Sequence[Piece], size: Blank) -> Purchase:
        """Lay pieces, each of which fits, on as many sheets of one size as it takes."""
        count = 2 + int(8 * sum(p.region.area for p in pieces) / size.usable.area)
        while True:
            packed = self.engine(pieces, [size] * count, self.rules, self.budget)
            if not packed.left:
                return packed.on([size] * count)
            count *= 2

    def _cheapest(self, pieces: Sequence[Piece], sizes: Sequence[Blank]) -> Purchase:
        """Buy mainly one size, whichever is cheapest; what does not fit it goes to the others in the same way."""
        if not pieces:
            return []
        if len(pieces) > MANY and len(sizes) > 1:
            sizes = self._likeliest_only(pieces, sizes)
        offers = []
        for size in sizes:
            mine, rest = sorted_out(pieces, [size], self.rules)
            others = [s for s in sizes if s is not size]
            if mine and (not rest or len(fitting(rest, others, self.rules)) == len(rest)):
                offers.append(self.fill(mine, size) + self._cheapest(rest, others))
        return min(offers, key=total_cost)

    def _likeliest_only(self, pieces: Sequence[Piece], sizes: Sequence[Blank]) -> Sequence[Blank]:
        """Leave out the sizes that a sample of very many pieces shows to be dearer, as far as the pieces fit without.

        What a size costs is judged by its price for the area that parts cover on the fullest sheet of the sample.
        """
        sample = [pieces[i] for i in range(0, len(pieces), -(-len(pieces) // SAMPLE))]
        prices = []
        for n, size in enumerate(sizes):
            if mine := fitting(sample, [size], self.rules):
                covered = fullest(mine, self.fill(mine, size)) * size.usable.area
                prices.append((round((size.cost or size.width * size.height) / covered, 9), n))
        best = [sizes[min(prices)[1]]] if prices else list(sizes)
        return best if len(fitting(pieces, best, self.rules)) == len(pieces) else sizes

    def _last_sheet_cheaper(self, purchase: Purchase, pieces: Sequence[Piece]) -> Purchase:
        """Put the parts of the emptiest sheet on the cheapest size that takes them all."""
        if not purchase:
            return purchase
        by_key = {piece.key: piece for piece in pieces}
        at = min(range(len(purchase)), key=lambda i: (sum(by_key[p.key].region.area for p in purchase[i][1]), -i))
        blank, rows = purchase[at]
        others, mine = [*purchase[:at], *purchase[at + 1 :]], [by_key[p.key] for p in rows]
        for size in sorted(self.sizes, key=_price):
            if _price(size) >= _price(blank):
                break
            packed = self.engine(mine, [size], self.rules, self.budget)
            if not packed.left:
                return [*others, (size, packed.placements[0])]
        return [*others, purchase[at]]

    def cheaper_mix(self, pieces: Sequence[Piece], start: Purchase) -> Purchase:
        """Look for a combination of sizes that is cheaper than `start`, nesting a few of them.

        What nearly fits a combination is nested on it again. What a combination too small came to tells how dense the
        next one may have to be.
        """
        if len(self.sizes) < 2 or not pieces or not start or total_cost(start)[0] == 0:
            return start
        best = start
        parts_area = sum(p.region.area for p in pieces)
        density = HOPE * fullest(pieces, start)
        refused: list[tuple[int, ...]] = []
        reached = 0.0
        for _ in range(MIXES):
            counts = cheapest_counts(self.sizes, parts_area / density, refused, total_cost(best)[0] - CENT)
            if counts is None:
                break
            blanks = [size for size, n in zip(self.sizes, counts, strict=True) for _ in range(n)]
            blanks.sort(key=lambda b: -b.usable.area)
            packed = self._packed(pieces, blanks, NEARLY * parts_area)
            if not packed.left:
                best = packed.on(blanks)
                continue
            refused.append(counts)
            over = [pieces[i] for i in packed.left]
            if len(fitting(over, blanks, self.rules)) == len(over):  # it was room that lacked, not a larger size
                laid = parts_area - sum(piece.region.area for piece in over)
                reached = max(reached, laid / sum(b.usable.area for b in blanks))
                density = min(density, LEARN * reached)
        return best

    def _packed(self, pieces: Sequence[Piece], blanks: Sequence[Blank], nearly: float) -> Packed:
        """Pack pieces on sheets, and again where at most `nearly` mm2 of them are left over."""
        packed = self.engine(pieces, blanks, self.rules, self.budget)
        if packed.left and self.again and sum(pieces[i].region.area for i in packed.left) <= nearly:
            return self.engine(pieces, blanks, self.rules, self.again)
        return packed


def _price(size: Blank) -> tuple[float, float]:
    return size.cost, size.width * size.height


def fullest(pieces: Sequence[Piece], purchase: Purchase) -> float:
    """Give the density of the fullest sheet: what sheets of these parts come to when there are enough of them."""
    area = {piece.key: piece.region.area for piece in pieces}
    return float(max(sum(area[at.key] for at in rows) / blank.usable.area for blank, rows in purchase))


def cheapest_counts(
    sizes: Sequence[Blank], area: float, refused: Sequence[tuple[int, ...]], most: float
) -> tuple[int, ...] | None:
    """Give the cheapest counts of sizes with at least `area` usable mm2, for at most `most`, none of them refused."""
    costs, usable = (np.array(values) for values in ([s.cost for s in sizes], [s.usable.area for s in sizes]))
    # more of a size than this would be in vain, or cost too much
    enough = [
        max(math.ceil(area / size.usable.area), *(counts[i] + 1 for counts in refused), 0)
        for i, size in enumerate(sizes)
    ]
    upper = [min(n, int(most / s.cost + NOISE)) if s.cost else n for n, s in zip(enough, sizes, strict=True)]
    # area breaks ties between equal costs: the smaller purchase
    goal = costs + 1e-9 * usable / max(usable)
    return least_counts(goal, [Limit(usable, least=area), Limit(costs, most=most)], upper, refused)
