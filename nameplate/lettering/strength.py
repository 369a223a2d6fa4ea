"""Strength: which neck of a lettering breaks first when it is handled, and how to widen it.

Terms. The *lighter side* beyond a neck is the smaller of the two parts it joins; the *lever* is the distance from the
neck to the lighter side's farthest point, where a finger may catch it.

Method: cut the medial graph at each edge whose removal parts it. A force F at the end of the lever L, in the plane of
the sheet and square to the stroke, bends the neck of width w in a sheet of thickness t like a cantilever:
stress = 6 F L / (t w^2) (bending of beams of rectangular section; Gere & Goodno, Mechanics of Materials, ch. 5).

Known limits: notches raise the true stress at sharp inner corners; necks on a ring of strokes share their load and are
not counted; bending out of the plane is weaker only where a neck is wider than the sheet is thick.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple, TypeVar

import numpy as np

from nameplate import tolerances
from nameplate.geometry import region as geo
from nameplate.geometry.cut_edges import CutEdges, cut_edges
from nameplate.geometry.medial import Medial, medial
from nameplate.geometry.region import Array, Region
from nameplate.geometry.ribbons import ribbon
from nameplate.lettering.webs import mended, united, webs_hold
from nameplate.model import Neck

#: One figure, or an array of them.
Figures = TypeVar("Figures", float, Array)

#: Usual handling load, N: a finger catching the end of a stroke. Common practice.
LOAD = 2.0

#: Lighter sides shorter than this (mm), or than their neck is wide, are no beams and nothing a finger catches.
LEAST_LEVER = 2.0

#: Necks are measured in batches of this many, most stressed at best first; larger ones measure more than is needed.
BATCH = 16

#: Necks are widened by this much more than the formula asks, so that the next look finds them strong enough.
SPARE = 1.03

#: Steps (mm) to which widened necks are rounded up: one strip a step.
STEP = 0.1

#: Radius (mm) of the inner corners that widening makes.
FILLET = 0.2

#: Looks at the whole before giving up: a wider lighter side is heavier, another neck may take over, and a neck at the
#: edge of its room gets only half of what it lacks each time.
PASSES = 8

#: No neck is widened beyond this many times the weakest one's width: it would no longer be the same letter. Wood wants
#: long names of fine webs four times as wide; at 2.5 every third of 60 names in 13 fonts stayed too weak.
MOST = 6.0


#: The safety factor against the strengths below: it covers notches and laser-hardened edges under a short load (common
#: practice for brittle sheets).
SAFETY = 2.0

#: Strengths (MPa) of materials by the words that must all be in their name.
STRENGTHS: tuple[tuple[tuple[str, ...], float], ...] = (
    # flexural strength 98-120 MPa in makers' data sheets, the least taken
    (("cast", "acrylic"), 98.0),
    # extruded: flexural strength 106 MPa (ISO 178) and 117 MPa (ASTM D 790) in two makers' data sheets; of the lesser a
    # fifth is taken off for the stress that extrusion leaves (our caution)
    (("acrylic",), 85.0),
    # birch: tension across the face grain of thin birch plywood, Handbook of Finnish Plywood (from memory); that it
    # depends highly on the angle to the face grain, which the factor has to cover too, is measured in “In-plane
    # mechanical properties of birch plywood”, Construction and Building Materials 2022 (abstract)
    (("ply",), 32.0),
    # bending strength of general purpose boards to 9 mm, EN 622-5 (from memory); a maker's data sheet has 30 to 35 MPa
    # for boards of 2 to 9 mm (EN 310)
    (("mdf",), 23.0),
)


def allowable(material_name: str) -> float | None:
    """Find the stress (MPa) that a material bears by its name; None when nothing is known of it.

    Acrylic not called cast is extruded.

    >>> allowable("Cast acrylic, red"), allowable("grey board")
    (49.0, None)
    """
    name = material_name.casefold()
    return next((strength / SAFETY for words, strength in STRENGTHS if all(w in name for w in words)), None)


def bending_stress(load: float, lever: Figures, thickness: float, width: Figures) -> Figures:
    """Bending stress (MPa) of a neck: load in N, the rest in mm.

    >>> bending_stress(1.0, 5.0, 3.0, 2.0)
    2.5
    """
    return 6 * load * lever / (thickness * width**2)


def weakest_neck(region: Region, *, thickness: float, load: float = LOAD, graph: Medial | None = None) -> Neck | None:
    """Find the neck with the highest bending stress; None when nothing long enough hangs on any.

    `thickness` of the sheet in mm, `load` in N; `graph` is the region's medial graph where it is at hand.
    """
    hanging = _cut_edges(region) if graph is None else cut_edges(graph)
    width = 2 * hanging.graph.edge_radius[hanging.edges]
    most = _stress(hanging.most_levers, width, thickness, load)
    best: Neck | None = None
    heaviest_first = np.argsort(-most, kind="stable")
    for some in np.array_split(heaviest_first, range(BATCH, len(most), BATCH)):
        if not len(some) or most[some[0]] <= (best.stress if best else 0.0):
            break
        lever = hanging.levers(some)
        stress = _stress(lever, width[some], thickness, load)
        k = int(np.argmax(stress))
        if stress[k] > (best.stress if best else 0.0):
            x, y = hanging.graph.edge_middle[hanging.edges[some[k]]]
            best = Neck(float(x), float(y), float(width[some[k]]), float(lever[k]), float(stress[k]))
    return best


@lru_cache(maxsize=1)
def _cut_edges(region: Region) -> CutEdges:
    """Give what hangs on each neck of a region; a lettering is strengthened right after its weakest neck was found."""
    return cut_edges(medial(region))


def _stress(lever: Array, width: Array, thickness: float, load: float) -> Array:
    """Stresses (MPa) of necks; none where the lighter side is a mere stub."""
    real = lever >= np.maximum(width, LEAST_LEVER)
    return np.where(real, bending_stress(load, lever, thickness, np.maximum(width, 1e-6)), 0.0)


class Strengthened(NamedTuple):
    """The region with wider necks, its weakest neck now, and whether no stress is too high now."""

    region: Region
    neck: Neck | None
    holds: bool


def strengthen(
    region: Region,
    *,
    thickness: float,
    limit: float,
    load: float = LOAD,
    web: float | None = None,
    room: Region | None = None,
    kerf: float = 0.0,
    neck: Neck | None = None,
) -> Strengthened:
    """Widen the necks whose stress is over `limit` (MPa) until none is, or say that it cannot be done.

    With `web`, new webs that come up where widened strokes touch are kept at that minimum (mm) too, and no gap
    gets too narrow for a beam of this `kerf` to pass. With `room`, a neck at its edge is widened on the other side.
    `neck` is the weakest one, where it is known.

    >>> flag = geo.union(geo.rectangle(0, 0, 10, 10), geo.rectangle(9, 4, 40, 5.5), geo.rectangle(39, 0, 46, 10))
    >>> before = weakest_neck(flag, thickness=3)
    >>> after = strengthen(flag, thickness=3, limit=30)
    >>> before.stress > 30, after.holds, after.neck.stress <= 30
    (True, True, True)
    """
    now = region
    weak = neck or weakest_neck(now, thickness=thickness, load=load)
    widest = MOST * weak.width if weak else 0.0
    for _ in range(PASSES):
        if weak is None or weak.stress <= limit:
            break
        wider = _within(room, _wider(now, thickness, limit, load, widest), now, web, kerf)
        if wider is None or wider.area <= now.area + tolerances.GRAIN:
            break
        now = wider
        weak = weakest_neck(now, thickness=thickness, load=load)
    return Strengthened(now, weak, weak is None or weak.stress <= limit)


def _within(room: Region | None, wide: Region, before: Region, web: float | None, kerf: float) -> Region | None:
    """Keep the webs of a widened shape, and what it gained inside the room; None where both cannot be."""
    if web:
        wide = mended(wide, web, crevice=FILLET, kerf=kerf).region
    if room is None or geo.covers(room, wide):
        return wide
    cut = geo.union(before, geo.intersection(wide, room))
    own = geo.of_solids(s for s in geo.solids(cut) if geo.intersects(s, before))
    return own if web is None or webs_hold(own, web) else None


def _wider(region: Region, thickness: float, limit: float, load: float, widest: float) -> Region:
    """Give every overloaded neck the width that it needs."""
    hanging = _cut_edges(region)
    graph = hanging.graph
    width = 2 * graph.edge_radius[hanging.edges]
    risky = np.flatnonzero(_stress(hanging.most_levers, width, thickness, load) > limit)
    lever = hanging.levers(risky)
    over = _stress(lever, width[risky], thickness, load) > limit
    need = np.minimum(np.sqrt(6 * load * lever[over] / (thickness * limit)) * SPARE, widest)
    steps = np.ceil(need / STEP).astype(int)
    strips = []
    for step in sorted(set(steps.tolist())):
        keep = np.zeros(len(graph.edges), dtype=bool)
        keep[hanging.edges[risky[over][steps >= step]]] = True
        strips.append(ribbon(graph, keep, step * STEP))
    return united(region, *strips, crevice=FILLET)
