"""Needles: corners so sharp that no beam holds their tips, and what rounds them.

Method: a tip is suspected where an outline turns left by more than a needle does, within the length that a round tip of
the wanted radius would take for it. Only round the suspects is the shape opened and compared, in patches, because
opening the whole of a lettering costs as much as making it.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from nameplate import tolerances
from nameplate.geometry import region as rg
from nameplate.geometry.nearby import distances
from nameplate.geometry.region import Array, Region, Shape, Solid

#: Corners sharper than this (degrees) are needles. Rounding a corner of half angle a with radius r takes
#: r (1 / sin a - 1) off its tip.
SHARP = 45.0

#: How far from a corner the mitre of a parallel may reach, in distances of the parallel, before it is cut off square:
#: the mitre of half angle a is 1 / sin a long, and every corner that is no needle keeps its own. A higher limit would
#: send a beam farther into the neighbour's gap.
MITRE_LIMIT = 1 / math.sin(math.radians(SHARP / 2))

#: A suspect's patch reaches this many radii from it: as far as rounding shortens a needle of three degrees.
PATCH = 40.0

#: Share of the patch in which tips count; nearer to its edge are corners that cutting the patch out made.
INNER = 0.75

#: Share of a needle's turn from which a place is suspected; lower ones look at more places for nothing.
SUSPICION = 0.9


def dulled(shape: Shape, radius: float) -> Region:
    """Round the tips of needles (corners sharper than SHARP) with the given radius; leave other corners sharp.

    On a needle, an error of e mm across moves the tip by e / sin(half its angle) along: a beam cannot hold it.

    >>> needle = rg.from_ring([(0, 0), (10, 0), (10, 1)])
    >>> round(rg.bounds(dulled(needle, 0.1)).x0, 1), dulled(rg.rectangle(0, 0, 5, 5), 0.1).area
    (1.9, 25.0)
    """
    places = _suspects(shape, radius) if radius > 0 else []
    needles = [n for at in places for n in _needles(shape, at, radius)]
    if not needles:
        return rg.as_region(shape)
    # grown a little, so that no thread of a needle's edge stays
    left = rg.difference(shape, rg.offset(rg.union(*needles), tolerances.ARC))
    return rg.of_solids(s for s in rg.solids(left) if s.area > tolerances.GRAIN)


def _suspects(shape: Shape, radius: float) -> list[tuple[float, float]]:
    """Give the middle of every stretch of outline that turns like a needle's tip, one a patch."""
    found: list[tuple[float, float]] = []
    for ring in (*rg.outer_rings(shape), *rg.hole_rings(shape)):
        for x, y in _tips(ring, radius):
            if all(math.hypot(x - u, y - v) > PATCH * radius / 4 for u, v in found):
                found.append((x, y))
    return found


def _tips(ring: Array, radius: float) -> list[list[float]]:
    """Give the vertices round which a ring, solid to its left, turns left by more than a needle's corner does."""
    ahead = np.roll(ring, -1, axis=0) - ring
    before = np.roll(ahead, 1, axis=0)
    turn = np.arctan2(before[:, 0] * ahead[:, 1] - before[:, 1] * ahead[:, 0], np.einsum("ij,ij->i", before, ahead))
    wanted = math.radians(180 - SHARP) * SUSPICION
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*ahead.T))])
    total = along[-1]
    place = np.concatenate([along[:-1], along[:-1] + total])
    sums = np.concatenate([[0.0], np.cumsum(np.tile(turn, 2))])
    start = np.arange(len(ring))
    stop = np.searchsorted(place, place[start] + wanted * radius, side="right")
    return [ring[i].tolist() for i in np.flatnonzero(sums[stop] - sums[start] > wanted)]


def _needles(shape: Shape, at: tuple[float, float], radius: float) -> list[Solid]:
    """Give what opening takes off the needle's tip at a place."""
    patch = rg.window(shape, _square(at, PATCH * radius))
    blunt = rg.opened(patch, radius)
    shortest = radius * (1 / math.sin(math.radians(SHARP / 2)) - 1)
    near = PATCH * radius / 4
    corners = _within(rg.points(patch), _square(at, INNER * PATCH * radius))
    depth = distances(blunt, corners)
    # the corner farthest from what is left tells how far a residue reaches
    telling = (depth > shortest) & (np.hypot(*(corners - at).T) < near + depth + 2 * radius)
    if not telling.any():
        return []
    taken = _taken(patch, blunt, _round(corners[telling], float(depth[telling].max()) + 2 * radius))
    spot = shapely.Point(at)
    residues = (s for s in rg.solids(taken) if shapely.distance(s, spot) <= near)
    return [s for s in residues if _extent(s) > shortest and _length(s, blunt) > shortest]


def _taken(patch: Region, blunt: Region, box: rg.Box) -> Region:
    """Give what a patch has and its blunt form has not, in a box: their edges nearly coincide, which takes long."""
    return rg.difference(rg.window(patch, box), rg.window(blunt, box))


def _within(places: Array, box: rg.Box) -> Array:
    """Keep the places, (n, 2), that lie in a box."""
    return places[((places >= (box.x0, box.y0)) & (places <= (box.x1, box.y1))).all(axis=1)]


def _round(places: Array, reach: float) -> rg.Box:
    """Give the box round places, (n, 2), and `reach` farther."""
    return rg.Box(*(places.min(axis=0) - reach).tolist(), *(places.max(axis=0) + reach).tolist())


def _square(at: tuple[float, float], reach: float) -> rg.Box:
    return rg.Box(at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach)


def _extent(solid: Solid) -> float:
    box = rg.bounds(solid)
    return math.hypot(box.width, box.height)


def _length(residue: Solid, blunt: Region) -> float:
    return float(distances(blunt, rg.points(residue)).max())
