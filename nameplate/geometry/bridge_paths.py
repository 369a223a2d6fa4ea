"""Paths between two solids: where a bridge would start and end.

Terms. A *path* is a line from the edge of one solid to the edge of another, through nothing of either. The *shortest*
path is nearest to nearest; of many about as short, the middle one. A *joining* path is low between two letters and
rises, as a pen would go. A *level* path is low, its ends are equally high, and on the baseline it sags a little. A
*leaning* path goes through the middle of the smaller solid along a given slant. An *anchor* is a point well inside a
solid near one end of a path.

Known limit: a path may cross a third solid.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple, TypeAlias

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry import Point as _Point

from nameplate import tolerances
from nameplate.geometry import region as geo
from nameplate.geometry.arc import Arc
from nameplate.geometry.box import Box
from nameplate.geometry.region import Array, Region, Shape, Solid

Place: TypeAlias = tuple[float, float]

#: Paths at most this fraction (and as many mm) longer than the shortest are as good; the middle one of them is taken...
AS_SHORT = 0.05
#: ... among those within so many mm of the shortest.
ABREAST = 4.0

#: A path between letters may be this many times the shortest plus so many mm, if it lies where a pen would go:
PEN_FACTOR = 1.7
PEN_EXTRA = 0.4
#: at this height of what the letters have in common...
PEN_HEIGHT = 0.12
#: ... for which it may be so much longer per mm nearer.
PEN_PULL = 0.24

#: Between two tall letters it may be as long as this part of the height that they share, and so much longer per mm
#: nearer to their foot or their top: halfway up it would make an H of F and l.
TALL_REACH = 0.18
TALL_PULL = 1.0

#: A path between letters rises by so many degrees to the right, as a pen's does...
RISE = 25.0
#: ... if it is longer than this (mm), since shorter ones show no direction,
RISE_FROM = 0.8
#: and shorter than this part of the height that the letters share: longer ones lie between words, and lie still.
RISE_TO = 0.35

#: A level path is looked for at every so many mm...
LEVELS = 0.25
#: ... and may be so many mm longer for each mm that it lies lower: more keeps it at the foot of an r or a T.
LEVEL_PULL = 3.0

#: Its strip rises to this part of the height that the solids share, or sinks for it until it is halfway below the
#: baseline: what is under the arm of a small r must stay open, and so must small letters beside it.
LOW = 0.3

#: On the baseline it sags by this part of its length, as a stroke of a pen does, but by no more than so many widths of
#: its strip.
SAG = 0.1
MOST_SAG = 0.4
#: Chords of a sagging path: at the most sag of a 2 mm strip each is off by 0.003 mm.
SAG_STEPS = 16

#: How deep an anchor tries to lie, in widths of the bridge: half is all that its round end needs.
DEPTHS = (0.5, 0.35, 0.2, 0.1, 0.05)

#: A path from the edge of a dot goes so many widths of its strip inside the edges of dot and stroke: farther inside,
#: the notch on the other side gets shallower; nearer to the edges they bulge.
INSIDE = 0.25

#: What is this many times as long as wide is a stroke; an ellipse is none.
LONG = 1.6

#: A stroke that leans farther (degrees) than this from upright lies down.
MOST_LEAN = 50.0

#: A path along the slant, or from a dot's edge, is taken while it is at most SLANT_FACTOR times the shortest path plus
#: SLANT_EXTRA mm.
SLANT_FACTOR = 1.6
SLANT_EXTRA = 0.6


class BridgePath(NamedTuple):
    """A line from a point on the edge of one solid to one on the other's, its length (mm), and by how much it sags.

    What down is, is turned counter-clockwise by `turn` degrees.
    """

    a: Place
    b: Place
    length: float
    sag: float = 0.0
    turn: float = 0.0

    @property
    def points(self) -> list[Place]:
        """The line, from a to b: straight, or a parabola that hangs between them."""
        shares = np.linspace(0.0, 1.0, SAG_STEPS + 1) if self.sag else np.array([0.0, 1.0])
        line = np.outer(1 - shares, self.a) + np.outer(shares, self.b)
        turn = math.radians(self.turn)
        down = np.array([math.sin(turn), -math.cos(turn)])
        line += np.outer(self.sag * 4 * shares * (1 - shares), down)
        return [_place(point) for point in line]

    @property
    def line(self) -> LineString | _Point:
        """Straight from a to b, sagging or not."""
        return LineString([self.a, self.b]) if self.length else _Point(self.a)

    def turned(self, arc: Arc, turn: float) -> BridgePath:
        """Turn it about the centre of an arc by degrees."""
        return BridgePath(arc.turned_point(self.a, turn), arc.turned_point(self.b, turn), self.length, self.sag, turn)


def upright(arc: Arc | None, one: Solid, other: Solid, find: Callable[[Solid, Solid], BridgePath]) -> BridgePath:
    """Give the path that `find` gives between two solids, as they would stand at an arc's apex; without one as is."""
    if arc is None:
        return find(one, other)
    turn = arc.turn_at(*shapely.get_coordinates(shapely.shortest_line(one, other)).mean(axis=0).tolist())
    return find(*(standing(arc, solid, turn) for solid in (one, other))).turned(arc, turn)


