"""The largest fit in a zone of any form: search on a raster, then refine until contacts are exact.

Terms. The *field* of a zone holds its walls and, on a square raster, how deep each place lies inside it. A *contact* is
a place where lettering and zone (nearly) touch: a point of the lettering at the zone's boundary, or an inward corner of
the zone at the lettering's. Method: (1) on the raster, find the largest scale for which all points of the lettering lie
inside, and the best shifts there; (2) from those, replace the zone by its tangents at the contacts, solve that linear
programme in scale, x and y, look for the contacts anew, until nothing moves; (3) at the scale found, step towards the
optical centre in the same manner.

Known limits: each fit is exact where it ended up, but where that is was chosen on the raster. Of 120 words in a ring,
four came out 0.3 to 1.4 % smaller than the best of many starts, of 120 each in a star and a heart none by as much as
0.1 %. A place narrower than about two cells is not seen, and a hole much smaller than a cell only when the result is
checked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from nameplate.geometry import linear, region
from nameplate.geometry.nearby import along, coarse_ring, contains_points
from nameplate.geometry.region import Array, Region
from nameplate.placement.active_walls import Walls, behind, walls
from nameplate.placement.objective import CENTRED, Objective
from nameplate.placement.raster import Raster, raster

#: Cells along the longer side of the zone. Twice as many see passages half as wide and take four times as long.
CELLS = 96

#: The first scale tried is the one that fits the box; each next is this much smaller until one fits. A smaller value
#: is quicker and may step over a size that fits when smaller ones do not.
LADDER = 0.92

#: Spots are looked for at these shares of the largest scale on the raster: its order of spots is not the true one, and
#: between two walls that are not square to it that scale is up to a tenth too small. Smaller values find more spots,
#: and worse ones; each costs a look at the raster.
EASIER = (1.0, 0.98, 0.96, 0.94, 0.92)

#: Farthest spot-to-spot distance, in cells, at which two spots are one. Smaller ones refine the same place twice.
SPOT = 4

#: Most refining steps; each about squares the error, so five or six usually do.
STEPS = 25

#: After the first so many steps a fit is given up when another step like the last would still leave it smaller than
#: the best one so far. Fewer give up words in a ring that climb late.
HOPE = 2

#: A refining step smaller than this (shares of half the zone's size) is the end.
STILL = 1e-9

#: The first refinement ends at this step: it only tells which fits are worth the last one, to a few times SIMPLE.
NEARLY_STILL = 1e-4

#: A fit that comes this near (cells) to one already found will end there too, and is given up. Larger values save
#: steps and may take two places for one.
SAME = 0.25

#: Nothing moves farther in a step than this many times what scale, x and y may each change by (|p| <= 1.42).
REACH = 2.5

#: The outlines of the first stage are within this share of half the lettering's size of it.
SIMPLE = 1e-3

#: The first refinement trusts itself this many cells far: a little more than the raster is wrong.
FIRST_TRUST = 1.5

#: The last refinement, with the whole outline, trusts itself this far (shares of half the zone's size).
LAST_TRUST = 4e-3


@dataclass(frozen=True, slots=True)
class _Care:
    """How carefully the first stage looks.

    It looks through outlines within `step` of the lettering's (a share of half its size); `halvings` of the scale lie
    between the last rung that failed and the first that fitted, 4 settle it to half a percent; and at most so many
    `starts`, separate spots of the raster, are refined: most lose hope after a few steps.
    """

    step: float
    halvings: int
    starts: int


#: Before the second stage; and where nothing follows, for about how large a fit is.
CAREFUL, QUICK = _Care(SIMPLE, 4, 10), _Care(5e-3, 2, 1)

#: The raster's scale is too small by less than this share.
SHORT = 0.1


@dataclass(frozen=True, slots=True)
class Field:
    """A zone of half-size 1 about the origin: its walls, its raster, its inward corners.

    `margin` is how far inside a fit stays; `simply` means without holes.
    """

    walls: Walls
    raster: Raster
    inward: Array
    margin: float
    simply: bool

    @property
    def cell(self) -> float:
        """The size of the raster's cells."""
        return self.raster.cell

    def largest(
        self, letters: Region, objective: Objective, holds: Callable[[float, Array], bool], *, centred: bool = True
    ) -> tuple[float, Array] | None:
        """Give scale and shift of the largest fit, then, when `centred`, as near to the target as that scale allows.

        `letters` is centred on the origin with half-size 1; `holds` tells whether the zone really holds it at a scale
        and shift: what slipped past something thinner than the raster does not count while there is another. None when
        nothing fits.
        """
        rings = _rings(letters, self)
        fits, band = _first_stage(letters, rings, self, objective, CAREFUL)
        whole = _shape(rings)
        equals = _near_top(_finished(whole, self, objective, fits, band, holds), 1e-6)
        if centred:
            equals = [_centred(whole, self, f, objective.ideal(f.scale), band) for f in equals]
        best = min(equals, key=lambda f: float(objective.away(f.scale, f.shift)), default=None)
        return None if best is None else (best.scale, best.shift)

    def about(self, letters: Region, objective: Objective, *, more_than: float = 0.0) -> float:
        """Give about the scale of the largest fit, from the first stage alone; 0 without one.

        `letters` is as for `largest`. When it is clearly no more than `more_than`, 0 is given, sooner.
        """
        fits, _ = _first_stage(letters, _rings(letters, self), self, objective, QUICK, (1 - SHORT) * more_than)
        return max((fit.scale for fit in fits), default=0.0)

    def settled(self, letters: Region, objective: Objective, shift: Array) -> tuple[float, Array] | None:
        """Climb to the cap from a shift, then step as near to the target as can be; None when the cap is not reached.

        `letters` is as for `largest`.
        """
        whole, band = _shape(_rings(letters, self)), objective.rows()
        found = _refine(
            whole, self, _Try(objective.cap, objective.held(objective.cap, shift)), objective.cap, LAST_TRUST, band
        )
        if found is None or found.scale < objective.cap * (1 - STILL):
            return None
        there = _centred(whole, self, found, objective.ideal(found.scale), band)
        return there.scale, there.shift


