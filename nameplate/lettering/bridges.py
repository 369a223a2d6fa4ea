"""Bridges: strips that tie the loose pieces of a lettering (dots, accents, capitals) to its body.

Method. Weld the letters. Tie each letter's own marks first: a mark to the letter's body, or to the mark it is stacked
on. Then join what is still apart along a minimum spanning tree. A bridge is a capsule from a point well inside one
piece to a point well inside the other, along the slant of the font where that is not much longer than the shortest
path, with small fillets. It never enters a counter (hole) of the letters unless the loose piece itself lies in it.

Known limits: a bridge is straight; it may touch a third piece that lies in its path.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from nameplate import tolerances
from nameplate.geometry import region as geo
from nameplate.geometry.arc import Arc
from nameplate.geometry.box import Box
from nameplate.geometry.bridge_paths import (
    BridgePath,
    anchor,
    crosses,
    edge_path,
    lean,
    not_much_longer,
    shortest_path,
    slanted_or,
    standing,
    touching,
)
from nameplate.geometry.measure import without_dust, without_pinholes
from nameplate.geometry.nearby import holds_point
from nameplate.geometry.region import Region, Solid
from nameplate.geometry.simplify import cleaned, simplified
from nameplate.lettering.diacritics import APART, DAYLIGHT, SLIM, beside, dot_radius, level, readable
from nameplate.lettering.links import (
    SIGNS,
    STOUT,
    Clusters,
    Homes,
    Link,
    Seat,
    links_of,
    with_hanging,
)
from nameplate.lettering.webs import PINHOLE

#: Radius of the fillets of a bridge (mm); larger ones turn short bridges into lumps.
FILLET = 0.6
#: The fillets of a mark's tie are at most this part of its length: larger ones fill the waist that sets the mark apart.
WAIST = 0.25

#: A mark whose path to the body is this much longer than its neighbour's is stacked on that neighbour, if it is higher.
STACKED = 1.35

#: Where two marks side by side have no room for the ties of both, each tie stands aside by this part of its mark's
#: width at most.
ASIDE = 0.3

#: The tie of a dot under so many ties across stands at its right edge, and not below its middle: the one notch that is
#: left beside it shows what two half as deep do not. Larger dots have room for both.
SMALL_DOT = 2.6

#: Crevices between the marks of a letter are filled only where a disc of this radius (mm) cannot enter: any beam can.
FINE = 0.12

#: Fills thinner than twice this (mm) are left-overs of nearly equal edges.
SHAVING = 0.01

#: Pieces smaller than this many square webs are slivers of the welding and are dropped.
SLIVER = 0.05


@dataclass(frozen=True, slots=True)
class Tied:
    """Tied lettering: the whole, the letters in it (dots grown, welded), and each bridge from inside to inside.

    `between_words` are the bridges from a word to the next on its line, `between_lines` is how long (mm) the longest
    one from a line to another is.
    """

    region: Region
    letters: tuple[Region, ...]
    strips: tuple[Region, ...]
    between_words: Region = geo.EMPTY
    between_lines: float = 0.0

    @property
    def count(self) -> int:
        """The number of bridges."""
        return len(self.strips)

    @property
    def bridges(self) -> Region:
        """What the bridges added to the letters."""
        return geo.difference(geo.union(*self.strips), geo.union(*self.letters))


def tie(
    groups: Sequence[Region],
    *,
    web: float,
    slant: float = 0.0,
    pieces: Sequence[int] | None = None,
    seats: Sequence[Seat] | None = None,
    fillet: float = 0.2,
    arc: Arc | None = None,
) -> Tied:
    """Weld letters and tie every loose part of them, until each piece is one solid.

    `groups` holds one region a letter, placed and at final size (mm); `pieces[i]` says which solid letter i belongs to
    (all the same one by default), `seats[i]` where it stands (unless that is known, letters are linked with the nearest
    ones); `slant` is the lean of the font in degrees; crevices narrower than twice `fillet` are filled. Where they
    stand on an `arc`, baselines are those of its apex, and each letter is tied as if it stood there.

    >>> dot, stem = geo.rectangle(0, 6, 2, 8), geo.rectangle(0, 0, 2, 4)
    >>> tied = tie([geo.union(dot, stem)], web=1.0)
    >>> len(geo.solids(tied.region)), tied.count
    (1, 1)
    >>> tie([], web=1.0).count
    0
    """
    wanted = pieces if pieces is not None else [0] * len(groups)
    known = seats if seats is not None else [Seat("", 0, 0, 0.0)] * len(groups)
    parts = []
    for piece in sorted(set(wanted)):
        own = [i for i, p in enumerate(wanted) if p == piece and not groups[i].is_empty]
        parts.append(_tie_piece([groups[i] for i in own], [known[i] for i in own], web, slant, fillet, arc))
    if len(parts) == 1:
        return parts[0]
    return Tied(
        geo.union(*(p.region for p in parts)),
        tuple(letters for p in parts for letters in p.letters),
        tuple(strip for p in parts for strip in p.strips),
        geo.union(*(p.between_words for p in parts)),
        max((p.between_lines for p in parts), default=0.0),
    )


def _tie_piece(
    groups: Sequence[Region], seats: Sequence[Seat], web: float, slant: float, fillet: float, arc: Arc | None
) -> Tied:
    clean = [_without_slivers(g, web) for g in groups]
    seats = [seat for seat, g in zip(seats, clean, strict=True) if not g.is_empty]
    groups, seats = with_hanging([g for g in clean if not g.is_empty], seats)
    signs = [bool(seat.text) and set(seat.text) <= SIGNS for seat in seats]
    groups = readable(groups, web, signs=signs, arc=arc)
    welded = geo.union(*groups)
    ties = _ties(groups, seats, geo.solids(welded), web, slant, arc)
    counters = geo.holes(welded)
    bridges = [_bridge(t, counters, web) for t in ties]
    now = without_dust(geo.union(welded, *bridges))
    now = without_pinholes(_smoothed(now, _between(ties, bridges), fillet), PINHOLE)
    now = without_dust(simplified(now, tolerances.ARC))
    between_words = geo.union(*(b for b, t in zip(bridges, ties, strict=True) if t.between_words))
    between_lines = max((t.path.length for t in ties if t.between_lines), default=0.0)
    return Tied(now, (welded,), tuple(bridges), between_words, between_lines)


def _between(ties: Sequence[Link], bridges: Sequence[Region]) -> list[Region]:
    """The places between the marks of one letter."""
    letters = [t.letter for t in ties]
    own = {i for i in letters if i >= 0 and letters.count(i) > 1}
    return [geo.hull(geo.union(*(b for b, j in zip(bridges, letters, strict=True) if j == i))) for i in sorted(own)]


def _smoothed(whole: Region, between: Sequence[Region], fillet: float) -> Region:
    """Fill crevices; between the marks of a letter only those that no beam can enter, so that two dots stay two."""
    if fillet <= 0:
        return whole
    now = geo.closed(whole, fillet)
    for place in between if fillet > FINE else ():
        near = geo.bounds(geo.offset(place, 2 * fillet))
        fine = geo.closed(geo.window(whole, near), FINE)
        fills = geo.intersection(geo.difference(geo.window(now, near), fine), place)
        now = geo.difference(now, geo.opened(fills, SHAVING))
    return now


def _ties(
    groups: Sequence[Region],
    seats: Sequence[Seat],
    welds: Sequence[Solid],
    web: float,
    slant: float,
    arc: Arc | None,
) -> list[Link]:
    """Choose the parts to bridge: each letter's own marks first, then whole letters."""
    if not groups:
        return []
    homes = Homes(welds)
    clusters = Clusters(len(welds))
    ties = []
    for letter, group in enumerate(groups):
        neighbours = [groups[i] for i in (letter - 1, letter + 1) if _on_one_line(i, letter, seats)]
        for own in _ties_of_marks(geo.solids(group), web, slant, arc):
            tie = _to_neighbour(own, group, neighbours) or own
            if clusters.join(homes.of(tie.one), homes.of(tie.other)):
                ties.append(tie._replace(letter=letter))
    return ties + links_of(welds, clusters, groups, seats, web=web, slant=slant, arc=arc)


