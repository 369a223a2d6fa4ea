"""The largest fit in a zone of any form: a search on a raster, then a climb until the contacts are exact.

Method: (1) find the largest scale at which all points of the lettering, and some all over it, lie in cells inside the
zone (`raster`); take the deepest shifts there, and at somewhat smaller scales, as spots to start from; refine each with
an outline of fewer points (`successive_linear`), which is given up once it is clear that it ends below the best one;
(2) the largest are refined with the whole outline; (3) at the scale found they step towards the optical centre.

Known limits: each fit is exact where it ended up, but where that is was chosen on the raster. Of 120 words in a ring,
four came out 0.3 to 1.4 % smaller than the best of many starts (of 400 random shapes one by 2.8 %), of 120 each in a
star and a heart none by as much as 0.1 %. A place narrower than about two cells is not seen, and a hole much smaller
than a cell only when the result is checked.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from nameplate.geometry import region
from nameplate.geometry.nearby import along, coarse_ring, contains_points
from nameplate.geometry.region import Array, Region
from nameplate.geometry.simplify import simplified
from nameplate.placement.active_walls import walls
from nameplate.placement.objective import CENTRED, Holds, Objective, Pose
from nameplate.placement.raster import raster
from nameplate.placement.successive_linear import SIMPLE, STILL, Climb, Field, near_top

#: Cells along the longer side of the zone. Twice as many see passages half as wide and take four times as long.
CELLS = 96

#: The raster's scale is too small by less than this share.
SHORT = 0.1

#: The first scale tried is the one that fits the box; each next is this much smaller until one fits. A smaller value
#: is quicker and may step over a size that fits when smaller ones do not.
LADDER = 0.92

#: So many scales are tried at most: the last is 0.7 % of the first.
MOST_RUNGS = 60

#: Spots are looked for at these shares of the largest scale on the raster: its order of spots is not the true one, and
#: between two walls that are not square to it that scale is up to a tenth too small. Smaller values find more spots,
#: and worse ones; each costs a look at the raster.
EASIER = (1.0, 0.98, 0.96, 0.94, 0.92)

#: A spot is refined to this step: that only tells which fits are worth the last refinement, to a few times SIMPLE.
NEARLY_STILL = 1e-4

#: It is trusted this many cells far at first: a little more than the raster is wrong.
FIRST_TRUST = 1.5

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


@dataclass(frozen=True, slots=True)
class NonConvex:
    """A zone of any form, prepared for many fits: its field."""

    field: Field

    def largest(
        self, letters: Region, objective: Objective, holds: Holds | None = None, *, centred: bool = True
    ) -> Pose | None:
        """Give the largest fit, then, when `centred`, as near to the target as its scale allows.

        `letters` is centred on the origin with half-size 1; `holds` tells whether the zone really holds it so: what
        slipped past something thinner than the raster does not count while there is another. None when nothing fits.
        """
        rings = _rings(letters, self.field)
        fits, band = _first_stage(letters, rings, self.field, objective, CAREFUL)
        whole = Climb.of(rings, self.field)
        equals = near_top(_finished(whole, objective, fits, band, holds), 1e-6)
        if centred:
            equals = [whole.towards(f, objective.ideal(f.scale), band) for f in equals]
        return min(equals, key=lambda f: float(objective.away(f.scale, f.shift)), default=None)

    def about(self, letters: Region, objective: Objective, *, more_than: float = 0.0) -> float:
        """Give about the scale of the largest fit, from the first stage alone; 0 without one.

        `letters` is as for `largest`. When it is clearly no more than `more_than`, 0 is given, sooner.
        """
        rings, least = _rings(letters, self.field), (1 - SHORT) * more_than
        fits, _ = _first_stage(letters, rings, self.field, objective, QUICK, least)
        return max((fit.scale for fit in fits), default=0.0)

    def settled(self, letters: Region, objective: Objective, shift: Array) -> Pose | None:
        """Climb to the cap from a shift, then step as near to the target as can be; None when the cap is not reached.

        `letters` is as for `largest`.
        """
        whole, band = Climb.of(_rings(letters, self.field), self.field), objective.rows()
        start = Pose(objective.cap, objective.held(objective.cap, shift))
        found = whole.refined(start, objective.cap, band)
        if found is None or found.scale < objective.cap * (1 - STILL):
            return None
        return whole.towards(found, objective.ideal(found.scale), band)


def nonconvex(zone: Region, *, margin: float) -> NonConvex:
    """Prepare a zone whose box is centred on the origin and about 2 wide or high."""
    barrier = walls(region.all_rings(zone))
    inward = barrier.starts[barrier.juts_first]
    return NonConvex(Field(barrier, raster(zone, CELLS), inward, margin, not region.hole_count(zone)))


def _finished(
    whole: Climb, objective: Objective, fits: list[Pose], band: tuple[Array, Array], holds: Holds | None
) -> list[Pose]:
    """Refine the largest fits with the whole outline; where none of them holds, the next smaller ones that do."""
    best: list[Pose] = []
    while fits:
        top = near_top(fits, 4 * SIMPLE)
        finished = [whole.refined(f, objective.cap, band) or f for f in top]
        if sound := [f for f in finished if holds is None or holds(f)]:
            return sound
        best = best or finished
        fits = [f for f in fits if f.scale < min(t.scale for t in top)]
    return best


def _rings(letters: Region, room: Field) -> tuple[Array, ...]:
    """Give what can touch the zone: what surrounds a counter holds the counter, too, where the zone has no holes."""
    return region.outer_rings(letters) if room.simply else region.all_rings(letters)


# --- the first stage --------------------------------------------------------------------------------------------------


def _first_stage(
    letters: Region, rings: tuple[Array, ...], room: Field, objective: Objective, care: Care, least: float = 0.0
) -> tuple[list[Pose], tuple[Array, Array]]:
    """Give fits of about the letters, at least at a scale, and the rows they are held by."""
    simple = Climb.of(tuple(coarse_ring(r, care.step) for r in rings), room)
    search = _Search(simple, np.vstack([simple.points, _filling(letters, room.cell)]), room, objective, care, least)
    fits = search.fits()
    return search.evened(fits) if fits and objective.give else (fits, objective.rows())


@dataclass(frozen=True, slots=True)
class _Search:
    """Lettering with few corners, the `points` of it that must lie inside, and how its fits are looked for."""

    simple: Climb
    points: Array
    room: Field
    objective: Objective
    care: Care
    least: float

    def fits(self) -> list[Pose]:
        """Refine what the raster proposes; where nothing comes of it, what it proposes for smaller scales."""
        limit = self.objective.cap
        while True:
            spots = list(self._spots(limit))
            fits: list[Pose] = []
            for spot in spots:
                fit = self._approximated(spot, self.objective.rows(), fits)
                fits += [] if fit is None else [fit]
            if fits or not spots:
                return fits
            limit = LADDER * spots[0].scale

    def _approximated(self, spot: Pose, band: tuple[Array, Array], known: Sequence[Pose] = ()) -> Pose | None:
        """Climb from a spot of the raster until it is clear about how large the fit there is."""
        trust = FIRST_TRUST * self.room.cell
        return self.simple.refined(spot, self.objective.cap, band, trust=trust, still=NEARLY_STILL, known=known)

    def evened(self, fits: list[Pose]) -> tuple[list[Pose], tuple[Array, Array]]:
        """Look for a fit nearer to the middle sideways that is smaller by no more than may be given up.

        Gives it with the band that holds it there, or the fits as they were.
        """
        objective, room, best = self.objective, self.room, near_top(fits, SIMPLE)
        now = min(abs(float(objective.sideways(f.scale, f.shift))) for f in best)
        least = (1 - objective.give) * best[0].scale
        if now <= CENTRED:
            return fits, objective.rows()
        score, shifts = room.raster.scores(self.points, objective, least)
        if len(score) == 0:
            return fits, objective.rows()
        off = np.abs(objective.sideways(least, shifts))
        start = Pose(least, shifts[int(np.argmax(np.where(off <= off.min() + room.cell / 2, score, -1.0)))])
        for width in (CENTRED, float(off.min()) + room.cell):
            band = objective.rows(width)
            even = self._approximated(start, band) if width < now else None
            if even is not None and even.scale >= least * (1 - SIMPLE):
                return [even], band
        return fits, objective.rows()

    def _spots(self, cap: float) -> Iterator[Pose]:
        """Give scales, from the least up to a cap, and shifts from which to refine."""
        objective, raster = self.objective, self.room.raster
        largest = self._largest_on_raster(cap)
        if largest is None:
            return
        scale, shifts = largest
        roomy = raster.shifts(self.points, objective, scale, deep=True) if scale >= cap else shifts[:0]
        if len(roomy):  # begin where it looks best
            yield Pose(scale, roomy[int(np.argmin(objective.away(scale, roomy)))], easy=True)
            return
        if scale >= LADDER * cap:  # the cap will be reached from several spots: try the one that looks best, too
            yield Pose(scale, shifts[int(np.argmin(objective.away(scale, shifts)))])
        found: list[Array] = []
        for share in EASIER[: self.care.starts]:
            score, shifts = raster.scores(self.points, objective, share * scale)
            for known in found:
                score, shifts = self._apart(score, shifts, known)
            while len(score) and len(found) < self.care.starts:
                found.append(shifts[int(np.argmax(score))])
                yield Pose(scale, found[-1])
                score, shifts = self._apart(score, shifts, found[-1])

    def _apart(self, score: Array, shifts: Array, known: Array) -> tuple[Array, Array]:
        """Leave out the spots that are one with a known one."""
        apart = np.hypot(*(shifts - known).T) >= SPOT * self.room.cell
        return score[apart], shifts[apart]

    def _largest_on_raster(self, cap: float) -> tuple[float, Array] | None:
        """Give about the largest scale up to a cap at which the points lie inside, and the shifts there."""
        raster = self.room.raster
        upper = scale = self._fitting_box(cap)
        for _ in range(MOST_RUNGS):
            shifts = raster.shifts(self.points, self.objective, scale)
            if len(shifts):
                break
            upper, scale = scale, scale * LADDER
            if scale < self.least:
                return None
        else:
            return None
        for _ in range(self.care.halvings if upper > scale else 0):
            middle = (scale + upper) / 2
            better = raster.shifts(self.points, self.objective, middle)
            if len(better):
                scale, shifts = middle, better
            else:
                upper = middle
        return scale, shifts

    def _fitting_box(self, cap: float) -> float:
        """Give the scale, at most a cap, at which the box of the points fits that of the zone."""
        objective, raster = self.objective, self.room.raster
        low, high = self.points.min(axis=0), self.points.max(axis=0)
        size = raster.cell * (np.array(raster.depths.shape[::-1]) - 1)
        first, last = raster.origin, raster.origin + size
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
