"""Narrow gaps: places where a shape comes so near to itself that the space between cannot be cut.

Terms. A gap is *narrow* when it closes as the outline grows by some distance. What is shut off behind it then is an
*island*: the inside of a c whose ends nearly meet, or one part of a counter with a waist.

Two things ask for gaps of some width. A beam cannot pass one narrower than its kerf: it would leave a film across it,
thinner than any web. And the window of a template, which is the grown outline, would have an island there that falls
out: a large one is worth a web across the gap.

Method: narrow gaps are to the spaces round a shape what thin webs are to the shape. Each space, shrunk by that
distance, must stay one body; where it does not, the necks of its medial graph are the gaps.
"""

from __future__ import annotations

from collections.abc import Iterator

from nameplate.geometry import region as geo
from nameplate.geometry.medial import STEP, medial, necks
from nameplate.geometry.region import Array, Region, Shape, solids

#: Smaller islands (mm2) of a template are not worth closing a gap for: the window opens a little there.
TEMPLATE_ISLAND = 4.0

#: A gap is as wide as the kerf times this at least, so that the beam does not burn its own way through what is left.
PASSABLE = 1.1

#: Smaller islands (mm2) are the bottom of a crevice that the beam rounds: nobody sees whether a film closes them.
LEAST_ISLAND = 0.02

#: The graph of a space tells the size of an island to within this share of it; the space itself, shrunk, has the say.
ROUGHLY = 0.5

#: The outside of a shape reaches so far (mm) beyond its hull...
AROUND = 5.0
#: ... and so many times what it shrinks by: twice leaves nothing of it, and what falls apart from nothing is not seen.
AROUND_DEPTHS = 3.0


def narrow_gaps(shape: Region, *, kerf: float, window_growth: float = 0.0) -> list[Array]:
    """Give the shortest way (2, 2) across each gap that is too narrow for a beam of this `kerf` or, where the outline
    grows by `window_growth` in the window of a template, for that (mm).

    >>> ring = geo.difference(geo.disc((0, 0), 20), geo.disc((0, 0), 14))
    >>> gapped = [geo.difference(ring, geo.rectangle(0, -w / 2, 12, w / 2)) for w in (0.0, 0.1, 0.3)]
    >>> [len(narrow_gaps(shape, kerf=0.18)) for shape in gapped]
    [0, 1, 0]
    """
    return [way for space, depth, least in _narrow(shape, kerf, window_growth) for way in _ways(space, depth, least)]


def _ways(space: Shape, depth: float, least: float) -> Array:
    """Give the ways (n, 2, 2) across the necks of a space that falls apart; the graph is refined until it shows one."""
    for step in (STEP, STEP / 2, STEP / 4):
        graph = medial(space, step=step)
        within = depth + step**2 / (8 * depth)  # what the samples may tell too much of a radius
        found = necks(graph, within, least=ROUGHLY * least, rings=False)
        if len(found):
            break
    return graph.sites[found]


def plug(shape: Region, way: Array, web: float) -> Region:
    """Give a web (mm wide) across a gap, which does not bulge out: no more than closing the shape would fill."""
    strip = geo.capsule(way, web)
    return geo.intersection(strip, geo.closed(geo.window(shape, geo.bounds(strip).grown(2 * web)), web))


def _narrow(shape: Region, kerf: float, window_growth: float) -> Iterator[tuple[Shape, float, float]]:
    """Give the spaces that fall apart when they shrink, by how much they do, and the least island that counts."""
    whole, counters, beam = geo.filled(shape), geo.holes(shape), PASSABLE * kerf / 2
    for depth, least in ((beam, LEAST_ISLAND), (window_growth, TEMPLATE_ISLAND)):
        if depth and any(island.area > least for island in solids(geo.holes(geo.offset(whole, depth)))):
            around = max(AROUND, AROUND_DEPTHS * depth)
            yield geo.difference(geo.offset(geo.hull(whole), around), whole), depth, least
    if beam and len(solids(geo.offset(counters, -beam))) > len(solids(counters)):
        for counter in solids(counters):
            if sum(part.area > LEAST_ISLAND for part in solids(geo.offset(counter, -beam))) > 1:
                yield counter, beam, LEAST_ISLAND
