"""Webs: test that a solid is nowhere narrower than the minimum, and widen it where it is.

Terms. A *web* is a place where a solid is narrow and both sides matter: cutting it through would part the solid or
open a hole. The *core test* shrinks the solid by half the minimum web (less a slack): while every web holds, one body
with as many holes is left. The residue of an opening would miss short, sharp necks; the topology does not.

Thickening takes the middle line of the shape where it is narrower than the minimum and unites the shape with a strip
of the minimum width along it. Corners of strokes and wedges are left alone (a corner is narrow, but no web).

Two widened strokes that come too near each other to be cut apart grow together, and that place becomes a web too.

Known limits: beside larger bodies, those under GRAIN mm2 after shrinking count as stroke tips; a neck that only parts
such bodies goes unseen.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from nameplate import tolerances
from nameplate.geometry import medial as graphs
from nameplate.geometry import region as geo
from nameplate.geometry.measure import cores, inscribed, without_dust, without_pinholes
from nameplate.geometry.nearby import contains_points
from nameplate.geometry.region import Box, Region, Shape
from nameplate.geometry.ribbons import ribbon
from nameplate.geometry.simplify import simplified

#: The strip is this much wider than the minimum web: covers the sampling error of the middle line.
OVER = 1.003

#: Crevices that a disc of this radius (mm) cannot enter are filled: no beam could cut them apart. Larger values make
#: strokes that only come near each other grow together.
CREVICE = 0.13

#: Where two widened strokes just touch, the filled crevice between them can be a film of no width; films thinner than
#: this (mm) are cut away. A larger value blunts sharp corners.
FILM = 0.06

#: Fills thinner than twice this (mm) are left-overs of nearly equal edges.
SHAVING = 0.004

#: A film is cut with the crevice's radius; what is filled there afterwards has this part of it, or it would come back.
WARY = 0.64

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

#: What is added to a region makes webs of what lies within this many webs of it: as far from a tip as its outline is
#: left alone, and a ribbon's end farther. More takes longer.
NEAR = 3.0

#: Passes before giving up. Each further one costs as much as the first; two are nearly always enough.
PASSES = 6


#: Passes in which films are cut; later ones widen them, in case they come back each time.
PATIENCE = 3


class Thickened(NamedTuple):
    """The widened region, the area it gained (0.1 = 10 %), the passes it took, whether every web holds now.

    `graph` is the region's medial graph where the work left it at hand (nothing had to be widened).
    """

    region: Region
    added: float
    passes: int
    holds: bool
    graph: graphs.Medial | None = None


class Weak(NamedTuple):
    """A web under the minimum: where it is and how wide (mm)."""

    x: float
    y: float
    width: float


def webs_hold(region: Shape, web: float, *, slack: float = tolerances.WEB_SLACK) -> bool:
    """Tell whether no web of any solid is narrower than `web` less `slack` (mm).

    Each solid, shrunk by half of that, must keep one body and as many holes, as `cores` tells. An empty region holds.

    >>> webs_hold(geo.rectangle(0, 0, 10, 2), 1.5)
    True
    >>> webs_hold(geo.rectangle(0, 0, 10, 1), 1.5)
    False
    >>> webs_hold(geo.EMPTY, 1.5)
    True
    """
    light = simplified(region, tolerances.ARC)
    return all(_holds(s, (web - slack) / 2) for s in geo.solids(light))


def _holds(solid: geo.Solid, depth: float) -> bool:
    bodies = cores(solid, depth)
    return len(bodies) == 1 and len(bodies[0].interiors) == len(solid.interiors)


def thicken(
    region: Shape,
    web: float,
    *,
    crevice: float = CREVICE,
    near: Sequence[Box] | None = None,
    spared: Region = geo.EMPTY,
    least: float = 0.0,
) -> Thickened:
    """Widen a region where its webs are under `web` mm; holes too small to cut are filled.

    `crevice` is the radius (mm) that every inner corner gets in what was widened: at least half the kerf. Where nothing
    can have to be widened but in some boxes `near`, which must lie apart, that is quicker. Thin strokes in what is
    `spared` are widened to `least` mm only, if they are no necks.

    >>> bar = geo.union(geo.rectangle(0, 0, 4, 4), geo.rectangle(3, 1.8, 9, 2.2), geo.rectangle(8, 0, 12, 4))
    >>> webs_hold(bar, 1.5), webs_hold(thicken(bar, 1.5).region, 1.5)
    (False, True)
    >>> thicken(geo.EMPTY, 1.5).region.is_empty
    True
    """
    start = geo.as_region(region)
    now = without_pinholes(start, PINHOLE)
    if now.is_empty or web <= 0:
        return Thickened(now, 0.0, 0, True)
    graph = graphs.medial(now, boxes=near)
    thin = _thin_strokes(graph, web)
    keep, slight = thin.copy(), thin & (graph.edge_radius < least / 2)
    keep[thin] = ~contains_points(spared, graph.edge_middle[thin])
    slight &= ~keep
    started = geo.union(now, ribbon(graph, slight, least)) if slight.any() else now
    wide = _widened(started, graph, keep, web, crevice, near)
    passes, unchanged, now = 1, wide is now, wide
    holds = webs_hold(now, web)
    while passes < PASSES and not holds:
        now = _mended(now, web, crevice, start, turn=passes)
        passes += 1
        holds = webs_hold(now, web)
    whole = unchanged and passes == 1 and near is None
    return Thickened(now, now.area / start.area - 1, passes, holds, graph if whole else None)


def with_pieces(thick: Region, pieces: Sequence[Region], web: float, *, crevice: float = CREVICE) -> Thickened:
    """Add pieces to a region that was thickened, and widen what becomes a web by that: only near the pieces.

    >>> ring = geo.difference(geo.disc((0, 0), 20), geo.disc((0, 0), 14))
    >>> with_gap = geo.difference(ring, geo.rectangle(0, -0.2, 12, 0.2))
    >>> done = with_pieces(with_gap, [geo.rectangle(7.2, -0.5, 7.8, 0.5)], 1.5)
    >>> webs_hold(done.region, 1.5), webs_hold(geo.union(with_gap, geo.rectangle(7.2, -0.5, 7.8, 0.5)), 1.5)
    (True, False)
    """
    near = _apart([geo.bounds(piece).grown(NEAR * web) for piece in pieces])
    return thicken(_closed_in(geo.union(thick, *pieces), near, crevice), web, crevice=crevice, near=near)


def _apart(boxes: Sequence[Box]) -> list[Box]:
    """Join boxes that meet to one, until all lie apart."""
    apart: list[Box] = []
    for box in boxes:
        while met := [b for b in apart if b.x0 <= box.x1 and box.x0 <= b.x1 and b.y0 <= box.y1 and box.y0 <= b.y1]:
            apart = [b for b in apart if b not in met]
            low, high = np.min([box, *met], axis=0), np.max([box, *met], axis=0)
            box = Box(*low[:2].tolist(), *high[2:].tolist())
        apart.append(box)
    return apart


def _widened(
    shape: Region, graph: graphs.Medial, keep: graphs.Flags, web: float, crevice: float, near: Sequence[Box] | None
) -> Region:
    """Widen the thin strokes to `keep`; gives the very same shape where there is none."""
    if not keep.any():
        return _stout(shape, web)
    wide = geo.union(shape, ribbon(graph, keep, web * OVER))
    return _stout(_tidy(geo.closed(wide, crevice) if near is None else _closed_in(wide, near, crevice)), web)


def _stout(shape: Region, web: float) -> Region:
    """Grow the pieces that are nowhere as wide as a web all round by what they lack: a dash or a dot is all tip, and
    no stroke of it would be widened. Gives the very same shape where there is none."""
    slight = [s for s in geo.solids(shape) if not cores(s, (web - tolerances.WEB_SLACK) / 2)]
    circles = ((s, inscribed(s)) for s in slight)
    grown = [geo.offset(s, web * OVER / 2 - circle.r) for s, circle in circles if circle is not None]
    return geo.union(shape, *grown) if grown else shape


def _mended(shape: Region, web: float, crevice: float, start: Region, *, turn: int) -> Region:
    """Cut the films (but nothing of the start, and not for ever), and widen the necks that are left."""
    graph = graphs.medial(shape, step=graphs.STEP / (1 + turn // 2))  # the longer it takes, the closer the look
    found = graphs.necks(graph, web / 2 - NEARLY)
    if not len(found):  # a film too thin for the sampling
        without = geo.opened(shape, FILM / 2)
        return _tidy(geo.union(without, start) if turn < PATIENCE else without)
    film = (graph.edge_radius[found] < FILM / 2) & (turn < PATIENCE)
    parted = _without_films(shape, graph.edge_middle[found[film]], crevice, start)
    keep = _near(graph, found[~film] if parted else found, web)
    wide = geo.union(parted or shape, ribbon(graph, keep, web * OVER)) if keep.any() else parted or shape
    near = _apart([Box(x, y, x, y).grown(2 * web) for x, y in graph.edge_middle[found].tolist()])
    return _tidy(_closed_in(wide, near, crevice * WARY if parted else crevice))


def _closed_in(shape: Region, boxes: Sequence[Box], crevice: float) -> Region:
    """Fill crevices in some boxes; the outline elsewhere stays untouched."""
    fills = []
    for box in boxes:
        patch = geo.window(shape, box)
        fills.append(geo.opened(geo.difference(geo.closed(patch, crevice), patch), SHAVING))
    return geo.union(shape, geo.offset(geo.union(*fills), SHAVING))


def _without_films(shape: Region, places: geo.Array, crevice: float, start: Region) -> Region | None:
    """Cut through films as wide as the crevice was; None when that opens nothing, or the shape would fall apart."""
    if not len(places):
        return None
    parted = geo.difference(shape, geo.difference(geo.discs(places, crevice), start))
    opened = geo.hole_count(parted) < geo.hole_count(shape)
    return parted if opened and len(geo.solids(parted)) == len(geo.solids(shape)) else None


def _tidy(shape: Region) -> Region:
    return without_dust(simplified(without_pinholes(shape, PINHOLE), tolerances.ARC))


def _thin_strokes(graph: graphs.Medial, web: float) -> graphs.Flags:
    """Choose the edges that run along thin strokes: not near their tips, not into corners."""
    keep = (graph.edge_radius < web / 2) & (graph.apart > TIP * web)
    keep &= (graph.opening > PARALLEL) | (graph.edge_radius < 0.75 * graphs.STEP)
    group = graphs.components(graph, keep)
    longest = np.zeros(group.max(initial=0) + 1)
    np.maximum.at(longest, group[keep], graph.apart[keep])
    keep[keep] = longest[group[keep]] > CORNER * web
    return keep


def _near(graph: graphs.Medial, necks: graphs.Indices, web: float) -> graphs.Flags:
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
    for fineness in (1, 2, 4):
        graph = graphs.medial(region, step=graphs.STEP / fineness)
        found = graphs.necks(graph, web / 2)
        if len(found):
            x, y = graph.edge_middle[found[0]]
            return Weak(float(x), float(y), float(2 * graph.edge_radius[found[0]]))
    widest = map(inscribed, thin)
    circle = min((c for c in widest if c is not None), key=lambda c: c.r, default=None)
    return Weak(circle.x, circle.y, 2 * circle.r) if circle and 2 * circle.r < web else None
