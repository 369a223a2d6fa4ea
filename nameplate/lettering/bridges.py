"""Bridges: strips that tie the loose pieces of a lettering (dots, accents, capitals) to its body.

Method. Weld the letters. Tie each letter's own marks first: a mark to the letter's body, or to the mark it is stacked
on. Then join what is still apart along a minimum spanning tree. A bridge is a capsule from a point well inside one
piece to a point well inside the other, along the slant of the font where that is not much longer than the shortest
way, with small fillets. It never enters a counter (hole) of the letters unless the loose piece itself lies in it.

Known limits: a bridge is straight; it may touch a third piece that lies in its way.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from nameplate import tolerances
from nameplate.geometry import region as geo
from nameplate.geometry.measure import inscribed, without_pinholes
from nameplate.geometry.region import Array, Region, Solid

#: Width of a bridge over the minimum web: a bridge is the obvious place to break. Wider looks clumsy.
STOUT = 1.1

#: The way along the slant is taken while it is at most SLANT_FACTOR times the shortest way plus SLANT_EXTRA mm.
SLANT_FACTOR = 1.6
SLANT_EXTRA = 0.6

#: Radius of the fillets of a bridge (mm); larger ones turn short bridges into lumps.
FILLET = 0.6

#: A dot is grown until its inscribed circle is this many bridge widths across, so that it still reads as a dot...
DOT = 1.35
#: ... but never by more than this many webs all round.
DOT_GROWTH = 0.35

#: A mark whose way to the body is this much longer than its neighbour's is stacked on that neighbour.
STACKED = 1.35

#: Pieces smaller than this many square webs are slivers of the welding and are dropped.
SLIVER = 0.05

#: Holes that come up in joining and that no circle of this diameter (mm) fits into are filled.
PINHOLE = 0.6


class Tied(NamedTuple):
    """Tied lettering: the whole, what the bridges added to the letters, and the number of bridges."""

    region: Region
    bridges: Region
    count: int


class _Way(NamedTuple):
    """The middle line of a bridge: two points on the pieces' edges and the length between them (mm)."""

    a: tuple[float, float]
    b: tuple[float, float]
    length: float


def tie(
    groups: Sequence[Region],
    *,
    web: float,
    slant: float = 0.0,
    pieces: Sequence[int] | None = None,
    fillet: float = 0.2,
) -> Tied:
    """Weld letters and tie every loose part of them, until each piece is one solid.

    `groups` holds one region a letter, placed and at final size (mm); `pieces[i]` says which solid letter i belongs to
    (all the same one by default); `slant` is the lean of the font in degrees; crevices narrower than twice `fillet`
    are filled.

    >>> dot, stem = geo.rectangle(0, 6, 2, 8), geo.rectangle(0, 0, 2, 4)
    >>> tied = tie([geo.union(dot, stem)], web=1.0)
    >>> len(geo.solids(tied.region)), tied.count
    (1, 1)
    >>> tie([], web=1.0).count
    0
    """
    wanted = pieces if pieces is not None else [0] * len(groups)
    parts = [
        _tie_piece([g for g, p in zip(groups, wanted, strict=True) if p == piece and not g.is_empty], web, slant, fillet)
        for piece in sorted(set(wanted))
    ]
    return Tied(
        geo.union(*(p.region for p in parts)), geo.union(*(p.bridges for p in parts)), sum(p.count for p in parts)
    )


def _tie_piece(groups: Sequence[Region], web: float, slant: float, fillet: float) -> Tied:
    groups = [_without_slivers(g, web) for g in groups]
    groups = [_readable(g, web) for g in groups if not g.is_empty]
    welded = geo.union(*groups)
    counters = geo.holes(welded)
    now, count = welded, 0
    for group in groups:
        for one, other in _own_ties(geo.solids(group), slant):
            if _home(now, one) != _home(now, other):
                now = _bridged(now, one, other, counters, web, slant)
                count += 1
    while len(geo.solids(now)) > 1:
        one, other = _nearest_pair(geo.solids(now))
        joined = _bridged(now, one, other, counters, web, slant)
        if len(geo.solids(joined)) >= len(geo.solids(now)):  # cannot happen with sound input; never loop for ever
            break
        now, count = joined, count + 1
    now = _smooth(now, counters, fillet)
    return Tied(now, geo.difference(now, welded), count)


