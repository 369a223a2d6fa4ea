"""About the largest fits in a zone of any form: looked for on a raster, then refined with a thinned-out outline.

Method: find the largest scale at which all points of the lettering, and some all over it, lie in cells inside the zone
(`raster`); take the deepest shifts there, and at somewhat smaller scales, as spots to start from; refine each with an
outline of fewer points (`successive_linear`), which is given up once it is clear that it ends below the best one.

Known limits: of 120 words in a ring, four came out 0.3 to 1.4 % smaller than the best of many starts (of 400 random
shapes one by 2.8 %), of 120 each in a star and a heart none by as much as 0.1 %. A place narrower than about two cells
is not seen, and a hole much smaller than a cell only when the result is checked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from nameplate.geometry import region
from nameplate.geometry.nearby import along, coarse_ring, contains_points
from nameplate.geometry.region import Array, Region
from nameplate.geometry.simplify import simplified
from nameplate.placement.objective import CENTRED, Objective
from nameplate.placement.successive_linear import SIMPLE, Field, LetterWalls, Pose, approximated, letter_walls, near_top

#: The first scale tried is the one that fits the box; each next is this much smaller until one fits. A smaller value
#: is quicker and may step over a size that fits when smaller ones do not.
LADDER = 0.92

#: So many scales are tried at most: the last is 0.7 % of the first.
MOST_RUNGS = 60

#: Spots are looked for at these shares of the largest scale on the raster: its order of spots is not the true one, and
#: between two walls that are not square to it that scale is up to a tenth too small. Smaller values find more spots,
#: and worse ones; each costs a look at the raster.
EASIER = (1.0, 0.98, 0.96, 0.94, 0.92)

#: Farthest spot-to-spot distance, in cells, at which two spots are one. Smaller ones refine the same place twice.
SPOT = 4


@dataclass(frozen=True, slots=True)
class Care:
    """How carefully the first stage looks.

    It looks through outlines within `step` of the lettering's (a share of half its size); `halvings` of the scale lie
    between the last rung that failed and the first that fitted, 4 settle it to half a percent; and at most so many
    `starts`, separate spots of the raster, are refined: most lose hope after a few steps.
    """

    step: float
    halvings: int
    starts: int


#: Before the second stage; and where nothing follows, for about how large a fit is.
CAREFUL, QUICK = Care(SIMPLE, 4, 10), Care(5e-3, 2, 1)


def first_stage(
    letters: Region, rings: tuple[Array, ...], room: Field, objective: Objective, care: Care, least: float = 0.0
) -> tuple[list[Pose], tuple[Array, Array]]:
    """Give fits of about the letters, at least at a scale, and the rows they are held by."""
    simple = letter_walls(tuple(coarse_ring(r, care.step) for r in rings))
    points = np.vstack([simple.points, _filling(letters, room.cell)])
    fits = _approximate_fits(simple, points, room, objective, care, least)
    return _evened(simple, points, room, objective, fits) if fits and objective.give else (fits, objective.rows())


def _approximate_fits(
    simple: LetterWalls, points: Array, room: Field, objective: Objective, care: Care, least: float
) -> list[Pose]:
    limit = objective.cap
    while True:
        spots = list(_spots(points, room, objective, limit, care, least))
        fits: list[Pose] = []
        for spot in spots:
            fit = approximated(simple, room, spot, objective.cap, objective.rows(), fits)
            fits += [] if fit is None else [fit]
        if fits or not spots:
            return fits
        limit = LADDER * spots[0].scale


def _evened(
    simple: LetterWalls, points: Array, room: Field, objective: Objective, fits: list[Pose]
) -> tuple[list[Pose], tuple[Array, Array]]:
    """Look for a fit nearer to the middle sideways that is smaller by no more than may be given up.

    Gives it with the band that holds it there, or the fits as they were.
    """
    best = near_top(fits, SIMPLE)
    now = min(abs(float(objective.sideways(f.scale, f.shift))) for f in best)
    least = (1 - objective.give) * best[0].scale
    score, shifts = room.raster.scores(points, objective, least) if now > CENTRED else (np.empty(0), np.empty((0, 2)))
    if len(score) == 0:
        return fits, objective.rows()
    off = np.abs(objective.sideways(least, shifts))
    start = Pose(least, shifts[int(np.argmax(np.where(off <= off.min() + room.cell / 2, score, -1.0)))])
    for width in (CENTRED, float(off.min()) + room.cell):
        band = objective.rows(width)
        even = approximated(simple, room, start, objective.cap, band) if width < now else None
        if even is not None and even.scale >= least * (1 - SIMPLE):
            return [even], band
    return fits, objective.rows()


def _spots(points: Array, room: Field, objective: Objective, cap: float, care: Care, least: float) -> Iterator[Pose]:
    """Give scales, from `least` up to a cap, and shifts from which to refine."""
    largest = _largest_on_raster(points, room, objective, cap, care, least)
    if largest is None:
        return
    scale, shifts = largest
    roomy = room.raster.shifts(points, objective, scale, deep=True) if scale >= cap else shifts[:0]
    if len(roomy):  # begin where it looks best
        yield Pose(scale, roomy[int(np.argmin(objective.away(scale, roomy)))], easy=True)
        return
    if scale >= LADDER * cap:  # the cap will be reached from several spots: try the one that looks best, too
        yield Pose(scale, shifts[int(np.argmin(objective.away(scale, shifts)))])
    found: list[Array] = []
    for share in EASIER[: care.starts]:
        score, shifts = room.raster.scores(points, objective, share * scale)
        for known in found:
            apart = np.hypot(*(shifts - known).T) >= SPOT * room.cell
            score, shifts = score[apart], shifts[apart]
        while len(score) and len(found) < care.starts:
            top = int(np.argmax(score))
            found.append(shifts[top])
            yield Pose(scale, shifts[top])
            apart = np.hypot(*(shifts - shifts[top]).T) >= SPOT * room.cell
            score, shifts = score[apart], shifts[apart]


def _largest_on_raster(
    points: Array, room: Field, objective: Objective, cap: float, care: Care, least: float
) -> tuple[float, Array] | None:
    """Give about the largest scale, from `least` up to a cap, at which the points lie inside, and the shifts there."""
    upper = scale = _fitting_box(points, room, objective, cap)
    for _ in range(MOST_RUNGS):
        shifts = room.raster.shifts(points, objective, scale)
        if len(shifts):
            break
        upper, scale = scale, scale * LADDER
        if scale < least:
            return None
    else:
        return None
    for _ in range(care.halvings if upper > scale else 0):
        middle = (scale + upper) / 2
        better = room.raster.shifts(points, objective, middle)
        if len(better):
            scale, shifts = middle, better
        else:
            upper = middle
    return scale, shifts


def _fitting_box(points: Array, room: Field, objective: Objective, cap: float) -> float:
    """Give the scale, at most a cap, at which the box of the points fits that of the zone."""
    low, high = points.min(axis=0), points.max(axis=0)
    size = room.cell * (np.array(room.raster.depths.shape[::-1]) - 1)
    first, last = room.raster.origin, room.raster.origin + size
    near = np.array([objective.aside, objective.upright if objective.level is None else np.inf])
    right = (last - objective.target + near) / np.maximum(high - objective.ink, 1e-9)
    left = (objective.target - first + near) / np.maximum(objective.ink - low, 1e-9)
    return float(min(cap, *(size / np.maximum(high - low, 1e-9)), *left, *right))


def _filling(letters: Region, cell: float) -> Array:
    """Give points all over the lettering and along its edges, two cells apart: no hole of a zone may hide there."""
    box = region.bounds(letters)
    x, y = np.meshgrid(np.arange(box.x0, box.x1, 2 * cell), np.arange(box.y0, box.y1, 2 * cell))
    lattice = np.column_stack([x.ravel(), y.ravel()])
    edge = along(simplified(letters, SIMPLE), 2 * cell)
    return np.vstack([lattice[contains_points(letters, lattice)], edge])
