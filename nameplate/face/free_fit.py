"""The largest fit in a zone of any form: search on a raster, then refine until contacts are exact.

Terms. The *field* of a zone holds, on a square raster, how deep each place lies inside it. A *contact* is a place where
lettering and zone (nearly) touch: a point of the lettering at the zone's boundary, or an inward corner of the zone at
the lettering's. Method: (1) on the raster, find the largest scale for which all points of the lettering lie deep
enough, and the best shifts there; (2) from those, replace the zone by its tangents at the contacts, solve that linear
programme in scale, x and y, look for the contacts anew, until nothing moves; (3) at the scale found, step towards the
optical centre in the same manner.

Known limits: the raster sees passages and spots wider than about two cells only, so a better fit through a narrower
one can be missed; a zone's hole much smaller than a cell is only found when the result is checked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nameplate.geometry import linear, region
from nameplate.geometry.nearby import Boundary
from nameplate.geometry.region import Array, Region

#: Cells along the longer side of the zone. Twice as many see passages half as wide and take four times as long.
CELLS = 64

#: The first scale tried is the one that fits the box; each next is this much smaller until one fits. A smaller value
#: is quicker and may step over a size that fits when smaller ones do not.
LADDER = 0.92

#: Halvings between the last rung that failed and the first that fitted; 4 settle the scale to half a percent.
HALVINGS = 4

#: How many separate spots of the raster are refined.
STARTS = 3

#: Farthest spot-to-spot distance, in cells, at which two spots are one.
SPOT = 8

#: Most refining steps; each about squares the error, so five or six usually do.
STEPS = 25

#: A refining step smaller than this (shares of half the zone's size) is the end.
STILL = 1e-9

Grid = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Field:
    """A zone of half-size 1 about the origin: its boundary, its raster of depths, its inward corners.

    `depths[j, i]` is the depth at `origin + cell * (i, j)`. `margin` is how far inside a fit stays.
    """

    boundary: Boundary
    depths: Array
    origin: Array
    cell: float
    inward: Array
    margin: float


def field(zone: Region, *, margin: float) -> Field:
    """Prepare a zone whose box is centred on the origin and about 2 wide or high."""
    box = region.bounds(zone)
    cell = max(box.width, box.height) / CELLS
    across, up = (int(np.ceil(v / cell)) + 1 for v in (box.width, box.height))
    x, y = np.meshgrid(box.x0 + cell * np.arange(across), box.y0 + cell * np.arange(up))
    boundary = Boundary(zone)
    depths = boundary.depths(np.column_stack([x.ravel(), y.ravel()])).reshape(up, across)
    return Field(boundary, depths, np.array([box.x0, box.y0]), cell, _inward_corners(zone), margin)


def _inward_corners(zone: Region) -> Array:
    found = [np.empty((0, 2))]
    for ring in (*region.outer_rings(zone), *region.hole_rings(zone)):
        before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
        found.append(ring[before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0] < 0])
    return np.vstack(found)


# --- searching on the raster ----------------------------------------------------------------------------------------


def largest(letters: Region, ink: Array, room: Field, target: Array, *, cap: float) -> tuple[float, Array] | None:
    """Give scale and shift of the largest fit, then centred: `scale * ink + shift` is brought near `target`.

    `letters` is centred on the origin with half-size 1. None when nothing fits.
    """
    points = region.points(letters)
    spots = list(_spots(points, room, cap=cap, target=target, ink=ink))
    shape = _Shape(points, Boundary(letters))
    refined = [_refine(shape, room, scale, shift, cap) for scale, shift in spots]
    possible = [r for r in refined if r is not None]
    if not possible:
        return None
    top = max(scale for scale, _ in possible)
    fits = [(s, t) for s, t in possible if s >= top * (1 - 1e-6)]
    centred = [_centred(shape, room, s, t, target - s * ink) for s, t in fits]
    return min(centred, key=lambda f: float(np.hypot(*(f[1] + f[0] * ink - target))))


def _spots(points: Array, room: Field, *, cap: float, target: Array, ink: Array) -> Iterator[tuple[float, Array]]:
    """Give scales and shifts from which to refine."""
    low, high = points.min(axis=0), points.max(axis=0)
    size = room.cell * (np.array(room.depths.shape[::-1]) - 1)
    scale = float(min(cap, *(size / np.maximum(high - low, 1e-9))))
    upper = scale
    for _ in range(60):
        score, shifts = _scores(points, room, scale)
        if score.size and score.max() >= 0:
            break
        upper, scale = scale, scale * LADDER
    else:
        return
    best = score, shifts, scale
    for _ in range(HALVINGS if upper > scale else 0):
        middle = (scale + upper) / 2
        score, shifts = _scores(points, room, middle)
        if score.size and score.max() >= 0:
            scale, best = middle, (score, shifts, middle)
        else:
            upper = middle
    score, shifts, scale = best
    if scale >= cap:  # there is room to spare: begin where it looks best
        away = np.hypot(*(shifts + scale * ink - target).T)
        score = np.where(score >= min(room.cell, float(score.max())), 1e6 - away, score)
    for _ in range(STARTS):
        top = int(np.argmax(score))
        if not score[top] >= 0:
            return
        yield scale, shifts[top]
        score = np.where(np.hypot(*(shifts - shifts[top]).T) < SPOT * room.cell, -1.0, score)


def _scores(points: Array, room: Field, scale: float) -> tuple[Array, Array]:
    """Give, for every shift by whole cells that keeps the box in the raster, the least depth of any point."""
    cells: Grid = np.unique(np.rint(points * (scale / room.cell)).astype(np.int64), axis=0)
    cells = _outer_cells(cells)
    low, high = cells.min(axis=0), cells.max(axis=0)
    up, across = np.array(room.depths.shape) - (high - low)[::-1]
    if up <= 0 or across <= 0:
        return np.empty(0), np.empty((0, 2))
    least = np.full((up, across), np.inf)
    for i, j in cells - low:
        np.minimum(least, room.depths[j : j + up, i : i + across], out=least)
    y, x = np.mgrid[0:up, 0:across]
    shifts = room.origin + room.cell * (np.column_stack([x.ravel(), y.ravel()]) - low)
    return least.ravel(), shifts


def _outer_cells(cells: Grid) -> Grid:
    """Keep the first and last cell of each row and column, and of the rest those on a coarser raster."""
    keep = (cells % 3 == 0).all(axis=1)
    for first, second in ((0, 1), (1, 0)):
        order = np.lexsort((cells[:, second], cells[:, first]))
        line = cells[order, first]
        change = np.flatnonzero(np.diff(line)) + 1
        keep[order[np.concatenate([[0], change])]] = True
        keep[order[np.concatenate([change - 1, [len(line) - 1]])]] = True
    kept: Grid = cells[keep]
    return kept


# --- refining -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Shape:
    """Lettering: its corners and its boundary."""

    points: Array
    boundary: Boundary


def _contacts(shape: _Shape, room: Field, scale: float, shift: Array, reach: float) -> tuple[Array, Array]:
    """Give rows and limits in (scale, x, y) that hold near a fit, from everything within `reach` of touching."""
    placed = scale * shape.points + shift
    near = _rough_depths(room, placed) < reach + 2 * room.cell
    points, placed = shape.points[near], placed[near]
    feet, normals, depths = _tangents(room.boundary, placed, shift)
    close = depths < reach
    normals, points = normals[close], points[close]
    rows = np.column_stack([(normals * points).sum(axis=1), normals])
    limits = (normals * feet[close]).sum(axis=1) - room.margin
    if len(room.inward) == 0:
        return rows, limits
    corners = room.inward[(np.abs(room.inward - shift) < scale + reach).all(axis=1)]
    local = (corners - shift) / scale
    feet, normals, depths = _tangents(shape.boundary, local, np.zeros(2))
    close = depths > -reach / scale
    normals, feet, corners = normals[close], feet[close], corners[close]
    # `normals` point out of the lettering; an inward corner must stay beyond the tangent at its foot
    more = np.column_stack([(normals * feet).sum(axis=1), normals])
    bounds = (normals * corners).sum(axis=1) - room.margin
    return np.vstack([rows, more]), np.concatenate([limits, bounds])


def _rough_depths(room: Field, places: Array) -> Array:
    """Give depths from the raster, within about a cell; places off the raster count as outside."""
    cells = np.rint((places - room.origin) / room.cell).astype(np.int64)
    up, across = room.depths.shape
    x, y = cells.T
    inside = (x >= 0) & (y >= 0) & (x < across) & (y < up)
    x, y = np.where(inside, x, 0), np.where(inside, y, 0)
    return np.where(inside, room.depths[y, x], -room.cell)


def _tangents(boundary: Boundary, places: Array, inner: Array) -> tuple[Array, Array, Array]:
    """Give for each place its nearest boundary point, the outward normal there, and its depth (negative outside)."""
    if len(places) == 0:
        return np.empty((0, 2)), np.empty((0, 2)), np.empty(0)
    feet = boundary.feet(places)
    away = feet - places
    far = np.hypot(away[:, 0], away[:, 1])
    touching = np.asarray(far < 1e-12)
    if touching.any():
        nudged = places[touching] + 1e-7 * (inner - places[touching])
        away[touching] = boundary.feet(nudged) - nudged
    lengths = np.maximum(np.hypot(away[:, 0], away[:, 1]), 1e-300)
    signs = np.where(boundary.inside(places), 1.0, -1.0)
    signs = np.where(touching, 1.0, signs)
    return feet, away * (signs / lengths)[:, None], far * signs


def _refine(shape: _Shape, room: Field, scale: float, shift: Array, cap: float) -> tuple[float, Array] | None:
    """Climb from a rough fit to the nearest largest one; None when the way is lost."""
    x = np.array([scale, *shift])
    trust = 2 * room.cell
    objective = np.array([1.0, 0.0, 0.0])
    for _ in range(STEPS):
        rows, limits = _contacts(shape, room, float(x[0]), x[1:], 4 * trust + 2 * room.cell)
        rows = np.vstack([rows, objective])
        limits = np.append(limits, cap)
        step = linear.best(objective, rows, limits - rows @ x, reach=trust)
        if step is None:  # too far out to come back within the trusted distance: let go of size
            step = np.array([-trust, 0.0, 0.0])
        x = x + step
        if x[0] <= 0:
            return None
        longest = float(np.abs(step).max())
        if longest < STILL:
            return float(x[0]), x[1:]
        if longest < trust * 0.99:
            trust = max(longest, trust * 0.1)
        else:
            trust *= 0.8
    return float(x[0]), x[1:]


def _centred(shape: _Shape, room: Field, scale: float, shift: Array, target: Array) -> tuple[float, Array]:
    """Step towards the target shift as far as the scale allows."""
    trust = 2 * room.cell
    square = np.vstack([np.eye(2), -np.eye(2)])
    for _ in range(STEPS):
        rows, limits = _contacts(shape, room, scale, shift, 4 * trust)
        rows, limits = rows[:, 1:], np.maximum(limits - scale * rows[:, 0] - rows[:, 1:] @ shift, 0.0)
        step = linear.nearest(target - shift, np.vstack([rows, square]), np.concatenate([limits, np.full(4, trust)]))
        if step is None:
            break
        shift = shift + step
        longest = float(np.abs(step).max())
        if longest < 1e-7:
            break
        if longest < trust * 0.99:
            trust = max(longest, trust * 0.1)
    return scale, shift