def _on_one_line(other: int, letter: int, seats: Sequence[Seat]) -> bool:
    return 0 <= other < len(seats) and seats[other].line == seats[letter].line


def _to_neighbour(own: Link, letter: Region, neighbours: Sequence[Region]) -> Link | None:
    """Tie the only dot of a letter to the letter beside it where there is no DAYLIGHT between them: that gap is lost
    anyway, and so the one below the dot is kept. None for other marks."""
    if len(geo.solids(letter)) > 2:
        return None
    bodies = [geo.largest(geo.solids(group)) for group in neighbours]
    other = min(bodies, key=lambda body: geo.distance(own.one, body), default=None)
    if other is None or geo.distance(own.one, other) >= DAYLIGHT or dot_radius(own.one) is None:
        return None
    return Link(own.one, other, shortest_path(own.one, other))


def _without_slivers(group: Region, web: float) -> Region:
    largest = max((s.area for s in geo.solids(group)), default=0.0)
    sliver = min(SLIVER * web * web, largest / 4)
    small = any(s.area < sliver for shape in (group, geo.holes(group)) for s in geo.solids(shape))
    return cleaned(group, sliver=sliver) if small else group


def _ties_of_marks(parts: Sequence[Solid], web: float, slant: float, arc: Arc | None) -> list[Link]:
    """Choose the ties of a letter's marks, of one on an arc as if it stood upright."""
    if arc is None or len(parts) < 2:
        return _own_ties(parts, web, slant)
    turn = arc.turn_at(*geo.bounds(geo.largest(parts)).centre)
    there = [standing(arc, part, turn) for part in parts]
    own = {id(upright): part for upright, part in zip(there, parts, strict=True)}
    ties = _own_ties(there, web, slant)
    return [Link(own[id(t.one)], own[id(t.other)], t.path.turned(arc, turn)) for t in ties]


