"""An order of stops made shorter move by move: 2-opt and Or-opt over neighbour lists, or another way past one stop."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import TypeAlias

import numpy as np

from nameplate.geometry.planar import Complex, as_points
from nameplate.geometry.region import Array

#: What must come after something else of an order, by number.
Followers: TypeAlias = Mapping[int, Sequence[int]]

#: How many of the stops nearest to a stop may come beside it: more find little and cost as much each.
NEIGHBOURS = 8

#: Longest stretch of stops that Or-opt moves elsewhere (Or, 1976).
STRETCH = 3

#: How many stops the stretches that are swapped to get out of a local optimum span at most.
SPAN = 20

#: Less (mm) is no gain: far below what matters, far above rounding.
_GAIN = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Stop:
    """Something to pass: for each way (k,) the point where it begins and ends (mm), and what it costs besides (mm).

    The ways of a stop whose ends differ must be two, each the other one backwards.
    """

    entries: Complex
    exits: Complex
    costs: Array


class LocalSearch:
    """An order of stops, each passed one way, while it is made shorter; `looks` is how many edges it may look at still.

    The places before the first and after the last stop hold two stops of their own, which no move touches.
    """

    def __init__(
        self,
        stops: Sequence[Stop],
        blocks: Sequence[int],
        ends: Sequence[complex],
        order: Sequence[int],
        ways: Sequence[int],
        later: Followers,
        looks: int,
    ) -> None:
        count = len(stops)
        self.sequence = [count, *order, count + 1]
        self.place = [0] * (count + 2)
        for place, stop in enumerate(self.sequence):
            self.place[stop] = place
        self.ins: list[complex] = [0j] * count + list(ends)
        self.outs = list(self.ins)
        for stop, way in zip(order, ways, strict=True):
            self.ins[stop], self.outs[stop] = complex(stops[stop].entries[way]), complex(stops[stop].exits[way])
        self.block = blocks
        self.later = later
        self.near = _neighbours(self.ins[:count], self.outs[:count], blocks)
        self.looks = looks
        self.stops = stops
        self.ways = dict(zip(order, ways, strict=True))
        self.undo: list[Callable[[], None]] = []

    @property
    def order(self) -> list[int]:
        """The stops as they are passed now."""
        return self.sequence[1:-1]

    # --- searching --------------------------------------------------------------------------------------------------

    def improve(self, stops: Iterable[int]) -> float:
        """Move what makes the way shorter, beginning at some stops, until nothing does; give what was saved (mm)."""
        saved, count = 0.0, len(self.sequence) - 2
        queue = list(dict.fromkeys(stop for stop in stops if stop < count))
        queued = set(queue)
        while queue and self.looks > 0:
            stop = queue.pop()
            queued.discard(stop)
            gain, touched = self._passed_otherwise(stop) or self._two_opt(stop) or self._or_opt(stop) or (0.0, ())
            saved += gain
            for other in touched:
                if other < count and other not in queued:
                    queue.append(other)
                    queued.add(other)
        return saved

    def shake(self, kicks: int) -> None:
        """Swap adjacent stretches here and there; keep what ends up shorter.

        Of few stops the same stretches are chosen again and again: what was taken back once would be again, for as many
        looks, as long as nothing was kept since.
        """
        count = len(self.sequence) - 2
        in_vain: dict[tuple[int, int, int], int] = {}
        for low, middle, high in _kicks(count, kicks) if count > STRETCH else ():
            left = self.looks
            if left <= 0 or not self._may_swap(low, middle, high):
                continue
            if in_vain.get((low, middle, high), left) < left:
                self.looks -= in_vain[low, middle, high]
                continue
            self.undo.clear()
            touched = [self.sequence[k] for k in (low - 1, low, middle - 1, middle, high, high + 1)]
            longer = self._swapped(low, middle, high)
            if self.improve(touched) <= longer + _GAIN:
                for back in self.undo[::-1]:
                    back()
                in_vain[low, middle, high] = left - self.looks
            else:
                in_vain.clear()

    def _passed_otherwise(self, a: int) -> tuple[float, tuple[int, ...]] | None:
        """Pass a stop that is left where it is entered in another of its ways, if that is shorter."""
        stop, way, i = self.stops[a], self.ways[a], self.place[a]
        if self.ins[a] != self.outs[a]:
            return None
        self.looks -= 2
        b, z = self.sequence[i + 1], self.sequence[i - 1]
        lengths = np.abs(stop.entries - self.outs[z]) + np.abs(stop.entries - self.ins[b]) + stop.costs
        best = int(lengths.argmin())
        gain = float(lengths[way] - lengths[best])
        if gain <= _GAIN:
            return None
        self._enter(a, best)
        return gain, (a, b, z)

    def _two_opt(self, a: int) -> tuple[float, tuple[int, ...]] | None:
        """Turn a stretch that begins or ends at a stop, if that is shorter; tell the gain and whose edges changed."""
        sequence, place, ins, outs = self.sequence, self.place, self.ins, self.outs
        i = place[a]
        b, z = sequence[i + 1], sequence[i - 1]
        ahead, behind = abs(outs[a] - ins[b]), abs(outs[z] - ins[a])
        for c, apart in self.near[a]:
            if apart >= ahead and apart >= behind:
                break  # the edge to it would be longer than either that it could replace
            self.looks -= 2
            j = place[c]
            d, y = sequence[j + 1], sequence[j - 1]
            gain = ahead + abs(outs[c] - ins[d]) - abs(outs[a] - outs[c]) - abs(ins[b] - ins[d])
            if gain > _GAIN:
                low, high = (i + 1, j) if i < j else (j + 1, i)
                if self._may_turn(low, high):
                    self._turn(low, high)
                    return gain, (a, b, c, d)
            gain = behind + abs(outs[y] - ins[c]) - abs(outs[z] - outs[y]) - abs(ins[a] - ins[c])
            if gain > _GAIN:
                low, high = (i, j - 1) if i < j else (j, i - 1)
                if self._may_turn(low, high):
                    self._turn(low, high)
                    return gain, (a, z, c, y)
        return None

    def _or_opt(self, a: int) -> tuple[float, tuple[int, ...]] | None:
        """Move a short stretch that begins or ends at a stop beside a near one, if that is shorter."""
        ins, outs, sequence = self.ins, self.outs, self.sequence
        for low, high in _stretches(self.place[a], len(sequence) - 2):
            p, f, g, q = sequence[low - 1], sequence[low], sequence[high], sequence[high + 1]
            saved = abs(outs[p] - ins[f]) + abs(outs[g] - ins[q]) - abs(outs[p] - ins[q])
            if self.block[f] != self.block[g] or saved <= _GAIN:
                continue
            for c, apart in self.near[a]:
                if apart >= saved:
                    break
                gain, touched = self._put_beside(low, high, self.place[c], saved)
                if touched:
                    return gain, (p, f, g, q, *touched)
        return None

    def _put_beside(self, low: int, high: int, place: int, saved: float) -> tuple[float, tuple[int, ...]]:
        """Move a stretch before or behind the stop at a place, if that adds less than taking it out has saved."""
        ins, outs, sequence = self.ins, self.outs, self.sequence
        first, last = ins[sequence[low]], outs[sequence[high]]
        for left in (place - 1, place):
            if low - 1 <= left <= high:
                continue
            self.looks -= 1
            y, e = sequence[left], sequence[left + 1]
            edge = abs(outs[y] - ins[e])
            straight = abs(outs[y] - first) + abs(last - ins[e]) - edge
            turned = abs(outs[y] - last) + abs(first - ins[e]) - edge
            gain = saved - min(straight, turned)
            if gain > _GAIN and self._moved(low, high, left, turned=turned < straight):
                return gain, (y, e)
        return 0.0, ()

    # --- moving -----------------------------------------------------------------------------------------------------

    def _enter(self, a: int, way: int) -> None:
        """Enter and leave a stop at one place of its own."""
        self.undo.append(partial(self._enter, a, self.ways[a]))
        self.ways[a] = way
        self.ins[a] = self.outs[a] = complex(self.stops[a].entries[way])

    def _turn(self, low: int, high: int) -> None:
        """Turn the stretch of places from `low` to `high`: what was entered is left."""
        ins, outs, place = self.ins, self.outs, self.place
        self.undo.append(partial(self._turn, low, high))
        self.sequence[low : high + 1] = self.sequence[low : high + 1][::-1]
        for k in range(low, high + 1):
            stop = self.sequence[k]
            place[stop] = k
            ins[stop], outs[stop] = outs[stop], ins[stop]

    def _moved(self, low: int, high: int, left: int, *, turned: bool) -> bool:
        """Move the stretch from `low` to `high` behind the place `left`; False, and nothing done, where it may not."""
        a, m, b = (low, high + 1, left) if left > high else (left + 1, low, high)
        if not self._may_swap(a, m, b) or (turned and not self._may_turn(low, high)):
            return False
        self._swap(a, m, b)
        if turned:
            length = high - low
            at = left - length if left > high else left + 1
            self._turn(at, at + length)
        return True

    def _swap(self, low: int, middle: int, high: int) -> None:
        """Swap the stretches of places [low, middle) and [middle, high]."""
        self._turn(low, high)
        split = low + high - middle
        self._turn(low, split)
        self._turn(split + 1, high)

    def _swapped(self, low: int, middle: int, high: int) -> float:
        """Swap two stretches and tell by how much (mm) that is longer."""
        z, a, b, c, d, q = (self.sequence[k] for k in (low - 1, low, middle - 1, middle, high, high + 1))
        ins, outs = self.ins, self.outs
        was = abs(outs[z] - ins[a]) + abs(outs[b] - ins[c]) + abs(outs[d] - ins[q])
        now = abs(outs[z] - ins[c]) + abs(outs[d] - ins[a]) + abs(outs[b] - ins[q])
        self._swap(low, middle, high)
        return now - was

    # --- what may be moved ------------------------------------------------------------------------------------------

    def _may_turn(self, low: int, high: int) -> bool:
        return not self._has_pair(low, high + 1, low, high)

    def _may_swap(self, low: int, middle: int, high: int) -> bool:
        same_block = self.block[self.sequence[low]] == self.block[self.sequence[high]]
        return same_block and not self._has_pair(low, middle, middle, high)

    def _has_pair(self, low: int, end: int, first: int, last: int) -> bool:
        """Tell whether a stop in the places [low, end) must come before one in the places [first, last]."""
        place, later = self.place, self.later
        return bool(later) and any(first <= place[b] <= last for a in self.sequence[low:end] for b in later.get(a, ()))


@lru_cache(maxsize=64)
def _kicks(count: int, kicks: int) -> tuple[tuple[int, int, int], ...]:
    """Choose stretches of so many stops to swap, [low, middle) and [middle, high]; many jigs have as many stops."""
    rng = random.Random(1)
    found = []
    for _ in range(kicks):
        first = rng.randrange(1, count - 1)
        low, middle, high = sorted(rng.sample(range(first, min(count, first + SPAN) + 1), 3))
        found.append((low, middle, high))
    return tuple(found)


def _stretches(i: int, last: int) -> Iterator[tuple[int, int]]:
    """Yield the short stretches of places (from, to) that begin or end at place `i`, within 1 and `last`.

    >>> list(_stretches(2, 3))
    [(2, 2), (2, 3), (1, 2)]
    """
    for more in range(STRETCH):
        if i + more <= last:
            yield i, i + more
        if more and i - more >= 1:
            yield i - more, i


def _neighbours(
    ins: Sequence[complex], outs: Sequence[complex], blocks: Sequence[int]
) -> list[list[tuple[int, float]]]:
    """Give for each stop those of its block whose ends lie nearest to one of its own, nearest first, and how near."""
    from scipy.spatial import KDTree

    near: list[list[tuple[int, float]]] = [[] for _ in ins]
    for number in sorted(set(blocks)):
        members = [stop for stop, block in enumerate(blocks) if block == number]
        sides = [[ends[k] for k in members] for ends in (ins, outs)]
        sides = sides[:1] if sides[0] == sides[1] else sides
        ends = as_points(np.concatenate(sides))
        nearest = range(1, 1 + min(len(ends), (NEIGHBOURS + 1) * len(sides)))
        apart, found = (np.asarray(column) for column in KDTree(ends).query(ends, k=nearest))
        others = np.concatenate(np.split(found % len(members), len(sides)), axis=1)
        ways = np.concatenate(np.split(apart, len(sides)), axis=1)
        for stop, row, far in zip(members, others.tolist(), ways.tolist(), strict=True):
            least: dict[int, float] = {}
            for way, other in sorted(zip(far, row, strict=True)):
                least.setdefault(members[other], way)
            least.pop(stop, None)
            near[stop] = list(least.items())[:NEIGHBOURS]
    return near
