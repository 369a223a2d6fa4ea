"""Acute tips: corners so sharp that no beam holds their tips, and what rounds them.

Method: a tip is suspected where an outline turns left by more than an acute tip does, within the length that a round
tip of the wanted radius would take for it. Only round the suspects is the shape opened and compared, in patches,
because opening the whole of a lettering costs as much as making it.
"""

from __future__ import annotations

import math
from typing import NamedTuple, TypeAlias

import numpy as np
import shapely

from nameplate import tolerances
from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.geometry.nearby import distances
from nameplate.geometry.planar import as_complex, turns_of
from nameplate.geometry.region import Array, Region, Shape, Solid
from nameplate.geometry.simplify import simplified

Place: TypeAlias = tuple[float, float]

#: Corners sharper than this (degrees) are acute tips. Rounding a corner of half angle a with radius r takes
#: r (1 / sin a - 1) off its tip.
SHARP = 45.0

#: How far from a corner the mitre of a parallel may reach, in distances of the parallel, before it is cut off square:
#: the mitre of half angle a is 1 / sin a long, and every corner that is no acute tip keeps its own. A higher limit
#: would send a beam farther into the neighbour's gap.
MITRE_LIMIT = 1 / math.sin(math.radians(SHARP / 2))

#: A suspect's patch reaches this many radii from it: as far as rounding shortens an acute tip of three degrees.
PATCH = 40.0

#: Where a rounded tip meets its sides, steps and spikes up to this (mm) are smoothed away; a parallel would have mitres
#: there. More would coarsen the tip.
SEAM = tolerances.ARC / 2

#: One look covers what is suspected within so many radii.
NEAR = PATCH / 4

#: Share of the patch in which tips count; nearer to its edge are corners that cutting the patch out made.
INNER = 0.75

#: Share of an acute tip's turn from which a place is suspected; lower ones look at more places for nothing.
SUSPICION = 0.9


class _Suspect(NamedTuple):
    """A place where an acute tip may be; `sharp` when the corner there is one, however little rounding takes off it."""

    at: Place
    sharp: bool


def dulled(shape: Shape, radius: float) -> Region:
    """Round the acute tips (corners sharper than SHARP) with the given radius; leave other corners sharp.

    On an acute tip, an error of e mm across moves the tip by e / sin(half its angle) along: a beam cannot hold it.

    >>> wedge = rg.from_ring([(0, 0), (10, 0), (10, 1)])
    >>> round(rg.bounds(dulled(wedge, 0.1)).x0, 1), dulled(rg.rectangle(0, 0, 5, 5), 0.1).area
    (1.9, 25.0)
    """
    suspects = _suspects(shape, radius) if radius > 0 else []
    found = [n for suspect in suspects for n in _acute_tips(shape, suspect, radius)]
    if not found:
        return rg.of_valid(shape)
    tips, rounded = (rg.union(*shapes) for shapes in zip(*found, strict=True))
    left = _seamless(rg.union(rg.difference(shape, tips), rounded), tips)
    return rg.of_solids(s for s in rg.solids(left) if s.area > tolerances.GRAIN)


def _seamless(shape: Region, tips: Region) -> Region:
    """Leave out the steps and spikes where rounded tips meet their sides; the outline elsewhere stays untouched."""
    beside = rg.offset(tips, 2 * tolerances.ARC)
    shapely.prepare(beside)
    plain = rg.points(simplified(shape, SEAM))
    kept = as_complex(plain[shapely.intersects_xy(beside, *plain.T)])

    def smooth(ring: Array) -> Array:
        near = np.asarray(shapely.intersects_xy(beside, *ring.T))
        near[near] = ~np.isin(as_complex(ring[near]), kept)
        return ring[~near]

    return rg.of_solids(
        solid
        for one in rg.solids(shape)
        for solid in rg.solids(rg.from_ring(smooth(rg.outer_rings(one)[0]), [smooth(h) for h in rg.hole_rings(one)]))
    )


