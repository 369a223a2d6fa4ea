"""The largest fit in a zone of any form: a search on a raster, then a climb until the contacts are exact.

Method: (1) about how large the fits are, and where, is told by a raster (`raster_search`); (2) the largest of them are
refined with the whole outline, by successive linear programming (`successive_linear`); (3) at the scale found they step
towards the optical centre in the same manner.

Known limits: each fit is exact where it ended up, but where that is was chosen on the raster.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from nameplate.geometry import region
from nameplate.geometry.region import Array, Region
from nameplate.placement.active_walls import walls
from nameplate.placement.objective import Objective, Pose
from nameplate.placement.raster import raster
from nameplate.placement.raster_search import CAREFUL, QUICK, first_stage
from nameplate.placement.successive_linear import SIMPLE, STILL, Climb, Field, near_top

#: Cells along the longer side of the zone. Twice as many see passages half as wide and take four times as long.
CELLS = 96

#: The raster's scale is too small by less than this share.
SHORT = 0.1


@dataclass(frozen=True, slots=True)
class NonConvex:
    """A zone of any form, prepared for many fits: its field."""

    field: Field

    def largest(
        self, letters: Region, objective: Objective, holds: Callable[[Pose], bool], *, centred: bool = True
    ) -> Pose | None:
        """Give the largest fit, then, when `centred`, as near to the target as its scale allows.

        `letters` is centred on the origin with half-size 1; `holds` tells whether the zone really holds it so: what
        slipped past something thinner than the raster does not count while there is another. None when nothing fits.
        """
        rings = _rings(letters, self.field)
        fits, band = first_stage(letters, rings, self.field, objective, CAREFUL)
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
        fits, _ = first_stage(letters, rings, self.field, objective, QUICK, least)
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
    barrier = walls((*region.outer_rings(zone), *region.hole_rings(zone)))
    inward = barrier.starts[barrier.juts_first]
    return NonConvex(Field(barrier, raster(zone, CELLS), inward, margin, not region.hole_count(zone)))


def _finished(
    whole: Climb, objective: Objective, fits: list[Pose], band: tuple[Array, Array], holds: Callable[[Pose], bool]
) -> list[Pose]:
    """Refine the largest fits with the whole outline; where none of them holds, the next smaller ones that do."""
    best: list[Pose] = []
    while fits:
        top = near_top(fits, 4 * SIMPLE)
        finished = [whole.refined(f, objective.cap, band) or f for f in top]
        if sound := [f for f in finished if holds(f)]:
            return sound
        best = best or finished
        fits = [f for f in fits if f.scale < min(t.scale for t in top)]
    return best


def _rings(letters: Region, room: Field) -> tuple[Array, ...]:
    """Give what can touch the zone: what surrounds a counter holds the counter, too, where the zone has no holes."""
    return region.outer_rings(letters) + (() if room.simply else region.hole_rings(letters))
