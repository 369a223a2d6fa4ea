"""Webs: test that a solid is nowhere narrower than the minimum, and widen it where it is.

Terms. A *web* is a place where a solid is narrow and both sides matter: cutting it through would part the solid or
open a hole. The *core test* shrinks the solid by half the minimum web (less a slack): while every web holds, one body
with as many holes is left. The residue of an opening would miss short, sharp necks; the topology does not.

Thickening takes the middle line of the shape where it is narrower than the minimum and unites the shape with a strip
of the minimum width along it. Corners of strokes and wedges are left alone (a corner is narrow, but no web).

Two widened strokes that come too near each other to be cut apart grow together, and that place becomes a web too. So
one loop looks for webs under the minimum and for narrow gaps, widens and closes what it finds, and looks again.

Known limits: beside larger bodies, those under GRAIN mm2 after shrinking count as stroke tips; a neck that only parts
such bodies goes unseen.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from nameplate import tolerances
from nameplate.geometry import medial as graphs
from nameplate.geometry import region as geo
from nameplate.geometry.measure import cores, holds_disc, inscribed, without_dust, without_pinholes
from nameplate.geometry.nearby import contains_points
from nameplate.geometry.region import Region, Shape
from nameplate.geometry.ribbons import ribbon
from nameplate.geometry.simplify import simplified
from nameplate.lettering.narrow_gaps import narrow_gaps, plug

#: The strip is this much wider than the minimum web: covers the sampling error of the middle line.
OVER = 1.003

#: Crevices that a disc of this radius (mm) cannot enter are filled: no beam could cut them apart. Larger values make
#: strokes that only come near each other grow together.
CREVICE = 0.13

#: Where two widened strokes just touch, the filled crevice between them can be a film of no width, too thin for the
#: sampling to find: films thinner than this (mm) are cut then. A larger value blunts sharp corners.
FILM = 0.06

#: Counters whose inscribed circle is smaller than this (mm, diameter) are filled: they could not be cut cleanly.
PINHOLE = 0.6

#: A thin stroke is widened up to this many webs of outline from its tip: the strip's round end then just reaches it.
TIP = 1.2

#: A neck is widened up to this many webs of outline from a tip: nearer than a stroke, because it must be mended.
NECK = 0.5

#: Chord over diameter above which the two sides of an edge count as parallel (0.8: less than 74 degrees between them).
PARALLEL = 0.8

#: A thin end whose outline is shorter than this many webs is the corner of a stroke and stays sharp.
CORNER = 2.4

#: A neck found short by less than this (mm, in radius) is left: below the sampling error.
NEARLY = 0.01

#: Passes before giving up. Each further one costs as much as the first; two are nearly always enough.
PASSES = 6


class Thickened(NamedTuple):
    """The widened region, and whether every web holds now.

    `graph` is the region's medial graph where the work left it at hand (nothing had to be widened).
    """

    region: Region
    holds: bool
    graph: graphs.Medial | None = None


class Weak(NamedTuple):
    """A web under the minimum: where it is and how wide (mm)."""

    x: float
    y: float
    width: float


def webs_hold(region: Shape, web: float) -> bool:
    """Tell whether no web of any solid is narrower than `web` (mm) less WEB_SLACK.

    Each solid, shrunk by half of that, must keep one body and as many holes, as `cores` tells. An empty region holds.

    >>> webs_hold(geo.rectangle(0, 0, 10, 2), 1.5)
    True
    >>> webs_hold(geo.rectangle(0, 0, 10, 1), 1.5)
    False
    >>> webs_hold(geo.EMPTY, 1.5)
    True
    """
    light = simplified(region, tolerances.ARC)
    return all(_holds(s, (web - tolerances.WEB_SLACK) / 2) for s in geo.solids(light))


def _holds(solid: geo.Solid, depth: float) -> bool:
    bodies = cores(solid, depth)
    return len(bodies) == 1 and len(bodies[0].interiors) == len(solid.interiors)


def thicken(
    region: Shape,
    web: float,
    *,
    crevice: float = CREVICE,
    kerf: float = 0.0,
    window_growth: float = 0.0,
    spared: Region = geo.EMPTY,
    least: float = 0.0,
) -> Thickened:
    """Widen a region where its webs are under `web` mm; holes too small to cut are filled.

    `crevice` is the radius (mm) that every inner corner gets in what was widened: at least half the kerf. Gaps too
    narrow for a `kerf` or a template's `window_growth` are closed with a web (0: no gap is). Thin strokes in what is
    `spared` are widened to `least` mm only, if they are no necks.

    >>> bar = geo.union(geo.rectangle(0, 0, 4, 4), geo.rectangle(3, 1.8, 9, 2.2), geo.rectangle(8, 0, 12, 4))
    >>> webs_hold(bar, 1.5), webs_hold(thicken(bar, 1.5).region, 1.5)
    (False, True)
    >>> thicken(geo.EMPTY, 1.5).region.is_empty
    True
    """
    now = without_pinholes(geo.of_valid(region), PINHOLE)
    if now.is_empty or web <= 0:
        return Thickened(now, True)
    graph = graphs.medial(now)
    thin = _thin_strokes(graph, web)
    keep = thin.copy()
    keep[thin] = ~contains_points(spared, graph.edge_middle[thin])
    slight = thin & ~keep & (graph.edge_radius < least / 2)
    strips = ribbon(graph, keep, web * OVER), ribbon(graph, slight, least)
    wide = _stout(united(now, *strips, crevice=crevice), web)
    done = mended(wide, web, crevice=crevice, kerf=kerf, window_growth=window_growth)
    return done._replace(graph=graph if done.region is now else None)


def mended(region: Region, web: float, *, crevice: float, kerf: float = 0.0, window_growth: float = 0.0) -> Thickened:
    """Widen the webs that do not hold and close the gaps that are too narrow, until there are none; see `thicken`.

    Either can make the other: strokes that are widened come near each other, and what closes a gap is a web.
    """
    now = region
    for turn in range(PASSES):
        holds = webs_hold(now, web)
        gaps = narrow_gaps(now, kerf=kerf, window_growth=window_growth)
        if holds and not gaps:
            return Thickened(now, True)
        strips = geo.EMPTY
        if not holds:  # the longer it takes, the closer the look
            graph = graphs.medial(now, step=graphs.STEP / (1 + turn // 2))
            strips = ribbon(graph, _near(graph, graphs.necks(graph, web / 2 - NEARLY), web), web * OVER)
        wide = united(now, strips, *(plug(now, way, web) for way in gaps), crevice=crevice)
        now = wide if wide is not now else geo.opened(now, FILM / 2)
    return Thickened(now, webs_hold(now, web))


def united(shape: Region, *strips: Region, crevice: float) -> Region:
    """Add strips, and fill what they make of crevices (radius in mm) and holes too small to cut.

    Gives the very same shape where no strip has anything.
    """
    if all(strip.is_empty for strip in strips):
        return shape
    wide = geo.closed(geo.union(shape, *strips), crevice)
    return without_dust(simplified(without_pinholes(wide, PINHOLE), tolerances.ARC))


def _stout(shape: Region, web: float) -> Region:
    """Grow the pieces that are nowhere as wide as a web all round by what they lack: a dash or a dot is all tip, and
    no stroke of it would be widened. Gives the very same shape where there is none."""
    depth = (web - tolerances.WEB_SLACK) / 2
    slight = [s for s in geo.solids(shape) if not (holds_disc(s, depth) or cores(s, depth))]
    grown = [geo.offset(s, web * OVER / 2 - inscribed(s).r) for s in slight]
    return geo.union(shape, *grown) if grown else shape


def _thin_strokes(graph: graphs.Medial, web: float) -> geo.Flags:
    """Choose the edges that run along thin strokes: not near their tips, not into corners."""
    keep = (graph.edge_radius < web / 2) & (graph.apart > TIP * web)
    keep &= (graph.opening > PARALLEL) | (graph.edge_radius < 0.75 * graphs.STEP)
    group = graphs.components(graph, keep)
    longest = np.zeros(group.max(initial=0) + 1)
    np.maximum.at(longest, group[keep], graph.apart[keep])
    keep[keep] = longest[group[keep]] > CORNER * web
    return keep


def _near(graph: graphs.Medial, necks: geo.Indices, web: float) -> geo.Flags:
    """Choose the thin edges within a web of some necks."""
    thin = (graph.edge_radius < web / 2) & (graph.apart > NECK * web)
    middle = graph.edge_middle
    keep = np.zeros(len(thin), dtype=bool)
    for edge in necks:
        keep |= thin & (np.hypot(*(middle - middle[edge]).T) < web)
    return keep


def weakest(region: Shape, web: float) -> Weak | None:
    """Find the narrowest web under `web` mm, or None when all hold.

    Of a solid that is nowhere as wide as the minimum, its widest place is given.

    >>> weakest(geo.rectangle(0, 0, 10, 3), 1.5) is None
    True
    >>> round(weakest(geo.rectangle(0, 0, 10, 1), 1.5).width, 1)
    1.0
    """
    thin = [s for s in geo.solids(region) if not webs_hold(s, web)]
    if not thin:
        return None
    region = geo.union(*thin)
    graph = graphs.medial(region)
    found = graphs.necks(graph, web / 2)
    if len(found):
        x, y = graph.edge_middle[found[0]]
        return Weak(float(x), float(y), float(2 * graph.edge_radius[found[0]]))
    circle = min(map(inscribed, thin), key=lambda c: c.r)
    return Weak(circle.x, circle.y, 2 * circle.r) if 2 * circle.r < web else None
