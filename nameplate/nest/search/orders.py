"""Orders in which parts are laid down, and how freely the placer may depart from them.

A *way* is an order with its *leeway*: how far right of the leftmost spot the placer looks for more contact.

Method: the largest parts first; then the same with sizes changed at random (seeded), each a little better or worse than
the rule, so that the best of some is better than it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from nameplate.geometry.region import bounds, hull
from nameplate.nest.layout import Piece
from nameplate.nest.search.budget import SearchBudget

#: Spots within this many columns of the leftmost count as equally far left. Wider seeks contact, narrower seeks left.
LEEWAY = 8

#: The same where the next part is chosen among several, in turn. Of five sets of 50 names with quarter turns the best
#: of three ways was 2 % shorter with 16 and 8 than the best of two with 32 and 64, in the same time.
LEEWAYS = (2 * LEEWAY, LEEWAY)

#: The same where so many parts wait that one way is all there is time for, and they fill the sheet: three nests of 200
#: names were 2 % shorter with 32 than with 16.
WIDE_LEEWAY = 4 * LEEWAY

#: Shapes the next part is chosen among. Nests of 50 names were 5 % shorter with 6 than in the order itself (1), 6 %
#: with 12, 8 % with 24; the time grows from twice to six times that of the order itself.
AMONG = 16

#: How much a part's size is changed at random, as a share, before ordering by it. Nests of orders shuffled so much were
#: at most 1 % longer on average than the best of four by rule; shuffled by 0.1 no shorter. More was not tried.
SHUFFLE = 0.25


class FillingOrder(NamedTuple):
    """An order of pieces (their positions), its leeway (columns), and among how many the next one is chosen."""

    order: list[int]
    leeway: int = LEEWAY
    choice: int = 1


def largest_first(pieces: Sequence[Piece]) -> list[int]:
    """Order pieces by the area of their box, largest first; equal ones as given."""
    boxes = [bounds(p.region) for p in pieces]
    return sorted(range(len(pieces)), key=lambda i: (-round(boxes[i].width * boxes[i].height, 6), i))


def filling_orders(pieces: Sequence[Piece], budget: SearchBudget, turns: int) -> list[FillingOrder]:
    """Give the ways to lay pieces, each with so many `turns`, that a budget allows.

    The largest first, then shuffled (seeded), which do about as well on average, each better for some pieces. Orders
    of equal outlines are all the same, so those come in one order, with every leeway.
    """
    by_box = largest_first(pieces)
    if not budget.choose:
        return [FillingOrder(by_box)]
    # half of few parts, so that their order matters
    choice = min(AMONG, -(-len(pieces) // 2))
    sizes = [box.width * box.height for box in (bounds(piece.region) for piece in pieces)]
    if len({(round(size), round(hull(p.region).area)) for size, p in zip(sizes, pieces, strict=True)}) < 2:
        return [FillingOrder(by_box, leeway, choice) for leeway in (WIDE_LEEWAY, *LEEWAYS)]
    count = budget.looks // (len(pieces) * turns)
    ways = [FillingOrder(by_box, LEEWAYS[0] if count > 1 else WIDE_LEEWAY, choice)]
    rng = np.random.default_rng(0)
    for n in range(1, count):
        wild = 1 + rng.uniform(-SHUFFLE, SHUFFLE, len(pieces))
        order = sorted(by_box, key=lambda i: (-round(sizes[i] * float(wild[i]), 6), i))
        ways.append(FillingOrder(order, LEEWAYS[n % len(LEEWAYS)], choice))
    return ways