def field(zone: Region, *, margin: float) -> Field:
    """Prepare a zone whose box is centred on the origin and about 2 wide or high."""
    barrier = walls((*region.outer_rings(zone), *region.hole_rings(zone)))
    inward = barrier.starts[barrier.juts_first]
    return Field(barrier, raster(zone, CELLS), inward, margin, not region.hole_count(zone))


@dataclass(frozen=True, slots=True)
class _Shape:
    """Lettering of half-size 1 about the origin: its corners, and the walls that keep others out of it."""

    points: Array
    walls: Walls


def _shape(rings: tuple[Array, ...]) -> _Shape:
    return _Shape(np.vstack(rings), walls(tuple(r[::-1] for r in rings)))


# --- searching on the raster ----------------------------------------------------------------------------------------


def _first_stage(
    letters: Region, rings: tuple[Array, ...], room: Field, objective: Objective, care: _Care, least: float = 0.0
) -> tuple[list[_Try], tuple[Array, Array]]:
    """Give fits of about the letters, at least at a scale, and the rows they are held by."""
    simple = _shape(tuple(coarse_ring(r, care.step) for r in rings))
    points = np.vstack([simple.points, _filling(letters, room.cell)])
    fits = _approximate_fits(simple, points, room, objective, care, least)
    return _evened(simple, points, room, objective, fits) if fits and objective.give else (fits, objective.rows())


def _finished(
    whole: _Shape,
    room: Field,
    objective: Objective,
    fits: list[_Try],
    band: tuple[Array, Array],
    holds: Callable[[float, Array], bool],
) -> list[_Try]:
    """Refine the largest fits with the whole outline; where none of them holds, the next smaller ones that do."""
    best: list[_Try] = []
    while fits:
        top = _near_top(fits, 4 * SIMPLE)
        finished = [_refine(whole, room, f, objective.cap, LAST_TRUST, band) or f for f in top]
        if sound := [f for f in finished if holds(f.scale, f.shift)]:
            return sound
        best = best or finished
        fits = [f for f in fits if f.scale < min(t.scale for t in top)]
    return best


