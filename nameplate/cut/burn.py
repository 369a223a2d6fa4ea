"""Burns a sheet virtually: takes a strip one kerf wide out along every cut, and tells what is left of each part.

What is left of a part depends only on the lines near it, so each part is burned by itself. The strip along its own
outlines takes half a kerf off all round: what is left is the area within its outer contours and without its inner ones,
shrunk by half a kerf. Then the strips of other parts' cuts that come near are taken off. What lies in inner contours
drops out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeAlias

from nameplate.cut.read_back import ReadPath, ReadSheet
from nameplate.geometry import region
from nameplate.geometry.beam import Kerf
from nameplate.geometry.compare import lines_near
from nameplate.geometry.elliptic import beam_shrunk, beam_strips
from nameplate.geometry.region import Array, Region
from nameplate.geometry.simplify import cleaned
from nameplate.system.grouping import grouped

#: Plate, kind, copy, layer.
PartKey: TypeAlias = tuple[str, str, int, int]

#: Solids smaller than this (mm2) are crumbs between two strips, not parts.
CRUMB = 0.01


def burn(sheet: ReadSheet, kerf: Kerf | float, lead_ins: Sequence[Array] = ()) -> dict[PartKey, Region]:
    """Give what is left of each part of a sheet whose cuts are closed.

    Its lead-ins (polylines, n, 2) spare nobody. A part without any outer contour keeps no solids. Parts are in the
    order of first mention in the file.
    """
    parts = grouped((path.key, path) for path in sheet.paths)
    cuts = [p for p in sheet.paths if p.operation != "score"]
    areas = {key: _enclosed(paths) for key, paths in parts.items()}
    kerf = Kerf.of(kerf)
    left = {key: beam_shrunk(area, kerf) for key, area in areas.items()} if kerf.widest > 0 else areas
    number = {key: k for k, key in enumerate(parts)}
    lines = [*(p.points for p in cuts), *lead_ins]
    strip_of = [*(kerf.strip(p.operation) for p in cuts), *[kerf.envelope] * len(lead_ins)]
    owners = [*(number[p.key] for p in cuts), *[-1] * len(lead_ins)]
    near = lines_near(list(left.values()), lines, kerf.widest / 2, owners)
    for (key, area), found in zip(left.items(), near, strict=True):
        if found:
            burned = [own for i in found for own in beam_strips([lines[i]], strip_of[i])]
            others = [cuts[i] for i in found if i < len(cuts)]
            left[key] = region.difference(area, region.union(*burned, *_inside(area, others)))
    return {key: _without_crumbs(left[key]) for key in parts}


def _inside(area: Region, cuts: Sequence[ReadPath]) -> list[Region]:
    """Give the other parts that are cut out of this one: what lies in their outlines is theirs."""
    outlines = (region.from_ring(p.points) for p in cuts if p.operation == "cut-outside")
    return [outline for outline in outlines if region.covers(area, outline)]


def _enclosed(paths: Sequence[ReadPath]) -> Region:
    """Give the area within the outer contours and outside the inner ones."""
    outlines = [p.points for p in paths if p.operation == "cut-outside"]
    windows = [p.points for p in paths if p.operation == "cut-inside"]
    outer, inner = ([region.from_ring(ring) for ring in rings] for rings in (outlines, windows))
    if len(outer) == 1:
        simple = region.from_ring(outlines[0], windows)
        # holes apart from each other and inside: the usual case, and much the quicker way
        if math.isclose(simple.area, outer[0].area - sum(hole.area for hole in inner), rel_tol=1e-9):
            return simple
    return region.difference(region.union(*outer), region.union(*inner))


def _without_crumbs(left: Region) -> Region:
    crumbs = any(solid.area < CRUMB for solid in region.solids(left))
    return cleaned(left, sliver=CRUMB) if crumbs else left


def whose(key: PartKey) -> str:
    """Say which part a key is of.

    >>> whose(("007", "lettering", 2, 1)), whose(("007", "carrier", 1, 3))
    ('plate 007, lettering (copy 2)', 'plate 007, carrier (copy 1, layer 3)')
    """
    plate, kind, copy, layer = key
    return f"plate {plate}, {kind} (copy {copy}{f', layer {layer}' if layer != 1 else ''})"