def _without_slivers(group: Region, web: float) -> Region:
    largest = max((s.area for s in geo.solids(group)), default=0.0)
    return geo.cleaned(group, sliver=min(SLIVER * web * web, largest / 4))


def _readable(group: Region, web: float) -> Region:
    """Grow dots that a bridge would swallow."""
    solids = geo.solids(group)
    if len(solids) < 2:
        return group
    body = max(solids, key=lambda s: s.area)
    grown = []
    for solid in solids:
        box = geo.bounds(solid)
        if solid is not body and max(box.width, box.height) < 2 * min(box.width, box.height):
            circle = inscribed(geo.filled(solid))
            short = DOT * STOUT * web / 2 - (circle.r if circle else 0.0)
            if short > 0:
                grown.append(geo.offset(solid, min(short, DOT_GROWTH * web)))
                continue
        grown.append(geo.as_region(solid))
    return geo.union(*grown)


def _home(whole: Region, solid: Solid) -> int:
    """Say which solid of the whole a part of it lies in."""
    inside = solid.representative_point()
    for number, piece in enumerate(geo.solids(whole)):
        if shapely.covers(piece, inside):
            return number
    return -1


def _own_ties(parts: Sequence[Solid], slant: float) -> list[tuple[Solid, Solid]]:
    """Choose what each mark of a letter is tied to: the body, or the mark between them; nearest marks first."""
    if len(parts) < 2:
        return []
    body = max(parts, key=lambda s: s.area)
    marks = sorted((p for p in parts if p is not body), key=lambda s: (shapely.distance(s, body), s.bounds))
    ties: list[tuple[Solid, Solid]] = []
    for i, mark in enumerate(marks):
        direct = _way(mark, body, slant)
        line = LineString([direct.a, direct.b])
        below = [
            m
            for m in marks[:i]
            if shapely.intersects(line, m)
            or (
                shapely.distance(m, body) * STACKED < shapely.distance(mark, body)
                and shapely.distance(m, mark) < shapely.distance(mark, body)
            )
        ]
        ties.append((mark, min(below, key=lambda m: (shapely.distance(m, mark), m.bounds), default=body)))
    return ties


def _nearest_pair(parts: Sequence[Solid]) -> tuple[Solid, Solid]:
    for part in parts:
        shapely.prepare(part)
    pairs = list(combinations(range(len(parts)), 2))
    one = [parts[i] for i, _ in pairs]
    other = [parts[j] for _, j in pairs]
    i, j = pairs[int(np.argmin(shapely.distance(one, other)))]
    return parts[i], parts[j]


# --- one bridge -----------------------------------------------------------------------------------------------------


def _bridged(whole: Region, one: Solid, other: Solid, counters: Region, web: float, slant: float) -> Region:
    """Add the bridge between two parts of the whole, with fillets."""
    width = STOUT * web
    way = _way(one, other, slant)
    line = [_anchor(one, way.a, width), way.a, way.b, _anchor(other, way.b, width)]
    closed_in = [c for c in geo.solids(counters) if not (_lies_in(one, c) or _lies_in(other, c))]
    keep_clear = geo.as_region(shapely.MultiPolygon(closed_in))
    strip = _touching(geo.difference(geo.capsule(line, width), keep_clear), LineString([way.a, way.b]))
    joined = geo.union(whole, strip)
    near = geo.capsule([way.a, way.b], width + 4 * FILLET)
    fillets = geo.difference(geo.closed(geo.intersection(joined, near), FILLET), keep_clear)
    fresh = _touching(geo.difference(fillets, joined), geo.difference(strip, whole))
    fresh = geo.offset(fresh, tolerances.SAME_POINT, join="mitre")  # so that they overlap what they touch
    return without_pinholes(_touching(geo.union(joined, fresh), whole), PINHOLE)


