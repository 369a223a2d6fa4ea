"""Which parts of a lettering are tied to which, and along which path.

Terms. A *seat* says where a letter stands: its text, its word, its line. A *link* is two solids and the path of the
bridge between them.

Method. Letters of a line are linked with their neighbours only: within a word as a pen would go from one to the next,
between words level and low, as it would leave the last letter: along the baseline, or above a round foot. Lines are
linked where `line_ties.py` finds the cheapest tie. Of all these links a minimum spanning tree is taken (Kruskal 1956),
so that of two words on a stack, each near the line above, neither is linked with the other.

Known limit: a word whose last letter has no ink at any height at which the next word's first has some is linked by the
shortest path.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from heapq import heapify, heappop, heappush
from itertools import combinations, pairwise
from typing import NamedTuple, TypeAlias

from nameplate.geometry import region as geo
from nameplate.geometry.arc import Arc
from nameplate.geometry.box import Box
from nameplate.geometry.bridge_paths import (
    BridgePath,
    joining_path,
    level_path,
    low_path,
    slanted_or,
    upright,
)
from nameplate.geometry.nearby import Index, holds_point, prepare
from nameplate.geometry.region import Region, Solid
from nameplate.lettering.line_ties import LineTie, LineTies, unseen
from nameplate.plain_letters import folded, unaccented

#: Width of a bridge over the minimum web: a bridge is the obvious place to break. Wider looks clumsy.
STOUT = 1.1

#: Signs that stand by themselves on the line, at their own height: a link with one is level.
SIGNS = frozenset(".,:;·•-–—‐‑_+/*=")

#: Signs that hang on the letter beside them, as an accent does.
HANGING = frozenset("'’‘ʼ\"“”„´`")

#: Small letters as tall as a capital that have nothing but a stem beside it.
TALL = frozenset("bhkl")

#: Capitals that reach out to the right at their top and not at their foot: only these may be tied to a tall letter at
#: the top. Any other grows into one letter with it there, U and l into an n.
ARMED = frozenset("FJPTVWYÞ")

#: Small letters that an apostrophe behind them is tied to only where no letter follows: with it an a is a d.
BOWLS = frozenset("aceouáàâäãåéèêëóòôöõúùûü")


#: The tie from an O across its apostrophe is at this part of the O's height: at its foot an O is a Q. Of 37 applied
#: plates of O'Tarrant and its like in five fonts the reader reads 7.2 of 8 showings with it, 6.3 with one at the foot.
O_TIE = 0.4

#: Letters that are round at their right foot: a stroke from there changes them, an O to a Q, an o to a q...
ROUND = frozenset("OQbops")

#: ... so the tie from there to the next word is no lower than at this part of their height. Of 110 applied plates on
#: 110 x 24 mm in five fonts, with such a letter at the end of a word, the reader reads 4.0 of 8 showings with it, 3.0
#: with one at the foot. Where c, e, D and P have it, too, 5.0 of 64 names, at 0.12 4.9 and at 0.3 4.7.
ROUND_TIE = 0.2

#: Small letters that a sign behind them is tied to from below: a level tie closes a c or an e to an o, and makes
#: a t of an l.
OPEN = frozenset("cekltx")

#: That tie begins no higher than at this part of the height of the sign's middle. Of 102 applied plates each on 80 x 20
#: and 110 x 24 mm, hyphens behind such letters in six fonts, the reader reads 3.5 and 3.7 of 8 showings with it,
#: 2.7 and 3.0 with a level one.
FROM_BELOW = 0.55

#: Gives the tie between two parts, told by their positions.
LinkFinder: TypeAlias = Callable[[int, int], LineTie]


class Seat(NamedTuple):
    """Where a letter stands: what it is (empty for what is no letter), its word and line, its baseline (mm)."""

    text: str
    word: int
    line: int
    baseline: float


class Link(NamedTuple):
    """Two solids to be bridged, the path between them, and the letter whose marks they are (-1: none's).

    Whether it goes from a word to the next on its line, or from line to line.
    """

    one: Solid
    other: Solid
    path: BridgePath
    letter: int = -1
    between_words: bool = False
    between_lines: bool = False


class Clusters:
    """Which solids are joined already (a disjoint-set forest)."""

    def __init__(self, count: int) -> None:
        self._parent = list(range(count))

    def root(self, i: int) -> int:
        """Give the solid that stands for all that are joined with this one."""
        while self._parent[i] != i:
            i = self._parent[i]
        return i

    def join(self, i: int, j: int) -> bool:
        """Join two solids; False when they were joined before."""
        a, b = self.root(i), self.root(j)
        self._parent[b] = a
        return a != b


class Homes:
    """Finds the welded solid that a part of a letter went into."""

    def __init__(self, welds: Sequence[Solid]) -> None:
        self._welds = welds
        self._index = Index(welds)

    def of(self, part: Solid) -> int:
        """Give the position of that solid."""
        inside = geo.inner_point(part)
        return next(i for i in self._index.near(part) if holds_point(self._welds[i], inside))


def with_hanging(groups: Sequence[Region], seats: Sequence[Seat]) -> tuple[list[Region], list[Seat]]:
    """Give apostrophes and quotation marks to the nearer letter of their word, as marks of it.

    >>> stem, tick = geo.rectangle(0, 0, 2, 8), geo.rectangle(3, 6, 4, 8)
    >>> len(with_hanging([stem, tick], [Seat("O", 0, 0, 0.0), Seat("’", 0, 0, 0.0)])[0])
    1
    """
    signs = {i: _host(i, groups, seats) for i, seat in enumerate(seats) if seat.text and set(seat.text) <= HANGING}
    hosts = {i: host for i, host in signs.items() if host is not None}
    hung, told = list(groups), list(seats)
    for sign, host in hosts.items():
        first, second = sorted((sign, host))
        hung[host] = geo.union(hung[host], groups[sign])
        told[host] = told[host]._replace(text=told[first].text + told[second].text)
    kept = [i for i in range(len(groups)) if i not in hosts]
    return [hung[i] for i in kept], [told[i] for i in kept]


def _host(sign: int, groups: Sequence[Region], seats: Sequence[Seat]) -> int | None:
    near = [i for i in (sign - 1, sign + 1) if 0 <= i < len(seats) and seats[i].word == seats[sign].word]
    letters = [i for i in near if not set(seats[i].text) <= HANGING | SIGNS]

    def cost(i: int) -> tuple[bool, float]:
        return i < sign and seats[i].text[-1] in BOWLS, geo.distance(groups[sign], groups[i])

    return min(letters, key=cost, default=None)


def links_of(
    welds: Sequence[Solid],
    clusters: Clusters,
    groups: Sequence[Region],
    seats: Sequence[Seat],
    *,
    web: float,
    slant: float,
    arc: Arc | None = None,
) -> list[Link]:
    """Link welded solids, some of them joined already, to one; `groups` are the letters that went into them.

    `web` in mm, `slant` in degrees; letters may stand on an `arc`.
    """
    homes = Homes(welds)
    bodies = [geo.largest(geo.solids(group)) for group in groups]
    home = [homes.of(body) for body in bodies]
    known = []
    for i, j in _neighbours(seats):
        if clusters.root(home[i]) != clusters.root(home[j]):
            path = _between(bodies[i], bodies[j], seats[i], seats[j], web=web, slant=slant, arc=arc)
            link = Link(welds[home[i]], welds[home[j]], path, between_words=seats[i].word != seats[j].word)
            known.append((home[i], home[j], link))
    boxes = [geo.bounds(weld) for weld in welds]
    pairs = [(_least_gap(boxes[i], boxes[j]), i, j) for i, j in _between_lines(home, seats)]
    if (not known and not any(seat.text for seat in seats)) or not pairs:
        return _spanning(welds, clusters, known, pairs, _nearest(welds, slant, arc))
    texts, lines = [seat.text for seat in seats], _own_lines(seats)
    ties = LineTies(groups, bodies, texts, lines, home, width=STOUT * web, slant=slant, arc=arc)
    least = [(ties.least(i, j), gap, i, j) for gap, i, j in pairs]
    pairs = [(gap if cost is None else cost, i, j) for cost, gap, i, j in least]

    def across(i: int, j: int) -> LineTie:
        return unseen(welds[i], welds[j], slant, arc) if ties.least(i, j) is None else ties.cheapest(i, j)

    several = len({seat.line for seat in seats if seat.text}) > 1
    return _spanning(welds, clusters, known, pairs, across, between_lines=several)


def _own_lines(seats: Sequence[Seat]) -> list[float]:
    """Give the line of each letter; what is no letter (a bar) has one of its own, below that where it stands."""
    return [seat.line if seat.text else seat.line + (n + 1) / (len(seats) + 1) for n, seat in enumerate(seats)]


def _nearest(parts: Sequence[Solid], slant: float, arc: Arc | None) -> LinkFinder:
    """Find the path between two parts along the slant, or as a pen goes."""

    def find(i: int, j: int) -> LineTie:
        path = slanted_or(parts[i], parts[j], slant, joining_path, arc=arc)
        return LineTie(path.length, parts[i], parts[j], path)

    return find


def _neighbours(seats: Sequence[Seat]) -> Iterator[tuple[int, int]]:
    """Give the letters that follow one another on a line."""
    letters = [i for i, seat in enumerate(seats) if seat.text]
    return ((i, j) for i, j in pairwise(letters) if seats[i].line == seats[j].line)


def _between_lines(home: Sequence[int], seats: Sequence[Seat]) -> list[tuple[int, int]]:
    """Pair the solids of different lines; `home` is that of each letter. Signs are left to the letters beside them."""
    lines: dict[int, set[int]] = {own: set() for own in home}
    letters: dict[int, bool] = dict.fromkeys(home, False)
    for own, seat in zip(home, seats, strict=True):
        lines[own] |= {seat.line} if seat.text else set()
        letters[own] |= not seat.text or not set(seat.text) <= SIGNS
    lettered = {line for own in lines if letters[own] for line in lines[own]}
    kept = [own for own in sorted(lines) if letters[own] or not lines[own] <= lettered]
    return [(i, j) for i, j in combinations(kept, 2) if not lines[i] & lines[j]]


def _between(
    one: Solid, other: Solid, left: Seat, right: Seat, *, web: float, slant: float, arc: Arc | None
) -> BridgePath:
    """Give the path between two letters: level from word to word and beside a sign, else as a pen goes."""
    signs = {left.text[-1], right.text[0]} & SIGNS
    if signs or left.word != right.word or {left.text[-1], right.text[0]} & HANGING:
        raised = 0.0 if signs else _raised(left, right)

        def level(one: Solid, other: Solid) -> BridgePath:
            lowest = left.baseline + raised * geo.bounds(one).height
            path = level_path(one, other, lowest, STOUT * web, middle=bool(signs))
            if signs and unaccented(left.text)[-1:] in OPEN and path is not None and not path.sag:
                middle = geo.bounds(other).centre[1]
                path = low_path(one, other, left.baseline + FROM_BELOW * (middle - left.baseline)) or path
            return slanted_or(one, other, slant, joining_path) if path is None else path

        return upright(arc, one, other, level)
    first = unaccented(left.text)[-1:]
    tall = first.isupper() and right.text[:1] in TALL
    return upright(arc, one, other, partial(joining_path, tall=tall, armed=first in ARMED))


def _raised(left: Seat, right: Seat) -> float:
    """Give at which part of the height of a letter its tie to the next word, or across its apostrophe, is at least."""
    letter = folded(left.text.rstrip("".join(HANGING)))[-1:]
    if left.word != right.word:
        return ROUND_TIE if letter in ROUND else 0.0
    return O_TIE if letter == "O" else 0.0


def _spanning(
    welds: Sequence[Solid],
    clusters: Clusters,
    known: Sequence[tuple[int, int, Link]],
    pairs: Sequence[tuple[float, int, int]],
    find: LinkFinder,
    *,
    between_lines: bool = False,
) -> list[Link]:
    """Take a minimum spanning tree of some links and of pairs, finding only those links that may be in it.

    Each of `pairs` says what it costs at least, and they all go `between_lines` or not.
    """
    for weld in welds:
        prepare(weld)
    links = [link for _, _, link in known]
    # what it costs, between which solids, and which of the links it is (-1 while it is not found)
    queue = [(link.path.length, i, j, n) for n, (i, j, link) in enumerate(known)]
    queue += [(least, i, j, -1) for least, i, j in pairs]
    heapify(queue)
    chosen = []
    while queue:
        _, i, j, n = heappop(queue)
        if clusters.root(i) == clusters.root(j):
            continue
        if n < 0:
            tie = find(i, j)
            heappush(queue, (tie.cost, i, j, len(links)))
            links.append(Link(tie.one, tie.other, tie.path, between_lines=between_lines))
        elif clusters.join(i, j):
            chosen.append(links[n])
    return chosen


def _least_gap(a: Box, b: Box) -> float:
    return math.hypot(max(a.x0 - b.x1, b.x0 - a.x1, 0.0), max(a.y0 - b.y1, b.y0 - a.y1, 0.0))