def _rings(letters: Region, room: Field) -> tuple[Array, ...]:
    """Give what can touch the zone: what surrounds a counter holds the counter, too, where the zone has no holes."""
    return region.outer_rings(letters) + (() if room.simply else region.hole_rings(letters))


def _near_top(fits: list[_Try], share: float) -> list[_Try]:
    top = max((f.scale for f in fits), default=0.0)
    return [f for f in fits if f.scale >= top * (1 - share)]


def _approximate_fits(
    simple: _Shape, points: Array, room: Field, objective: Objective, care: _Care, least: float
) -> list[_Try]:
    limit = objective.cap
    while True:
        spots = list(_spots(points, room, objective, limit, care, least))
        fits: list[_Try] = []
        for spot in spots:
            fit = _approximated(simple, room, spot, objective.cap, objective.rows(), fits)
            fits += [] if fit is None else [fit]
        if fits or not spots:
            return fits
        limit = LADDER * spots[0].scale


def _evened(
    simple: _Shape, points: Array, room: Field, objective: Objective, fits: list[_Try]
) -> tuple[list[_Try], tuple[Array, Array]]:
    """Look for a fit nearer to the middle sideways that is smaller by no more than may be given up.

    Gives it with the band that holds it there, or the fits as they were.
    """
    best = _near_top(fits, SIMPLE)
    now = min(abs(float(objective.sideways(f.scale, f.shift))) for f in best)
    least = (1 - objective.give) * best[0].scale
    score, shifts = room.raster.scores(points, objective, least) if now > CENTRED else (np.empty(0), np.empty((0, 2)))
    if len(score) == 0:
        return fits, objective.rows()
    off = np.abs(objective.sideways(least, shifts))
    start = _Try(least, shifts[int(np.argmax(np.where(off <= off.min() + room.cell / 2, score, -1.0)))])
    for width in (CENTRED, float(off.min()) + room.cell):
        band = objective.rows(width)
        even = _approximated(simple, room, start, objective.cap, band) if width < now else None
        if even is not None and even.scale >= least * (1 - SIMPLE):
            return [even], band
    return fits, objective.rows()


@dataclass(frozen=True, slots=True)
class _Try:
    """A scale and a shift; `easy` when nothing is near, so that there is nothing to refine."""

    scale: float
    shift: Array
    easy: bool = False


def _spots(points: Array, room: Field, objective: Objective, cap: float, care: _Care, least: float) -> Iterator[_Try]:
    """Give scales, from `least` up to a cap, and shifts from which to refine."""
    low, high = points.min(axis=0), points.max(axis=0)
    size = room.cell * (np.array(room.raster.depths.shape[::-1]) - 1)
    first, last = room.raster.origin, room.raster.origin + size
    near = np.array([objective.aside, objective.upright if objective.level is None else np.inf])
    right = (last - objective.target + near) / np.maximum(high - objective.ink, 1e-9)
    left = (objective.target - first + near) / np.maximum(objective.ink - low, 1e-9)
    scale = float(min(cap, *(size / np.maximum(high - low, 1e-9)), *left, *right))
    upper = scale
    for _ in range(60):
        shifts = room.raster.shifts(points, objective, scale)
        if len(shifts):
            break
        upper, scale = scale, scale * LADDER
        if scale < least:
            return
    else:
        return
    for _ in range(care.halvings if upper > scale else 0):
        middle = (scale + upper) / 2
        better = room.raster.shifts(points, objective, middle)
        if len(better):
            scale, shifts = middle, better
        else:
            upper = middle
    if scale >= cap and len(
        roomy := room.raster.shifts(points, objective, scale, deep=True)
    ):  # begin where it looks best
        yield _Try(scale, roomy[int(np.argmin(objective.away(scale, roomy)))], easy=True)
        return
    if scale >= LADDER * cap:  # the cap will be reached from several spots: try the one that looks best, too
        yield _Try(scale, shifts[int(np.argmin(objective.away(scale, shifts)))])
    found: list[Array] = []
    for share in EASIER[: care.starts]:
        score, shifts = room.raster.scores(points, objective, share * scale)
        for known in found:
            apart = np.hypot(*(shifts - known).T) >= SPOT * room.cell
            score, shifts = score[apart], shifts[apart]
        while len(score) and len(found) < care.starts:
            top = int(np.argmax(score))
            found.append(shifts[top])
            yield _Try(scale, shifts[top])
            apart = np.hypot(*(shifts - shifts[top]).T) >= SPOT * room.cell
            score, shifts = score[apart], shifts[apart]