def standing(arc: Arc, solid: Solid, turn: float) -> Solid:
    """Give a solid that is turned on an arc by degrees as it would stand at its apex."""
    return geo.largest(geo.solids(arc.turned(solid, -turn)))


def shortest_path(one: Solid, other: Solid) -> BridgePath:
    """Find the shortest path; of many about as short (parallel edges), the one in the middle of them.

    >>> low, high = (geo.solids(geo.rectangle(0, y, 10, y + 1))[0] for y in (0, 3))
    >>> path = shortest_path(low, high)
    >>> path.length, 1 < path.a[0] < 9
    (2.0, True)
    """
    line = shapely.shortest_line(one, other)
    near = geo.capsule(shapely.get_coordinates(line), 2 * ABREAST)
    facing = shapely.get_coordinates(shapely.segmentize(shapely.intersection(one.exterior, near), ABREAST / 8))
    shapely.prepare(other)
    gaps = shapely.distance(other, shapely.points(facing))
    facing = facing[gaps <= line.length * (1 + AS_SHORT) + AS_SHORT]
    if len(facing) > 1:
        middle = facing.mean(axis=0)
        start = _Point(facing[np.argmin(np.hypot(*(facing - middle).T))])
        line = shapely.shortest_line(start, other)
    (ax, ay), (bx, by) = shapely.get_coordinates(line).tolist()
    return BridgePath((ax, ay), (bx, by), math.hypot(bx - ax, by - ay))


def joining_path(one: Solid, other: Solid, *, tall: bool = False, armed: bool = True) -> BridgePath:
    """Find the path a pen would take between two letters side by side: low between them and rising, if that is not far.

    Between two `tall` ones it is at their foot, even where that is farther, or at their top, where the left one is
    `armed`.

    >>> left, right = (geo.solids(geo.rectangle(x, 0, x + 4, 20))[0] for x in (0, 6))
    >>> path = joining_path(left, right)
    >>> round(path.length, 1), path.a[1] < path.b[1] < 7
    (2.2, True)
    """
    a, b = geo.bounds(one), geo.bounds(other)
    low, high = max(a.y0, b.y0), min(a.y1, b.y1)
    if high <= low:
        return shortest_path(one, other)
    shapely.prepare(other)
    limit = max(geo.distance(other, one) * PEN_FACTOR + PEN_EXTRA, TALL_REACH * (high - low) * tall)
    near = shapely.clip_by_rect(one.exterior, b.x0 - limit, b.y0 - limit, b.x1 + limit, b.y1 + limit)
    starts = shapely.get_coordinates(shapely.segmentize(near, ABREAST / 8))
    gaps = shapely.distance(other, shapely.points(starts))
    away = np.abs(starts[:, 1] - (low + PEN_HEIGHT * (high - low)))
    if tall and armed:
        away = np.minimum(away, np.abs(starts[:, 1] - (high - PEN_HEIGHT / 2 * (high - low))))
    cost = gaps + (TALL_PULL if tall else PEN_PULL) * away
    cost[gaps > limit] = np.inf
    if not np.isfinite(cost).any():
        return shortest_path(one, other)
    line = shapely.shortest_line(_Point(starts[np.argmin(cost)]), other)
    if shapely.intersection(line, one).length > AS_SHORT:
        return shortest_path(one, other)
    start, end = shapely.get_coordinates(line)
    level = BridgePath(_place(start), _place(end), float(line.length))
    if not RISE_FROM < level.length < RISE_TO * (high - low):
        return level
    return _rising(level, one, other, limit) or level


def _rising(path: BridgePath, one: Solid, other: Solid, limit: float) -> BridgePath | None:
    """Turn a path about its middle until it rises to the right like a pen's; None where that is too long or misses."""
    start, end = np.asarray(path.a), np.asarray(path.b)
    rightwards = math.copysign(1.0, end[0] - start[0])
    if rightwards * (end - start)[1] >= path.length * math.sin(math.radians(RISE)):
        return None
    middle = (start + end) / 2
    reach = rightwards * limit * np.array([math.cos(math.radians(RISE)), math.sin(math.radians(RISE))])
    a = _nearest_on(middle, middle - reach, one, to=middle)
    b = _nearest_on(middle, middle + reach, other, to=middle)
    if a is None or b is None or math.dist(a, b) > limit:
        return None
    return BridgePath(_place(a), _place(b), math.dist(a, b))