def _own_ties(parts: Sequence[Solid], web: float, slant: float) -> list[Link]:
    """Choose what each mark of a letter is tied to: the body, or the mark between them; nearest marks first."""
    if len(parts) < 2:
        return []
    body = geo.largest(parts)
    far = {id(p): geo.distance(p, body) for p in parts}
    marks = sorted((p for p in parts if p is not body), key=lambda s: (far[id(s)], s.bounds))
    ties = []
    for i, mark in enumerate(marks):
        direct = _path_of(mark, body, marks, web, slant)
        below = [
            m
            for m in marks[:i]
            if crosses(direct, m)
            or (far[id(m)] * STACKED < far[id(mark)] > geo.distance(m, mark) and not level(m, mark))
        ]
        if below:
            lower = min(below, key=lambda m: (geo.distance(m, mark), m.bounds))
            ties.append(Link(mark, lower, slanted_or(mark, lower, slant, shortest_path)))
        else:
            ties.append(Link(mark, body, direct))
    return ties


def _path_of(mark: Solid, body: Solid, marks: Sequence[Solid], web: float, slant: float) -> BridgePath:
    """Give the path from a mark to its letter's body: of a small dot by itself from its right edge."""
    if beside(mark, marks) is None and _is_small_dot(mark, web):
        path = edge_path(mark, body, slant, SLIM * web)
        if path is not None and not_much_longer(path, mark, body):
            return path
    own = _own_lean(mark, marks, web)
    shift = _aside(mark, marks, web) if own is None else 0.0
    return slanted_or(mark, body, slant if own is None else own, shortest_path, shift=shift)


def _is_small_dot(mark: Solid, web: float) -> bool:
    radius = dot_radius(mark)
    return radius is not None and 2 * radius < SMALL_DOT * SLIM * web


def _own_lean(mark: Solid, marks: Sequence[Solid], web: float) -> float | None:
    """Give the lean (degrees) of a mark that is one of two strokes side by side, if there is room for ties like that.

    Such ties carry their strokes on.
    """
    found = beside(mark, marks)
    own = None if found is None else lean(mark)
    if found is None or own is None:
        return None
    between = abs(found[1]) * math.cos(math.radians(own)) - SLIM * web
    return own if between >= APART else None


def _aside(mark: Solid, marks: Sequence[Solid], web: float) -> float:
    """How far to the right of a mark's middle its tie stands, to keep clear of the tie of the mark beside it."""
    found = beside(mark, marks)
    if found is None:
        return 0.0
    _, step = found
    lacking = (SLIM * web + DAYLIGHT - abs(step)) / 2
    return math.copysign(max(0.0, min(lacking, ASIDE * geo.bounds(mark).width)), step)


# --- one bridge -----------------------------------------------------------------------------------------------------


def _bridge(tie: Link, counters: Region, web: float) -> Region:
    """The bridge between two parts, with its fillets, clear of the counters that it has no business in; one that leads
    across such a counter stays whole.

    Gaps that the parts have without it are no crevices of the bridge: they are left as they are.
    """
    one, other, path = tie.one, tie.other, tie.path
    width, fillet = (STOUT * web, FILLET) if tie.letter < 0 else (SLIM * web, min(FILLET, WAIST * path.length))
    strip = geo.capsule([anchor(one, path.a, width), *path.points, anchor(other, path.b, width)], width)
    near = _around(path, width / 2 + 2 * fillet)
    bare = geo.union(geo.window(one, near), geo.window(other, near))
    sharp = geo.union(bare, strip)
    fillets = geo.difference(geo.closed(sharp, fillet), geo.union(sharp, geo.closed(bare, fillet)))
    # a shard that meets the strip in a point only is no part of it: edges nearly coincide there
    whole = geo.as_region(geo.largest(geo.solids(geo.union(strip, touching(fillets, strip)))))
    free = (geo.inner_point(one), geo.inner_point(other))
    crossed = [c for c in geo.solids(counters) if geo.intersects(c, whole) and not _holds_any(c, free)]
    clear = touching(geo.difference(whole, geo.of_solids(crossed)), path.line) if crossed else whole
    return clear if len(geo.solids(clear)) == 1 else whole


def _around(path: BridgePath, reach: float) -> Box:
    (ax, ay), (bx, by) = path.a, path.b
    return Box(min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)).grown(reach)


def _holds_any(counter: Solid, places: Sequence[tuple[float, float]]) -> bool:
    return any(holds_point(counter, p) for p in places)
