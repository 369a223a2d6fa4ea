"""Bays of a lettering whose mouths are too narrow to be cut: opened where the webs allow it, closed elsewhere.

Terms. A *bay* is a place between strokes that is open on one side; its *mouth* is the narrowest place of the opening.
An *island* is what is left of a bay, or of a part of a counter, when the outline grows until the mouth is closed.

Two things ask for mouths of some width. A beam cannot pass one narrower than its kerf: it would leave a film across
it, thinner than any web. And the window of a template would have an island there that falls out: a large one is worth a
web across the mouth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from nameplate.geometry.nearby import holds_point, nearest, within
from nameplate.geometry.region import (
    Array,
    Box,
    Region,
    Shape,
    Solid,
    bounds,
    capsule,
    closed,
    difference,
    distance,
    filled,
    hole_count,
    holes,
    intersection,
    offset,
    rectangle,
    solids,
    union,
    window,
)
from nameplate.lettering.webs import Thickened, webs_hold, with_pieces

#: Smaller islands (mm2) of a template are not worth closing a bay for: the window opens a little there.
BAY_AREA = 4.0

#: A mouth is as wide as the kerf times this at least, so that the beam does not burn its own way through what is left.
PASSABLE = 1.1

#: A mouth that is opened gets as much more than that: it must not count as narrow again.
CLEARLY = 1.1

#: Smaller islands (mm2) are the bottom of a crevice that the beam rounds: nobody sees whether a film closes them.
LEAST_ISLAND = 0.02

#: What the closing of a mouth filled lies as near (mm) as this to what is on either side of it.
TOUCHING = 0.01

#: What lies farther than this (mm) from an island is not looked at: longer channels do not come about by growing.
AROUND = 5.0

#: Turns of mending mouths: one for opening them, then widening the web that closes one may nearly close the next.
TURNS = 4


class Mouth(NamedTuple):
    """The way (2, 2) from an island through the mouth that closed it, and whether it was the beam that needs width."""

    way: Array
    slit: bool


def mended(
    thick: Thickened, keep: Sequence[Region], *, web: float, bay: float, kerf: float, crevice: float
) -> Thickened:
    """Open the mouths that are too narrow without taking anything of what to `keep`, and close those that cannot be.

    Lengths in mm: the minimum `web`; how far the outline grows in the window of a template (`bay`, 0: there is none);
    the `kerf`; the radius of inner corners (`crevice`).
    """
    for turn in range(TURNS):
        narrow = mouths(thick.region, bay=bay, kerf=kerf)
        if not narrow:
            break
        whole = cleared(thick.region, narrow, union(*keep), web=web, kerf=kerf) if turn == 0 else thick.region
        if whole is not thick.region:
            thick = thick._replace(region=whole, graph=None)
        else:
            thick = with_pieces(whole, plugs(whole, narrow, web), web, crevice=crevice)
    return thick


def mouths(shape: Region, *, bay: float, kerf: float) -> list[Mouth]:
    """Find the mouths that are too narrow.

    `bay` is how far (mm) the outline grows in the window of a template (0: there is none), `kerf` the beam's (mm).
    """
    beam = PASSABLE * kerf / 2
    return [*_of_bays(filled(shape), bay, beam), *_of_counters(holes(shape), beam)]


def plugs(shape: Region, narrow: Sequence[Mouth], web: float) -> list[Region]:
    """Give a web (mm wide) across each mouth, which does not bulge out: no more than closing the shape would fill."""
    solid = filled(shape)
    return [_across(mouth.way, solid, web) for mouth in narrow]


def _across(way: Array, solid: Region, web: float) -> Region:
    strip = capsule(way, web)
    near = window(solid, Box(*bounds(offset(strip, 2 * web))))
    return intersection(strip, closed(near, web))


def cleared(shape: Region, narrow: Sequence[Mouth], letters: Region, *, web: float, kerf: float) -> Region:
    """Open the slits for the beam where that takes nothing of the letters, all webs (mm) hold and no piece falls off.

    Crevices are filled as far as a disc does not roll in; where two discs from both sides nearly meet in a mouth, the
    cusps between them leave such slits.
    """
    for mouth in narrow:
        if mouth.slit:
            wider = difference(shape, difference(capsule(mouth.way, PASSABLE * CLEARLY * kerf), letters))
            if len(solids(wider)) == len(solids(shape)) and webs_hold(wider, web):
                shape = wider
    return shape


def _of_bays(whole: Region, bay: float, beam: float) -> Iterator[Mouth]:
    grown = offset(whole, max(bay, beam))
    if not hole_count(grown):
        return
    if bay > beam:
        yield from (Mouth(way, False) for way in _through(grown, whole, bay, BAY_AREA))
        grown = offset(whole, beam)
    yield from (Mouth(way, True) for way in _through(grown, whole, beam, LEAST_ISLAND))


def _through(grown: Region, whole: Region, growth: float, least: float) -> Iterator[Array]:
    """Give the ways from the islands of a grown shape to what is outside."""
    islands = [island for island in solids(holes(grown)) if island.area > least]
    if not islands:
        return
    outside = difference(_around(grown), filled(grown))
    yield from (_way(island, outside, whole, growth) for island in islands)


def _way(island: Shape, beyond: Shape, shape: Region, growth: float) -> Array:
    """Give the way (2, 2) from an island to what is beyond: through what growing closed, not across a stroke."""
    box = bounds(_around(island))
    if not window(beyond, box).is_empty:
        beyond, shape = window(beyond, box), window(shape, box)
    one, other = offset(island, growth), offset(beyond, growth)
    way = np.array(nearest(one, other))
    if not holds_point(shape, (float(way[:, 0].mean()), float(way[:, 1].mean()))):
        return way
    for fill in solids(difference(closed(shape, growth + TOUCHING), shape)):
        if within(fill, one, TOUCHING) and within(fill, other, TOUCHING):
            return np.array([nearest(one, fill)[1], nearest(other, fill)[1]])
    return way


def _of_counters(counters: Region, beam: float) -> Iterator[Mouth]:
    """Give the places at which counters would fall apart."""
    if len(solids(offset(counters, -beam))) <= len(solids(counters)):
        return
    for counter in solids(counters):
        solid = difference(_around(counter), counter)
        first, *others = _parts(counter, beam) or [counter]
        linked: Shape = first
        while others:
            part = min(others, key=lambda other: distance(other, linked))
            yield Mouth(_way(part, linked, solid, beam), True)
            others.remove(part)
            linked = union(linked, part)


def _parts(counter: Solid, beam: float) -> Sequence[Solid]:
    parts = (part for part in solids(offset(counter, -beam)) if part.area > LEAST_ISLAND)
    return sorted(parts, key=lambda part: (-part.area, part.bounds))


def _around(shape: Shape) -> Region:
    box = bounds(shape)
    return rectangle(box.x0 - AROUND, box.y0 - AROUND, box.x1 + AROUND, box.y1 + AROUND)