def _filling(letters: Region, cell: float) -> Array:
    """Give points all over the lettering and along its edges, two cells apart: no hole of a zone may hide there."""
    box = region.bounds(letters)
    x, y = np.meshgrid(np.arange(box.x0, box.x1, 2 * cell), np.arange(box.y0, box.y1, 2 * cell))
    lattice = np.column_stack([x.ravel(), y.ravel()])
    edge = along(region.simplified(letters, SIMPLE), 2 * cell)
    return np.vstack([lattice[contains_points(letters, lattice)], edge])


# --- refining -------------------------------------------------------------------------------------------------------


def _rows(shape: _Shape, room: Field, scale: float, shift: Array, reach: float) -> tuple[Array, Array]:
    """Give rows and limits in (scale, x, y) that hold while nothing moves farther than `reach`."""
    placed = scale * shape.points + shift
    near = room.raster.read(placed) < reach
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


def _approximated(
    shape: _Shape, room: Field, start: _Try, cap: float, band: tuple[Array, Array], known: Sequence[_Try] = ()
) -> _Try | None:
    """Climb from a spot of the raster until it is clear about how large the fit there is."""
    return _refine(shape, room, start, cap, FIRST_TRUST * room.cell, band, still=NEARLY_STILL, known=known)


def _refine(
    shape: _Shape,
    room: Field,
    start: _Try,
    cap: float,
    trust: float,
    band: tuple[Array, Array],
    *,
    still: float = STILL,
    known: Sequence[_Try] = (),
) -> _Try | None:
    """Climb from a rough fit to the nearest largest one within a band, until a step is smaller than `still`.

    None when the way is lost, or when it clearly ends below the largest fit known, or at one of those.
    """
    if start.easy:
        return start
    x = np.array([start.scale, *start.shift])
    size = np.array([1.0, 0.0, 0.0])
    for count in range(STEPS):
        rows, limits = _rows(shape, room, float(x[0]), x[1:], REACH * trust)
        rows, limits = np.vstack([rows, band[0], size]), np.concatenate([limits, band[1], [cap]])
        step = linear.best(size, rows, limits - rows @ x, reach=trust)
        if step is None:  # too far out to come back within the trusted distance: let go of size
            step = np.array([-trust, 0.0, 0.0])
        x = x + step
        if x[0] <= 0 or (count + 1 >= HOPE and _hopeless(x, float(step[0]), room, known)):
            return None
        longest = float(np.abs(step).max())
        if longest < still:
            break
        trust = max(2 * longest, trust / 10) if longest < trust / 2 else trust * 0.8
    return _Try(float(x[0]), x[1:])


def _hopeless(x: Array, rise: float, room: Field, known: Sequence[_Try]) -> bool:
    """Tell whether (scale, x, y), about to rise again as last, stays clearly below the largest known, or is at one."""
    if not known:
        return False
    if x[0] + max(rise, 0.0) < max(f.scale for f in known) * (1 - 4 * SIMPLE):
        return True
    there = np.array([(f.scale, *f.shift) for f in known])
    return bool((np.abs(there - x).max(axis=1) < SAME * room.cell).any())


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