def level_path(left: Solid, right: Solid, baseline: float, width: float, *, middle: bool = False) -> BridgePath | None:
    """Find the lowest level path, for a strip `width` mm wide, from a solid to the one on its right; None without any.

    The strip stands on the baseline (mm) where both solids reach down to it, or lower where it would fill the space
    beside them; else it is as low as is not much longer, or meets the `middle` of the smaller one.

    >>> stem, other, dash = (
    ...     geo.solids(geo.rectangle(*box))[0] for box in ((0, 0, 2, 9), (6, 0, 8, 9), (6, 4, 9, 6))
    ... )
    >>> level_path(stem, other, 0.0, 1.0).a, level_path(stem, dash, 0.0, 1.0, middle=True).a
    ((2.0, 0.5), (2.0, 5.0))
    """
    top = min(geo.bounds(left).y1, geo.bounds(right).y1)
    sunk = min(max(width - LOW * (top - baseline), 0.0), width / 2)
    heights = np.arange(baseline + width / 2 - sunk, top, LEVELS)
    if not len(heights):
        return None
    ends = np.array([geo.bounds(left).x0, geo.bounds(right).x1])
    lines = shapely.linestrings([[(ends[0], y), (ends[1], y)] for y in heights])
    a, b = shapely.bounds(shapely.intersection(lines, left)), shapely.bounds(shapely.intersection(lines, right))
    x0, x1 = a[:, 2], b[:, 0]
    free = np.flatnonzero(x1 > x0)
    if not len(free):
        return None
    best = free[np.argmin((x1 - x0)[free] + LEVEL_PULL * (heights[free] - baseline))]
    if middle and heights[best] > baseline + width:
        there = geo.bounds(min(left, right, key=lambda s: s.area)).centre[1]
        best = free[np.argmin(np.abs(heights[free] - there))]
    y = float(heights[best])
    length = float(x1[best] - x0[best])
    sag = min(SAG * length, MOST_SAG * width) if best == 0 else 0.0
    return BridgePath((float(x0[best]), y), (float(x1[best]), y), length, sag)


def low_path(left: Solid, right: Solid, top: float) -> BridgePath | None:
    """Find the shortest path to a solid from what of another's edge lies below `top` (mm); None where that is none.

    >>> stem, dash = (geo.solids(geo.rectangle(*box))[0] for box in ((0, 0, 2, 9), (4, 5, 9, 7)))
    >>> low_path(stem, dash, 3.0)[:2], low_path(stem, dash, -1.0)
    (((2.0, 3.0), (4.0, 5.0)), None)
    """
    box = geo.bounds(left).grown(1.0)  # what lies on a border is clipped
    low = shapely.clip_by_rect(left.exterior, box.x0, min(box.y0, top - 1.0), box.x1, top)
    line = shapely.shortest_line(low, right)
    if line is None or shapely.intersection(line, left).length > AS_SHORT:
        return None
    start, end = shapely.get_coordinates(line)
    return BridgePath(_place(start), _place(end), float(line.length))


def slanted_path(one: Solid, other: Solid, slant: float, *, shift: float = 0.0) -> BridgePath | None:
    """Find the path through the middle of the smaller solid, up or down the slant (degrees); None when it misses.

    `shift` moves it to the right (mm).
    """
    small, large = (one, other) if one.area <= other.area else (other, one)
    middle = np.asarray(small.centroid.coords[0]) + np.array([shift, 0.0])
    reach = 2.0 * max(geo.bounds(large).height, geo.bounds(small).height) + geo.distance(one, other)
    best: BridgePath | None = None
    for sign in (-1.0, 1.0):
        end = middle + sign * reach * np.array([math.tan(math.radians(slant)), 1.0])
        hit = _nearest_on(middle, end, large, to=middle)
        start = None if hit is None else _nearest_on(middle, hit, small, to=hit)
        if hit is None or start is None:
            continue
        length = float(np.hypot(*(hit - start)))
        if best is None or length < best.length:
            a, b = (start, hit) if small is one else (hit, start)
            best = BridgePath(_place(a), _place(b), length)
    return best


def slanted_or(
    one: Solid,
    other: Solid,
    slant: float,
    otherwise: Callable[[Solid, Solid], BridgePath],
    *,
    shift: float = 0.0,
    arc: Arc | None = None,
) -> BridgePath:
    """Give the path along the slant (degrees) where it is not much longer than the shortest one, else the given path.

    `shift` moves the path along the slant aside (mm), where there is room for it. On an `arc` the slant is that of the
    letters there.
    """
    if arc is not None:
        return upright(arc, one, other, lambda a, b: slanted_or(a, b, slant, otherwise, shift=shift))
    leaning = slanted_path(one, other, slant, shift=shift)
    if leaning is None and shift:
        leaning = slanted_path(one, other, slant)
    if leaning is not None and not_much_longer(leaning, one, other):
        return leaning
    return otherwise(one, other)


