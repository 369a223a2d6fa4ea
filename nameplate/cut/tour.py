"""A short way with the beam off past a number of stops, each of which may be passed in several ways.

Stops come in blocks, one block after the other, and a stop may have to come before another one of its block. Method:
the nearest neighbour begins, by the stops' middles. Then, in turns, a local search (2-opt and Or-opt over neighbour
lists, or another way past one stop, with a queue of the stops still to be looked at), and the best ways for the order
that it ends in, exactly, by dynamic programming. At last adjacent stretches are swapped here and there, and what
the local search does not make shorter than it was is taken back (iterated local search).

Known limits: the way is a few per cent longer than the shortest; past MOST_LOOKS the order stays as it is by then.

Where heat is to be spread, what was just cut cools before the beam comes near it again: an order is taken apart for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from nameplate.cut.local_search import Followers, LocalSearch, Stop
from nameplate.system.grouping import grouped

#: Turns of local search and dynamic programming; later ones save less than a thousandth.
TURNS = 3

#: How often stretches are swapped to get out of a local optimum.
KICKS = 300

#: Most edges that one tour looks at: bounds the work, some seconds, whatever the input.
MOST_LOOKS = 5_000_000


@dataclass(frozen=True, slots=True)
class Visit:
    """Which stop comes next, by its number, and in which of its ways it is passed."""

    stop: int
    way: int


def short_tour(
    stops: Sequence[Stop],
    blocks: Sequence[int],
    begin: complex,
    end: complex,
    *,
    before: Iterable[tuple[int, int]] = (),
    turns: int = TURNS,
    kicks: int = KICKS,
) -> tuple[Visit, ...]:
    """Order stops for a short way from `begin` past all of them to `end`; the same input gives the same order.

    `blocks` (n,) says which block each stop is in; they come by rising number. Pairs of `before` are stops of one block
    of which the first must come before the second; there must be no circle of them.

    >>> short_tour([], [], 0j, 0j)
    ()
    """
    if not stops:
        return ()
    later = grouped((a, b) for a, b in before if blocks[a] == blocks[b])
    order = _nearest_neighbour(stops, blocks, begin, later)
    ways = best_ways(stops, order, begin, end)
    looks = MOST_LOOKS
    for turn in range(turns):
        search = LocalSearch(stops, blocks, [begin, end], order, ways, later, looks)
        search.improve(order)
        if turn == turns - 1:
            search.shake(kicks)
        order, looks = search.order, search.looks
        ways = best_ways(stops, order, begin, end)
    return tuple(map(Visit, order, ways))


def _nearest_neighbour(stops: Sequence[Stop], blocks: Sequence[int], begin: complex, later: Followers) -> list[int]:
    """Order stops by always going to the middle that is nearest among those that may come next."""
    middles = np.array([stop.entries.mean() for stop in stops])
    block, waits = np.asarray(blocks), np.zeros(len(stops), dtype=int)
    for second in chain(*later.values()):
        waits[second] += 1
    order: list[int] = []
    at = begin
    for number in sorted(set(blocks)):
        left = np.flatnonzero(block == number)
        far = np.where(waits[left] > 0, np.inf, 0.0)
        places = {int(stop): k for k, stop in enumerate(left)} if later else {}
        for _ in range(len(left)):
            k = int(np.argmin(np.abs(middles[left] - at) + far))
            stop, far[k] = int(left[k]), np.inf
            order.append(stop)
            at = complex(middles[stop])
            for other in later.get(stop, ()):
                waits[other] -= 1
                far[places[other]] = 0.0 if not waits[other] else np.inf
    return order


def best_ways(stops: Sequence[Stop], order: Sequence[int], begin: complex, end: complex) -> list[int]:
    """Give the ways to pass stops in a given order that cost least together, by dynamic programming."""
    cost, at = np.zeros(1), np.array([begin])
    back = []
    for number in order:
        stop = stops[number]
        reach = cost[:, None] + np.abs(at[:, None] - stop.entries)
        back.append(reach.argmin(axis=0))
        cost, at = reach.min(axis=0) + stop.costs, stop.exits
    way = int(np.argmin(cost + np.abs(at - end)))
    ways = []
    for origins in reversed(back):
        ways.append(way)
        way = int(origins[way])
    return ways[::-1]


def spread(
    order: Sequence[int],
    boxes: Sequence[tuple[float, float, float, float]],
    before: Iterable[tuple[int, int]],
    apart: float,
) -> list[int]:
    """Reorder lines so that each lies at least `apart` mm from the one before it, or as far from it as any can.

    `order` are the lines' numbers along a short way, `boxes` (x0, y0, x1, y1) those round them, in that order; the
    first of those far enough along the way comes next. Pairs of `before` stay in their order.

    >>> spread([7, 8, 9], [(0, 0, 1, 1), (2, 0, 3, 1), (40, 0, 41, 1)], [], 20)
    [7, 9, 8]
    """
    places = {line: place for place, line in enumerate(order)}
    pairs = [(places[first], places[second]) for first, second in before if first in places and second in places]
    later, waits = grouped(pairs), np.zeros(len(order), dtype=int)
    for _, second in pairs:
        waits[second] += 1
    around = np.array(boxes, dtype=float).reshape(-1, 4)
    left = np.ones(len(order), dtype=bool)
    spread_out: list[int] = []
    at = 0
    while left.any():
        spread_out.append(order[at])
        left[at] = False
        waits[later.get(at, [])] -= 1
        at = _next(around, at, left & (waits == 0), apart)
    return spread_out


def _next(boxes: np.ndarray, last: int, free: np.ndarray, apart: float) -> int:
    """Give the first free line far enough from the last one, else the one that is farthest from it."""
    gaps = np.maximum(boxes[:, :2] - boxes[last, 2:], boxes[last, :2] - boxes[:, 2:]).clip(min=0)
    far = np.where(free, np.hypot(gaps[:, 0], gaps[:, 1]), -1.0)
    enough = np.flatnonzero(far >= apart)
    return int(enough[0]) if len(enough) else int(np.argmax(far))
