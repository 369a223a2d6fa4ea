"""Orders in which parts are laid down: the greedy nest depends on little else.

An order comes with its *leeway*: how far right of the leftmost spot the placer looks for more contact.

Method: the largest parts first, by a few measures of size; then the same with sizes changed at random (seeded), each a
little better or worse than the rules, so that the best of some is better than they are.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from nameplate.geometry.region import bounds, hull
from nameplate.nest.layout import Piece

#: Spots within this many columns of the leftmost count as equally far left. Wider seeks contact, narrower seeks left.
LEEWAY = 8

#: How much a part's size is changed at random, as a share, before ordering by it. Nests of orders shuffled so much were
#: at most 1 % longer on average than the best of four by rule; shuffled by 0.1 no shorter. More was not tried.
SHUFFLE = 0.25


def largest_first(pieces: Sequence[Piece]) -> list[int]:
    """Order pieces by the area of their box, largest first; equal ones as given."""
    boxes = [bounds(p.region) for p in pieces]
    return sorted(range(len(pieces)), key=lambda i: (-round(boxes[i].width * boxes[i].height, 6), i))


def orders(pieces: Sequence[Piece]) -> list[list[int]]:
    """Give orders worth trying: by area of the box, and by area of the part, largest first."""
    by_box = largest_first(pieces)
    rank = {index: n for n, index in enumerate(by_box)}
    by_area = sorted(by_box, key=lambda i: (-round(pieces[i].region.area, 6), rank[i]))
    return [by_box] if by_area == by_box else [by_box, by_area]


def other_ways(pieces: Sequence[Piece], tried: int = 0) -> list[tuple[list[int], int]]:
    """Give ways to nest that do about as well on average, each better for some pieces: orders, each with its leeway.

    First two by rule, then shuffled ones (seeded), so many that about `tried` pieces are laid down in all of these.
    """
    by_box = largest_first(pieces)
    hulls = [hull(piece.region).area for piece in pieces]
    by_hull = sorted(by_box, key=lambda i: -round(hulls[i], 6))
    ways = [(by_hull, 2 * LEEWAY), (by_box, 4 * LEEWAY)]
    sizes = [box.width * box.height for box in (bounds(piece.region) for piece in pieces)]
    if len(set(zip((round(size) for size in sizes), (round(area) for area in hulls), strict=True))) < 2:
        return ways  # any other order of equal outlines is the same
    rng = np.random.default_rng(0)
    for n in range(tried // max(1, len(pieces))):
        wild = 1 + rng.uniform(-SHUFFLE, SHUFFLE, len(pieces))
        order = sorted(by_box, key=lambda i: (-round(sizes[i] * float(wild[i]), 6), i))
        ways.append((order, LEEWAY * 2 ** (n % 3)))
    return ways