def not_much_longer(path: BridgePath, one: Solid, other: Solid) -> bool:
    """Tell whether a path may be taken instead of the shortest one between two solids."""
    return path.length <= SLANT_FACTOR * geo.distance(one, other) + SLANT_EXTRA


def edge_path(dot: Solid, body: Solid, slant: float, width: float) -> BridgePath | None:
    """Find the path, for a strip `width` mm wide, from the right edge of a dot to that of the stroke it stands over.

    The stroke is what a path along the slant (degrees) meets; None where that misses it.

    >>> stem, dot = geo.solids(geo.rectangle(-1, 0, 1, 6))[0], geo.solids(geo.disc((0, 8), 2.8))[0]
    >>> path = edge_path(dot, stem, 0.0, 1.5)
    >>> path.a[0] > path.b[0] > 0.5, path.b[1], path.length < 1.2
    (True, 6.0, True)
    """
    over = slanted_path(dot, body, slant)
    if over is None or not over.length:
        return None
    foot, down = np.asarray(over.b), (np.asarray(over.b) - over.a) / over.length
    start = _right_of(dot, np.asarray(dot.centroid.coords[0]), width)
    end = _right_of(body, foot + down * width / 2, width)
    if start is None or end is None:
        return None
    a, b = _nearest_on(start, end, dot, to=end), _nearest_on(start, end, body, to=start)
    return None if a is None or b is None else BridgePath(_place(a), _place(b), math.dist(a, b))


def _right_of(solid: Solid, place: Array, width: float) -> Array | None:
    """Give the point INSIDE the right edge of a solid, level with a place in it, at most a width (mm) beside that."""
    level = shapely.intersection(LineString([place, place + np.array([width, 0.0])]), solid)
    parts = sorted(geo.bounds(part) for part in shapely.get_parts(level) if not part.is_empty)
    if not parts or parts[0].x0 > place[0] + tolerances.SAME_POINT:
        return None
    return np.array([parts[0].x1 - INSIDE * width, place[1]])


def lean(stroke: Solid) -> float | None:
    """Give how far (degrees) a stroke leans to the right of upright; None for what is not LONG or lies down.

    >>> bar = geo.rectangle(-1, -4, 1, 4)
    >>> [lean(geo.solids(geo.moved(bar, turn=t))[0]) for t in (0, -20, 90)], lean(geo.solids(geo.disc((0, 0), 4))[0])
    ([0.0, 20.0, None], None)
    """
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(stroke))
    sides = corners[1:3] - corners[:2]
    long, short = sorted(sides.tolist(), key=lambda side: -math.hypot(*side))
    angle = math.degrees(math.atan2(long[0], long[1]))
    angle = (angle + 90) % 180 - 90
    upright = abs(angle) <= MOST_LEAN
    return round(angle, 6) + 0.0 if upright and math.hypot(*long) >= LONG * math.hypot(*short) else None


def _nearest_on(start: Array, end: Array, solid: Solid, *, to: Array) -> Array | None:
    """The point of a segment inside a solid that is nearest to a given point of the segment."""
    inside: Array = shapely.get_coordinates(shapely.intersection(LineString([start, end]), solid))
    return inside[np.argmin(np.hypot(*(inside - to).T))] if len(inside) else None


def _place(point: Array) -> Place:
    return float(point[0]), float(point[1])


def anchor(part: Shape, edge: Place, width: float) -> Place:
    """Find a point near `edge`, as deep inside the part as a strip's round end needs, or as deep as it gets there."""
    reach = 1.2 * width
    place = _Point(edge)
    local = geo.window(part, Box(*edge, *edge).grown(reach + width))
    for depth in DEPTHS:
        core = shapely.buffer(local, -depth * width, quad_segs=8)
        if not core.is_empty and shapely.distance(core, place) <= max(reach * depth * 2, depth * width * 1.5):
            return _place(shapely.get_coordinates(shapely.shortest_line(core, place))[0])
    return edge


def crosses(path: BridgePath, solid: Solid) -> bool:
    """Tell whether a path touches a solid."""
    return bool(shapely.intersects(LineString([path.a, path.b]), solid))


def touching(shape: Shape, other: shapely.Geometry) -> Region:
    """Keep the solids of a region that another shape or a line touches."""
    return geo.of_solids(s for s in geo.solids(shape) if shapely.distance(s, other) < tolerances.SAME_POINT)
