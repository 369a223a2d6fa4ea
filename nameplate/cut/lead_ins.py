"""Where the beam may pierce the sheet beside a cut: lead-ins, short straight lines through the waste.

A lead-in meets its cut at a right angle, or halves the corner there. It keeps the gap from every other part, and half
of its length from its own part, so that the place where it begins, a little wider than the kerf, spares both. Outside
of an outline is waste, unless the part lies in another one; inside of a hole is waste, too.

Known limit: a lead-in is as long as it is asked for or left away; it is not shortened where that would help.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nameplate import tolerances
from nameplate.cut.machine import CutRules
from nameplate.cut.start_points import leaving
from nameplate.geometry import region
from nameplate.geometry.curves.curve import Curve, drawn, flatten
from nameplate.geometry.curves.curve import line as straight
from nameplate.geometry.nearby import Segments, boxes_within
from nameplate.geometry.planar import Complex, as_complex, as_points, unit
from nameplate.geometry.region import Array, Flags, Indices

#: Shares of a lead-in at which it is looked at. Each place keeps half of its own way to the cut from all of its part's
#: cuts, so that the rooms overlap and none lies across; what is nearer to the cut than the last is within the kerf.
LOOKED_AT = (1.0, 0.5, 0.25, 0.125, 0.0625)


def led_in(line: Curve, pierced: Array) -> Curve:
    """Give the open curve that begins at a place (2,) and goes straight to the start of a line, and along it."""
    return Curve(
        np.concatenate([straight(pierced, line.start)[None], line.segments]), np.append(True, line.lines), closed=False
    )


@dataclass(frozen=True, slots=True, eq=False)
class Begun:
    """A closed cut of a sheet: whose it is, whether it is a hole, and in which ways it may be begun (curves)."""

    curve: Curve
    owner: int
    is_hole: bool
    ways: Sequence[Curve]


def lead_ins(cuts: Sequence[Begun], rules: CutRules) -> list[Complex]:
    """Give for each way in which each cut may begin the place where its lead-in begins, NaN where there is no room."""
    if not cuts:
        return []
    counts = [len(cut.ways) for cut in cuts]
    starts = np.array([complex(*way.start) for cut in cuts for way in cut.ways])
    aside = np.concatenate([_into_waste(cut) for cut in cuts])
    owners = np.repeat([cut.owner for cut in cuts], counts)
    free = np.repeat(~_within_others(cuts), counts) & _has_room(cuts, starts, aside, owners, rules)
    pierced = np.where(free, starts + aside * rules.style.lead_in, complex("nan"))
    return np.split(pierced, np.cumsum(counts)[:-1])


def _into_waste(cut: Begun) -> Complex:
    """Give the unit vector from the start of each way into the waste, square to the way there."""
    points = as_complex(flatten(cut.curve))  # between few knots a crescent may seem to run the other way round
    anticlockwise = (np.conj(points) * np.roll(points, -1)).imag.sum() > 0
    ways = np.array([_direction(way) for way in cut.ways])
    return ways * (1j if anticlockwise == cut.is_hole else -1j)


def _direction(way: Curve) -> complex:
    """Give the direction (a unit vector) in which a way begins; of a closed one, halfway to that in which it ends."""
    ends = as_complex(np.stack([way.segments[0], way.segments[-1, ::-1]]))
    ahead, behind = unit(leaving(ends, tolerances.SAME_POINT))
    return complex(unit(np.array([ahead - (behind if way.closed else -ahead)]))[0])


def _within_others(cuts: Sequence[Begun]) -> Flags:
    """Tell which outlines lie in another part, and not in a hole of it: what is round them is no waste."""
    areas = [region.from_ring(flatten(cut.curve, tolerances.CURVE)) for cut in cuts]
    boxes = np.array([tuple(region.bounds(area)) for area in areas])
    within = np.zeros(len(cuts), dtype=np.intp)
    for a, b in zip(*boxes_within(boxes, boxes), strict=True):
        if not cuts[a].is_hole and cuts[a].owner != cuts[b].owner and region.covers(areas[b], areas[a]):
            within[a] += -1 if cuts[b].is_hole else 1
    return within > 0


def _has_room(cuts: Sequence[Begun], starts: Complex, aside: Complex, owners: Indices, rules: CutRules) -> Flags:
    """Tell which lead-ins stay on the sheet and keep away from all cuts."""
    lines = [as_complex(drawn(cut.curve)) for cut in cuts]
    of_edge = np.repeat([cut.owner for cut in cuts], [len(line) - 1 for line in lines])
    edges = Segments(
        as_points(np.concatenate([line[:-1] for line in lines])),
        as_points(np.concatenate([line[1:] for line in lines])),
    )
    free = np.ones(len(starts), dtype=bool)
    for share in LOOKED_AT:
        way = share * rules.style.lead_in
        places = as_points(starts + way * aside)
        free &= (places >= rules.kerf).all(axis=1) & (
            places <= (rules.width - rules.kerf, rules.height - rules.kerf)
        ).all(axis=1)
        place, edge = edges.within(places, way / 2)
        free[place] = False
        place, edge = edges.within(places, max(rules.gap, rules.kerf))
        free[place[of_edge[edge] != owners[place]]] = False
    return free
