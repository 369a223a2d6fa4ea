"""Narrow gaps: places where a lettering comes so near to itself that the space between cannot be cut.

They are opened where the webs allow it, and closed elsewhere.

Terms. A gap is *narrow* when it closes as the outline grows by some distance. What is shut off behind it then is an
*island*: the inside of a c whose ends nearly meet, or one part of a counter with a waist. A *slit* is a gap that the
beam cannot pass.

Two things ask for gaps of some width. A beam cannot pass one narrower than its kerf: it would leave a film across it,
thinner than any web. And the window of a template, which is the grown outline, would have an island there that falls
out: a large one is worth a web across the gap.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from nameplate.geometry.nearby import holds_point, nearest, within
from nameplate.geometry.region import (
    Array,
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

#: Smaller islands (mm2) of a template are not worth closing a gap for: the window opens a little there.
TEMPLATE_ISLAND = 4.0

#: A gap is as wide as the kerf times this at least, so that the beam does not burn its own way through what is left.
PASSABLE = 1.1

#: A gap that is opened gets as much more than that: it must not count as narrow again.
CLEARLY = 1.1

#: Smaller islands (mm2) are the bottom of a crevice that the beam rounds: nobody sees whether a film closes them.
LEAST_ISLAND = 0.02

#: What the closing of a gap filled lies as near (mm) as this to what is on either side of it.
TOUCHING = 0.01

#: What lies farther than this (mm) from an island is not looked at: longer channels do not come about by growing.
AROUND = 5.0

#: Turns of mending gaps: one for opening them, then widening the web that closes one may nearly close the next.
TURNS = 4


class NarrowGap(NamedTuple):
    """The way (2, 2) from an island out through the gap that shut it off, and whether that is a slit for the beam."""

    way: Array
    slit: bool


def mended(
    thick: Thickened, keep: Sequence[Region], *, web: float, kerf: float, crevice: float, window_growth: float = 0.0
) -> Thickened:
    """Open the narrow gaps without taking anything of what to `keep`, and close those that cannot be opened.

    Lengths in mm: the minimum `web`; how far the outline grows in the window of a template (`window_growth`, 0: there
    is none); the `kerf`; the radius of inner corners (`crevice`).
    """
    for turn in range(TURNS):
        narrow = narrow_gaps(thick.region, window_growth=window_growth, kerf=kerf)
        if not narrow:
            break
        whole = cleared(thick.region, narrow, union(*keep), web=web, kerf=kerf) if turn == 0 else thick.region
        if whole is not thick.region:
            thick = thick._replace(region=whole, graph=None)
        else:
            thick = with_pieces(whole, plugs(whole, narrow, web), web, crevice=crevice)
    return thick


def narrow_gaps(shape: Region, *, kerf: float, window_growth: float = 0.0) -> list[NarrowGap]:
    """Find the gaps that are too narrow.

    `window_growth` is how far (mm) the outline grows in the window of a template (0: there is none), `kerf` the
    beam's (mm).
    """
    beam = PASSABLE * kerf / 2
    return [*_of_outline(filled(shape), window_growth, beam), *_of_counters(holes(shape), beam)]


def plugs(shape: Region, narrow: Sequence[NarrowGap], web: float) -> list[Region]:
    """Give a web (mm wide) across each gap, which does not bulge out: no more than closing the shape would fill."""
    solid = filled(shape)
    return [_across(gap.way, solid, web) for gap in narrow]


def _across(way: Array, solid: Region, web: float) -> Region:
    strip = capsule(way, web)
    near = window(solid, bounds(offset(strip, 2 * web)))
    return intersection(strip, closed(near, web))


def cleared(shape: Region, narrow: Sequence[NarrowGap], letters: Region, *, web: float, kerf: float) -> Region:
    """Open the slits for the beam where that takes nothing of the letters, all webs (mm) hold and no piece falls off.

    Crevices are filled as far as a disc does not roll in; where two discs from both sides nearly meet in a gap, the
    cusps between them leave such slits.
    """
    for gap in narrow:
        if gap.slit:
            wider = difference(shape, difference(capsule(gap.way, PASSABLE * CLEARLY * kerf), letters))
            if len(solids(wider)) == len(solids(shape)) and webs_hold(wider, web):
                shape = wider
    return shape


def _of_outline(whole: Region, window_growth: float, beam: float) -> Iterator[NarrowGap]:
    """Give the gaps of a shape without counters: first those that a template's window asks about, then the slits."""
    grown = offset(whole, max(window_growth, beam))
    if not hole_count(grown):
        return
    if window_growth > beam:
        yield from (NarrowGap(way, False) for way in _through(grown, whole, window_growth, TEMPLATE_ISLAND))
        grown = offset(whole, beam)
    yield from (NarrowGap(way, True) for way in _through(grown, whole, beam, LEAST_ISLAND))


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


def _of_counters(counters: Region, beam: float) -> Iterator[NarrowGap]:
    """Give the places at which counters would fall apart."""
    if len(solids(offset(counters, -beam))) <= len(solids(counters)):
        return
    for counter in solids(counters):
        solid = difference(_around(counter), counter)
        first, *others = _parts(counter, beam) or [counter]
        linked: Shape = first
        while others:
            part = min(others, key=lambda other: distance(other, linked))
            yield NarrowGap(_way(part, linked, solid, beam), True)
            others.remove(part)
            linked = union(linked, part)


def _parts(counter: Solid, beam: float) -> Sequence[Solid]:
    parts = (part for part in solids(offset(counter, -beam)) if part.area > LEAST_ISLAND)
    return sorted(parts, key=lambda part: (-part.area, part.bounds))


def _around(shape: Shape) -> Region:
    return rectangle(*bounds(shape).grown(AROUND))
