"""The largest fit in a zone of any form: search on a raster, then refine until contacts are exact.

Terms. The *field* of a zone holds, on a square raster, how deep each place lies inside it. A *contact* is a place where
lettering and zone (nearly) touch: a point of the lettering at the zone's boundary, or an inward corner of the zone at
the lettering's. Method: (1) on the raster, find the largest scale for which all points of the lettering lie deep
enough, and the best shifts there; (2) from those, replace the zone by its tangents at the contacts, solve that linear
programme in scale, x and y, look for the contacts anew, until nothing moves; (3) at the scale found, step towards the
optical centre in the same manner.

Known limits: each fit is exact where it ended up, but where that is was chosen on the raster. On zones with a hole in
the middle the result was up to 0.6 % smaller than the best of many starts, on others 0.2 % (94 words in six zones). A
place narrower than about two cells is not seen, and a hole much smaller than a cell only when the result is checked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nameplate.face.aim import CENTRED, Aim
from nameplate.face.contacts import Flags, Walls, behind, walls
from nameplate.geometry import linear, region
from nameplate.geometry.nearby import Boundary, along, coarse_ring, contains_points
from nameplate.geometry.region import Array, Region

#: Cells along the longer side of the zone. Twice as many see passages half as wide and take four times as long.
CELLS = 96

#: The first scale tried is the one that fits the box; each next is this much smaller until one fits. A smaller value
#: is quicker and may step over a size that fits when smaller ones do not.
LADDER = 0.92

#: Halvings between the last rung that failed and the first that fitted; 4 settle the scale to half a percent.
HALVINGS = 4

#: How many cells are looked up at a time for the shifts that are left; more at a time wastes work on lost shifts.
AT_ONCE = 48

#: How many separate spots of the raster are refined.
STARTS = 3

#: Spots are looked for at this share of the largest scale on the raster: the raster's order of spots is not the true
#: one within a cell or so. Smaller values find more spots, and worse ones.
EASIER = 0.98

#: Farthest spot-to-spot distance, in cells, at which two spots are one.
SPOT = 8

#: Most refining steps; each about squares the error, so five or six usually do.
STEPS = 25

#: After so many steps a fit that is still smaller than the best one so far is given up.
HOPE = 2

#: A refining step smaller than this (shares of half the zone's size) is the end.
STILL = 1e-9

#: Shifts by whole cells this near (cells) to a level stand for it; a little more than half leaves none out.
HALF = 0.501

#: Depths read between the points of the raster are off by less than this many cells (half a cell's diagonal).
ROUGH = 0.75

#: Nothing moves farther in a step than this many times what scale, x and y may each change by (|p| <= 1.42).
REACH = 2.5

#: The lettering is first looked at through outlines within this share of half its size, then as it is.
SIMPLE = 1e-3

#: The first refinement trusts itself this many cells far: a little more than the raster is wrong.
FIRST_TRUST = 1.5

#: The last refinement, with the whole outline, trusts itself this far (shares of half the zone's size).
LAST_TRUST = 4e-3

Grid = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Field:
    """A zone of half-size 1 about the origin: its walls, its raster of depths, its inward corners.

    `depths[j, i]` is the depth at `origin + cell * (i, j)`; `margin` is how far inside a fit stays; `simply` means
    without holes.
    """

    walls: Walls
    depths: Array
    origin: Array
    cell: float
    inward: Array
    margin: float
    simply: bool


def field(zone: Region, *, margin: float) -> Field:
    """Prepare a zone whose box is centred on the origin and about 2 wide or high."""
    box = region.bounds(zone)
    cell = max(box.width, box.height) / CELLS
    across, up = (int(np.ceil(v / cell)) + 1 for v in (box.width, box.height))
    x, y = np.meshgrid(box.x0 + cell * np.arange(across), box.y0 + cell * np.arange(up))
    depths = Boundary(zone).depths(np.column_stack([x.ravel(), y.ravel()])).reshape(up, across)
    barrier = walls((*region.outer_rings(zone), *region.hole_rings(zone)))
    inward = barrier.starts[barrier.juts_first]
    return Field(barrier, depths, np.array([box.x0, box.y0]), cell, inward, margin, not region.hole_count(zone))


@dataclass(frozen=True, slots=True)
class _Shape:
    """Lettering of half-size 1 about the origin: its corners, and the walls that keep others out of it."""

    points: Array
    walls: Walls


def _shape(rings: tuple[Array, ...]) -> _Shape:
    return _Shape(np.vstack(rings), walls(tuple(r[::-1] for r in rings)))


# --- searching on the raster ----------------------------------------------------------------------------------------


def largest(letters: Region, room: Field, aim: Aim, *, centred: bool = True) -> tuple[float, Array] | None:
    """Give scale and shift of the largest fit, then, when `centred`, as near to the aim as that scale allows.

    `letters` is centred on the origin with half-size 1. None when nothing fits.
    """
    rings = _rings(letters, room)
    rough = _shape(tuple(coarse_ring(r, SIMPLE) for r in rings))
    points = np.vstack([rough.points, _filling(letters, room.cell)])
    fits, band = _rough_fits(rough, points, room, aim), aim.rows
    if fits and aim.give:
        fits, band = _evened(rough, points, room, aim, fits)
    whole, near_top = _shape(rings), _near_top(fits, 4 * SIMPLE)
    finished = [_refine(whole, room, f, aim.cap, LAST_TRUST, band) or f for f in near_top]
    equals = _near_top(finished, 1e-6)
    if centred:
        equals = [_centred(whole, room, f, aim.ideal(f.scale), band) for f in equals]
    best = min(equals, key=lambda f: float(aim.away(f.scale, f.shift)), default=None)
    return None if best is None else (best.scale, best.shift)


def settled(letters: Region, room: Field, aim: Aim, shift: Array) -> tuple[float, Array] | None:
    """Climb to the aim's cap from a shift, then step as near to the aim as that allows; None when it is not reached.

    `letters` is as for `largest`.
    """
    whole = _shape(_rings(letters, room))
    found = _refine(whole, room, _Try(aim.cap, aim.levelled(aim.cap, shift)), aim.cap, LAST_TRUST, aim.rows)
    if found is None or found.scale < aim.cap * (1 - STILL):
        return None
    there = _centred(whole, room, found, aim.ideal(found.scale), aim.rows)
    return there.scale, there.shift


def _rings(letters: Region, room: Field) -> tuple[Array, ...]:
    """Give what can touch the zone: what surrounds a counter holds the counter, too, where the zone has no holes."""
    return region.outer_rings(letters) + (() if room.simply else region.hole_rings(letters))


def _near_top(fits: list[_Try], share: float) -> list[_Try]:
    top = max((f.scale for f in fits), default=0.0)
    return [f for f in fits if f.scale >= top * (1 - share)]


def _rough_fits(rough: _Shape, points: Array, room: Field, aim: Aim) -> list[_Try]:
    limit = aim.cap
    while True:
        spots = list(_spots(points, room, aim, limit))
        fits: list[_Try] = []
        for spot in spots:
            beat = max((f.scale for f in fits), default=0.0)
            fit = _refine(rough, room, spot, aim.cap, FIRST_TRUST * room.cell, aim.rows, beat=beat)
            fits += [] if fit is None else [fit]
        if fits or not spots:
            return fits
        limit = LADDER * spots[0].scale


def _evened(
    rough: _Shape, points: Array, room: Field, aim: Aim, fits: list[_Try]
) -> tuple[list[_Try], tuple[Array, Array]]:
    """Look for a fit nearer to the middle sideways that is smaller by no more than the aim gives up.

    Gives it with the band that holds it there, or the fits as they were.
    """
    best = _near_top(fits, SIMPLE)
    now = min(abs(float(aim.sideways(f.scale, f.shift))) for f in best)
    least = (1 - aim.give) * best[0].scale
    score, shifts = _scores(points, room, aim, least) if now > CENTRED else (np.empty(0), np.empty((0, 2)))
    if len(score) == 0:
        return fits, aim.rows
    off = np.abs(aim.sideways(least, shifts))
    start = _Try(least, shifts[int(np.argmax(np.where(off <= off.min() + room.cell / 2, score, -1.0)))])
    for width in (CENTRED, float(off.min()) + room.cell):
        band = aim.band(width)
        even = _refine(rough, room, start, aim.cap, FIRST_TRUST * room.cell, band) if width < now else None
        if even is not None and even.scale >= least * (1 - SIMPLE):
            return [even], band
    return fits, aim.rows


@dataclass(frozen=True, slots=True)
class _Try:
    """A scale and a shift; `easy` when nothing is near, so that there is nothing to refine."""

    scale: float
    shift: Array
    easy: bool = False


def _spots(points: Array, room: Field, aim: Aim, cap: float) -> Iterator[_Try]:
    """Give scales and shifts from which to refine."""
    low, high = points.min(axis=0), points.max(axis=0)
    size = room.cell * (np.array(room.depths.shape[::-1]) - 1)
    scale = float(min(cap, *(size / np.maximum(high - low, 1e-9))))
    upper = scale
    for _ in range(60):
        score, shifts = _scores(points, room, aim, scale)
        if score.size:
            break
        upper, scale = scale, scale * LADDER
    else:
        return
    best = score, shifts, scale
    for _ in range(HALVINGS if upper > scale else 0):
        middle = (scale + upper) / 2
        score, shifts = _scores(points, room, aim, middle)
        if score.size:
            scale, best = middle, (score, shifts, middle)
        else:
            upper = middle
    score, shifts, scale = best
    away = aim.away(scale, shifts)
    if scale >= cap and float(score.max()) > room.cell:  # there is room to spare: begin where it looks best
        yield _Try(scale, shifts[int(np.argmin(np.where(score > room.cell, away, np.inf)))], easy=True)
        return
    if scale >= LADDER * cap:  # the cap will be reached from several spots: try the one that looks best, too
        yield _Try(scale, shifts[int(np.argmin(away))])
    easier = _scores(points, room, aim, EASIER * scale)
    score, shifts = easier if len(easier[0]) else (score, shifts)  # rounding to cells can lose even the last spot
    for _ in range(STARTS):
        if not len(score):
            return
        top = int(np.argmax(score))
        yield _Try(scale, shifts[top])
        apart = np.hypot(*(shifts - shifts[top]).T) >= SPOT * room.cell
        score, shifts = score[apart], shifts[apart]


def _scores(points: Array, room: Field, aim: Aim, scale: float) -> tuple[Array, Array]:
    """Give, for every shift by whole cells that keeps the box in the raster, the least depth of any point.

    Shifts at which some point lies outside are left out. With a level, those nearest to it are moved there.
    """
    cells = _distinct(np.rint(points * (scale / room.cell)).astype(np.int64))
    low, high = cells.min(axis=0), cells.max(axis=0)
    up, across = np.array(room.depths.shape) - (high - low)[::-1]
    if up <= 0 or across <= 0:
        return np.empty(0), np.empty((0, 2))
    outer = _outer(cells)
    least = np.full((up, across), np.inf)
    for i, j in cells[outer] - low:
        np.minimum(least, room.depths[j : j + up, i : i + across], out=least)
    if aim.level is not None:
        off = room.origin[1] - room.cell * low[1] + room.cell * np.arange(up) - aim.levelled(scale, np.zeros(2))[1]
        least[np.abs(off) > HALF * room.cell] = -1.0
    y, x = np.nonzero(least >= 0)
    score, rest = least[y, x], cells[~outer] - low
    for some in np.array_split(rest, max(1, len(rest) // AT_ONCE)):
        if len(some) and len(score):
            depths = room.depths[y[:, None] + some[:, 1], x[:, None] + some[:, 0]]
            score = np.minimum(score, depths.min(axis=1))
            kept = score >= 0
            x, y, score = x[kept], y[kept], score[kept]
    return score, aim.levelled(scale, room.origin + room.cell * (np.column_stack([x, y]) - low))


def _filling(letters: Region, cell: float) -> Array:
    """Give points all over the lettering and along its edges, two cells apart: no hole of a zone may hide there."""
    box = region.bounds(letters)
    x, y = np.meshgrid(np.arange(box.x0, box.x1, 2 * cell), np.arange(box.y0, box.y1, 2 * cell))
    lattice = np.column_stack([x.ravel(), y.ravel()])
    return np.vstack([lattice[contains_points(letters, lattice)], along(letters, 2 * cell)])


def _distinct(cells: Grid) -> Grid:
    wide = 1 << 20
    keys = np.unique(cells[:, 0] * wide + cells[:, 1] + wide // 2)
    return np.column_stack([keys // wide, keys % wide - wide // 2])


def _outer(cells: Grid) -> Flags:
    """Tell which cells are the first or last of their row or column: these rule out most shifts."""
    found = np.zeros(len(cells), dtype=bool)
    for first, second in ((0, 1), (1, 0)):
        order = np.lexsort((cells[:, second], cells[:, first]))
        line = cells[order, first]
        change = np.flatnonzero(np.diff(line)) + 1
        found[order[np.concatenate([[0], change])]] = True
        found[order[np.concatenate([change - 1, [len(line) - 1]])]] = True
    return found


# --- refining -------------------------------------------------------------------------------------------------------


def _rows(shape: _Shape, room: Field, scale: float, shift: Array, reach: float) -> tuple[Array, Array]:
    """Give rows and limits in (scale, x, y) that hold while nothing moves farther than `reach`."""
    placed = scale * shape.points + shift
    near = _rough_depths(room, placed) < reach
    points = shape.points[near]
    half = behind(placed[near], room.walls, reach)
    rows = np.column_stack([(half.normals * points[half.point]).sum(axis=1), half.normals])
    limits = half.limits - room.margin
    corners = (room.inward - shift) / scale
    corners = corners[(np.abs(corners) < 1 + reach / scale).all(axis=1)]
    if len(corners) == 0:
        return rows, limits
    half = behind(corners, shape.walls, reach / scale)
    # the corner c stays behind the letter's wall: normal . (c - shift) <= scale * limit
    fixed = corners[half.point] * scale + shift
    more = np.column_stack([-half.limits, -half.normals])
    bounds = -(half.normals * fixed).sum(axis=1) - room.margin
    return np.vstack([rows, more]), np.concatenate([limits, bounds])


def _rough_depths(room: Field, places: Array) -> Array:
    """Give depths from the raster, too small by up to a cell; places off the raster are outside."""
    up, across = room.depths.shape
    at = np.clip((places - room.origin) / room.cell, 0.0, (across - 1.001, up - 1.001))
    (i, j), (u, v) = at.astype(np.int64).T, (at % 1.0).T
    low = room.depths[j, i] * (1 - u) + room.depths[j, i + 1] * u
    high = room.depths[j + 1, i] * (1 - u) + room.depths[j + 1, i + 1] * u
    off = ROUGH * room.cell
    return np.asarray(low * (1 - v) + high * v - off)


def _refine(
    shape: _Shape,
    room: Field,
    start: _Try,
    cap: float,
    trust: float,
    band: tuple[Array, Array],
    *,
    beat: float = 0.0,
) -> _Try | None:
    """Climb from a rough fit to the nearest largest one within a band.

    None when the way is lost, or when it clearly ends below the scale to `beat`.
    """
    if start.easy:
        return start
    x = np.array([start.scale, *start.shift])
    objective = np.array([1.0, 0.0, 0.0])
    for count in range(STEPS):
        rows, limits = _rows(shape, room, float(x[0]), x[1:], REACH * trust)
        rows, limits = np.vstack([rows, band[0], objective]), np.concatenate([limits, band[1], [cap]])
        step = linear.best(objective, rows, limits - rows @ x, reach=trust)
        if step is None:  # too far out to come back within the trusted distance: let go of size
            step = np.array([-trust, 0.0, 0.0])
        x = x + step
        if x[0] <= 0 or (count >= HOPE and x[0] < beat * (1 - 4 * SIMPLE)):
            return None
        longest = float(np.abs(step).max())
        if longest < STILL:
            break
        trust = max(2 * longest, trust / 10) if longest < trust / 2 else trust * 0.8
    return _Try(float(x[0]), x[1:])


def _centred(shape: _Shape, room: Field, start: _Try, target: Array, band: tuple[Array, Array]) -> _Try:
    """Step towards the target shift as far as the scale and the band allow."""
    shift, trust = start.shift, LAST_TRUST
    square = np.vstack([np.eye(2), -np.eye(2)])
    for _ in range(STEPS):
        rows, limits = _rows(shape, room, start.scale, shift, REACH * trust)
        rows, limits = np.vstack([rows, band[0]]), np.concatenate([limits, band[1]])
        rows, limits = rows[:, 1:], np.maximum(limits - start.scale * rows[:, 0] - rows[:, 1:] @ shift, 0.0)
        rows, limits = np.vstack([rows, square]), np.append(limits, np.full(4, trust))
        step = linear.nearest(target - shift, rows, limits)
        if step is None:
            break
        shift = shift + step
        longest = float(np.abs(step).max())
        if longest < STILL * 1000:
            break
        trust = min(2 * trust, 2 * room.cell) if longest > 0.9 * trust else max(longest, trust / 10)
    return _Try(start.scale, shift)