def _suspects(shape: Shape, radius: float) -> list[_Suspect]:
    """Give the middle of every stretch of outline that turns like an acute tip, one a patch; sharp corners first."""
    tips = [tip for ring in rg.all_rings(shape) for tip in _tips(ring, radius)]
    found: list[_Suspect] = []
    for tip in sorted(tips, key=lambda t: not t.sharp):
        if all(math.dist(tip.at, other.at) > (0 if tip.sharp else NEAR * radius) for other in found):
            found.append(tip)
    return found


def _tips(ring: Array, radius: float) -> list[_Suspect]:
    """Give the vertices round which a ring, solid to its left, turns left by more than an acute tip's corner does."""
    ahead, turn = np.roll(ring, -1, axis=0) - ring, turns_of(ring)
    wanted = math.radians(180 - SHARP) * SUSPICION
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*ahead.T))])
    total = along[-1]
    place = np.concatenate([along[:-1], along[:-1] + total])
    sums = np.concatenate([[0.0], np.cumsum(np.tile(turn, 2))])
    start = np.arange(len(ring))
    stop = np.searchsorted(place, place[start] + wanted * radius, side="right")
    sharp = turn > math.radians(180 - SHARP)
    places = np.flatnonzero(sharp | (sums[stop] - sums[start] > wanted))
    return [_Suspect((float(ring[i, 0]), float(ring[i, 1])), bool(sharp[i])) for i in places]


def _acute_tips(shape: Shape, suspect: _Suspect, radius: float) -> list[tuple[Region, Region]]:
    """Give what opening takes off the acute tips at a place, and what it leaves there of each.

    What it takes is grown a little, so that no thread of an acute tip's edge stays; what it leaves makes up for that,
    and laps over what is there.
    """
    at = suspect.at
    patch = rg.window(shape, Box(*at, *at).grown(PATCH * radius))
    blunt = rg.opened(patch, radius)
    shortest = radius * (1 / math.sin(math.radians(SHARP / 2)) - 1)
    box = _reached(patch, blunt, suspect, radius, shortest)
    if box is None:
        return []
    # all edges that patch and blunt share nearly coincide, which takes long: only where an acute tip is
    taken = rg.difference(rg.window(patch, box), rg.window(blunt, box))
    spot = shapely.Point(at)
    residues = ((s, shapely.distance(s, spot)) for s in rg.solids(taken))
    found = [
        s
        for s, away in residues
        if (suspect.sharp and away < tolerances.SAME_POINT)
        or (away <= NEAR * radius and _extent(s) > shortest and distances(blunt, rg.points(s)).max() > shortest)
    ]
    return [(rg.offset(s, tolerances.ARC), rg.intersection(blunt, rg.offset(s, 2 * tolerances.ARC))) for s in found]


def _reached(patch: Region, blunt: Region, suspect: _Suspect, radius: float, shortest: float) -> Box | None:
    """Give a box round what opening takes off the acute tips at a place; None when there are none.

    An acute tip is a corner of the patch; it is no farther from where a disc touches its sides than from the disc and
    twice the radius more.
    """
    corners = rg.points(patch)
    off = np.abs(corners - suspect.at).max(axis=1)
    corners, off = corners[off < INNER * PATCH * radius], off[off < INNER * PATCH * radius]
    depth = distances(blunt, corners)
    reach = depth + 2 * radius
    telling = (depth > shortest) & (off < NEAR * radius + reach)
    telling |= suspect.sharp & (off < tolerances.SAME_POINT)
    if not telling.any():
        return None
    low, high = corners[telling].min(axis=0), corners[telling].max(axis=0)
    most, edge = float(reach[telling].max()), Box(*suspect.at, *suspect.at).grown(INNER * PATCH * radius)
    low, high = np.maximum(low - most, edge[:2]), np.minimum(high + most, edge[2:])
    return Box(*low.tolist(), *high.tolist())


def _extent(solid: Solid) -> float:
    box = rg.bounds(solid)
    return math.hypot(box.width, box.height)
