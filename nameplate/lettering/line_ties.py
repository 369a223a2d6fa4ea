"""Where lines are tied to one another: of all straight ways from a letter of one to a letter of the other the cheapest.

Method. Every point of an outline that sees one of another line may be an end of a tie (`geometry/sight_lines.py`). What
a tie costs is its length; how far it is aside from upright, or from the slant; whether it turns a letter into another
one or prolongs a mark; and how far it runs along letters. Of ties side by side that cost about as much the middle one
is taken. Marks are ends like letters, so that a line stands on the accents of the next where these are what it is near.

Known limit: letters of two lines that do not see one another are linked by the shortest path between them, at a high
cost.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from nameplate.geometry import region as geo
from nameplate.geometry.arc import Arc
from nameplate.geometry.bridge_paths import ABREAST, AS_SHORT, BridgePath, shortest_path, slanted_or
from nameplate.geometry.region import Array, Flags, Indices, Region, Solid
from nameplate.geometry.sight_lines import outline_points, sight_lines

#: A tie between lines costs so many times its length, and so much more for each mm aside: higher links words of a
#: line with each other instead.
LENGTH = 2.5
ASLANT = 2.0

#: What it is longer than this part of the height of letters counts twice: it shows.
SHORT = 0.25

#: Letters that a stroke below (an a a q, an O a Q) or above (an a a d, an n an h) turns into others.
TURNED_BELOW, TURNED_ABOVE = frozenset("anouivOUV"), frozenset("anouiv")

#: An end there or hardly beside it, at a mark, which it prolongs, or below one costs as much as if the tie were longer
#: by this part of the height of letters: more makes long ties, less lets accents and small letters carry what others
#: could.
TURNED = 0.35

#: A tie costs so much more for each mm that it runs along letters, nearer than this part of its width: it drowns them.
ALONG = 3.0
CLEAR = 0.45

#: Ties are looked for in these directions (degrees to the right of the slant), and level: finer ones find none shorter.
TILTS = (-45.0, -30.0, -15.0, 0.0, 15.0, 30.0, 45.0)
LEVEL = 90.0

#: What runs along letters is measured at every so many mm of a tie.
SAMPLED = 0.5


class LineTie(NamedTuple):
    """A tie that may be made: what it costs (at least its length), the solids at its ends, and its path."""

    cost: float
    one: Solid
    other: Solid
    path: BridgePath


class LineTies:
    """All ties that may be made between the lines of a lettering.

    `groups` are its letters, `bodies` the largest solid of each, with its text and its line; `home` says into which
    solid of the whole a letter went; ties are `width` mm wide; `slant` is in degrees.
    """

    def __init__(
        self,
        groups: Sequence[Region],
        bodies: Sequence[Solid],
        texts: Sequence[str],
        lines: Sequence[float],
        home: Sequence[int],
        *,
        width: float,
        slant: float,
        arc: Arc | None = None,
    ) -> None:
        parts = [(part, n) for n, group in enumerate(groups) for part in geo.solids(group)]
        letters = np.array([n for _, n in parts])
        marks = np.array([part.bounds != bodies[n].bounds for part, n in parts])
        self._width, self._solids = width, [part for part, _ in parts]
        self._points, owners = outline_points(self._solids)
        flat = self._points if arc is None else arc.unrolled(self._points)
        ends = _seen_across(flat, owners, np.array(lines)[letters][owners], slant)
        below, above, height = _avoided(flat, owners, letters, marks, texts)
        turned = self._near(ends[:, 0], below[owners]).astype(float) + self._near(ends[:, 1], above[owners])
        costs = LENGTH * (self._lengths(ends, height) + TURNED * height * turned) + ASLANT * _aside(flat[ends], slant)
        pairs = np.sort(np.array(home)[letters][owners[ends]], axis=1)
        order = np.lexsort((costs, pairs[:, 1], pairs[:, 0]))
        self._ends, self._owners, self._costs = ends[order], owners[ends][order], costs[order]
        self._of_pair = _stretches(pairs[order])

    def least(self, i: int, j: int) -> float | None:
        """Give what a tie between two solids of the whole costs at least; None where they do not see one another."""
        found = self._of_pair.get((min(i, j), max(i, j)))
        return None if found is None else float(self._costs[found.start])

    def cheapest(self, i: int, j: int) -> LineTie:
        """Give the cheapest tie between two solids of the whole that see one another."""
        found = self._of_pair[min(i, j), max(i, j)]
        ends, owners, costs = self._ends[found], self._owners[found], self._costs[found]
        places = self._points[ends]
        middles = places.mean(axis=1)
        _, firsts = np.unique(np.column_stack((owners, middles // ABREAST)), axis=0, return_index=True)
        best, least = 0, math.inf
        for n in np.sort(firsts).tolist():
            if costs[n] >= least:
                break
            cost = costs[n] + ALONG * self._along(*places[n])
            if cost < least:
                best, least = n, cost
        alike = (owners == owners[best]).all(axis=1) & (costs <= costs[best] * (1 + AS_SHORT) + AS_SHORT)
        alike &= np.hypot(*(middles - middles[best]).T) < ABREAST
        away = np.hypot(*(middles - middles[alike].mean(axis=0)).T)
        a, b = places[np.argmin(np.where(alike, away, math.inf))].tolist()
        one, other = (self._solids[n] for n in owners[best])
        return LineTie(float(least), one, other, BridgePath(tuple(a), tuple(b), math.dist(a, b)))

    def _lengths(self, ends: Indices, height: float) -> Array:
        """Give the lengths of ties (mm); what is longer than SHORT of the height of letters counts twice."""
        upper, lower = ends.T
        lengths: Array = np.hypot(*(self._points[upper] - self._points[lower]).T)
        return lengths + np.maximum(lengths - SHORT * height, 0.0)

    def _near(self, ends: Indices, avoided: Flags) -> Flags:
        """Tell which ends are at points to avoid, or so near to one that the strip of the tie would meet it."""
        from scipy.spatial import KDTree

        points, places = np.unique(ends, return_inverse=True)
        known = points[avoided[points]]
        if not len(known):
            return np.zeros(len(ends), dtype=bool)
        tree = KDTree(self._points[known])
        far, _ = tree.query(self._points[points], distance_upper_bound=self._width / 2)
        return np.isfinite(far)[places]

    def _along(self, a: Array, b: Array) -> float:
        """Give for how many mm a tie runs along letters, apart from its ends."""
        length, reach = math.dist(a, b), (0.5 + CLEAR) * self._width
        rest = length - 2 * reach
        if rest <= 0:
            return 0.0
        shares = np.linspace(reach, length - reach, math.ceil(rest / SAMPLED) + 1)[:, None] / length
        low, high = np.minimum(a, b) - reach, np.maximum(a, b) + reach
        near = self._points[((self._points > low) & (self._points < high)).all(axis=1)]
        gaps = np.hypot(*(a * (1 - shares) + b * shares - near[:, None]).transpose(2, 0, 1)).min(axis=0)
        return float(np.mean(gaps < reach) * rest)


def _seen_across(flat: Array, owners: Indices, line: Array, slant: float) -> Indices:
    """Give which points see one of another line, (n, 2): that of the upper line, then that of the lower.

    `flat` are the points as they would lie on straight lines, `owners` their solids, and `line` has that of each.
    """
    every = sight_lines(flat, owners, [*(slant + tilt for tilt in TILTS), LEVEL])
    seen: Indices = every[line[every[:, 0]] != line[every[:, 1]]]
    upwards = line[seen[:, 0]] > line[seen[:, 1]]
    seen[upwards] = seen[upwards, ::-1]
    return seen


def _aside(ends: Array, slant: float) -> Array:
    """Give how far (mm) ties go aside, from places (n, 2, 2) to places: of what lies from upright to the slant none."""
    dx, dy = (ends[:, 0] - ends[:, 1]).T
    leaning = dy * math.tan(math.radians(slant))
    aside: Array = np.maximum(np.maximum(dx - np.maximum(leaning, 0.0), np.minimum(leaning, 0.0) - dx), 0.0)
    return aside


def _stretches(pairs: Indices) -> dict[tuple[int, int], slice]:
    """Give by pair where it stands in sorted pairs (n, 2)."""
    every, firsts = np.unique(pairs, axis=0, return_index=True)
    after = [*firsts[1:].tolist(), len(pairs)]
    return {(i, j): slice(*ends) for (i, j), *ends in zip(every.tolist(), firsts.tolist(), after, strict=True)}


def _avoided(
    flat: Array, owners: Indices, letters: Indices, marks: Flags, texts: Sequence[str]
) -> tuple[Flags, Flags, float]:
    """Tell at which solids a tie below, or from above, had better not end; and how high letters are, mm.

    `flat` are the points as they would lie on straight lines; `letters` and `marks` are those of the solids.
    """
    tops, feet = (np.full(len(letters), end) for end in (-math.inf, math.inf))
    np.maximum.at(tops, owners, flat[:, 1])
    np.minimum.at(feet, owners, flat[:, 1])
    body_tops = np.zeros(len(texts))
    body_tops[letters[~marks]] = tops[~marks]
    marked = np.isin(letters, letters[marks & (tops > body_tops[letters])])
    below, above = (
        marks | np.array([bool(texts[n]) and set(texts[n]) <= turned for n in letters])
        for turned in (TURNED_BELOW, TURNED_ABOVE)
    )
    above |= marked
    return below, above, float(np.median((tops - feet)[~marks]))


def unseen(one: Solid, other: Solid, slant: float, arc: Arc | None) -> LineTie:
    """Give a tie between two solids that do not see one another, by the shortest path between them."""
    path = slanted_or(one, other, slant, shortest_path, arc=arc)
    return LineTie(LENGTH * path.length + ASLANT * abs(path.b[0] - path.a[0]), one, other, path)