def _touching(shape: Region, other: BaseGeometry) -> Region:
    """Keep the solids that touch the other shape: taking counters off can leave shards."""
    near = [s for s in geo.solids(shape) if shapely.distance(s, other) < tolerances.SAME_POINT]
    return geo.as_region(shapely.MultiPolygon(near))


def _lies_in(part: Solid, counter: Solid) -> bool:
    return bool(shapely.covers(counter, part.representative_point()))


def _way(one: Solid, other: Solid, slant: float) -> _Way:
    """The way along the slant where it is not much longer than the shortest one."""
    (ax, ay), (bx, by) = shapely.get_coordinates(shapely.shortest_line(one, other))
    shortest = _Way((ax, ay), (bx, by), math.hypot(bx - ax, by - ay))
    slanted = _slanted(one, other, slant)
    if slanted is not None and slanted.length <= SLANT_FACTOR * shortest.length + SLANT_EXTRA:
        return slanted
    return shortest


def _slanted(one: Solid, other: Solid, slant: float) -> _Way | None:
    """The way from the smaller part's middle to the larger part, up or down the slant."""
    small, large = (one, other) if one.area <= other.area else (other, one)
    middle = small.centroid
    lean = math.tan(math.radians(slant))
    reach = 2.0 * max(geo.bounds(large).height, geo.bounds(small).height) + shapely.distance(one, other)
    best: _Way | None = None
    for sign in (-1.0, 1.0):
        ray = LineString([(middle.x, middle.y), (middle.x + sign * lean * reach, middle.y + sign * reach)])
        hit = _first_point(ray, large)
        start = _last_point_before(ray, small, hit)
        if hit is None or start is None:
            continue
        length = math.hypot(hit[0] - start[0], hit[1] - start[1])
        if best is None or length < best.length:
            best = _Way(start, hit, length) if small is one else _Way(hit, start, length)
    return best


def _first_point(ray: LineString, target: Solid) -> tuple[float, float] | None:
    points = shapely.get_coordinates(shapely.intersection(ray, target))
    if not len(points):
        return None
    origin = np.asarray(ray.coords[0])
    x, y = points[np.argmin(np.hypot(*(points - origin).T))]
    return float(x), float(y)


def _last_point_before(ray: LineString, part: Solid, hit: tuple[float, float] | None) -> tuple[float, float] | None:
    if hit is None:
        return None
    points: Array = shapely.get_coordinates(shapely.intersection(LineString([ray.coords[0], hit]), part))
    if not len(points):
        return None
    x, y = points[np.argmin(np.hypot(*(points - np.asarray(hit)).T))]
    return float(x), float(y)


def _anchor(part: Solid, edge: tuple[float, float], width: float) -> tuple[float, float]:
    """A point near `edge` and as deep inside the part as a bridge's round end needs, or as deep as it gets there."""
    reach = 1.2 * width
    place = Point(edge)
    local = shapely.intersection(part, place.buffer(reach + width, quad_segs=8))
    for depth in (0.5, 0.35, 0.2, 0.1, 0.05):
        core = shapely.buffer(local, -depth * width, quad_segs=8)
        if not core.is_empty and shapely.distance(core, place) <= max(reach * depth * 2, depth * width * 1.5):
            x, y = shapely.get_coordinates(shapely.shortest_line(core, place))[0]
            return float(x), float(y)
    return edge


def _smooth(whole: Region, counters: Region, fillet: float) -> Region:
    """Fill crevices no beam can cut; small counters of the letters stay as they are."""
    if fillet <= 0:
        return whole
    small = [c for c in geo.solids(counters) if geo.opened(c, fillet).is_empty]
    smoothed = geo.union(whole, geo.closed(whole, fillet))
    return geo.difference(smoothed, geo.as_region(shapely.MultiPolygon(small))) if small else smoothed
