"""What speaks against a hanging plan: plates over one another, holes too near, what cannot be reached or read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from nameplate.findings import Finding, counted, named
from nameplate.geometry.box import Box
from nameplate.geometry.nearby import Index
from nameplate.geometry.region import Array, Region, bounds, intersection, intersects, rectangle
from nameplate.ticket.wall_schema import WallKeys
from nameplate.wall.grid import WallGrid
from nameplate.wall.hanging import Hanging, holes_of

#: Holes are no nearer to each other than this many diameters of the anchor (ACI 318-19, table 17.9.2(a)).
SPACING = 6.0

#: The same for the wall's edge, for screw anchors (ACI 318-19, table 17.9.2(b), from memory).
EDGE = 6.0

#: Visual characters of signs stand at least so high (mm) above the floor: 40 in, ADA Standards 2010, section 703.5.6
#: (from memory). It binds other signs; here it is advice.
LOWEST = 1016.0

#: What a standing person reaches (mm) with a drill and without a ladder. Common practice.
REACH = 1900.0

#: Eye level (mm above the floor). Common practice for pictures and plaques.
EYE_LEVEL = (1450.0, 1550.0)

#: Plates cover each other by more than this (mm2); less is noise of the arithmetic.
_OVERLAP = 0.01

#: Lengths (mm) under this are no difference.
_NOTHING = 1e-6


def wall_findings(
    hangings: Sequence[Hanging], outlines: Sequence[Region], keys: WallKeys, grid: WallGrid
) -> Iterator[Finding]:
    """Yield what is wrong with plates at their places, each with its outline on the wall, and what is only advice."""
    if not hangings:
        return
    yield from _overlaps(hangings, outlines)
    yield from _in_keep_outs(hangings, outlines, grid)
    yield from _beyond(hangings, outlines, grid.wall)
    yield from _anchors(hangings, keys, grid.wall)
    yield from _heights(hangings, grid)


def _overlaps(hangings: Sequence[Hanging], outlines: Sequence[Region]) -> Iterator[Finding]:
    index = Index(outlines)
    near = ((i, j) for i, outline in enumerate(outlines) for j in index.near(outline) if j > i)
    areas = {(i, j): intersection(outlines[i], outlines[j]).area for i, j in near}
    pairs = {pair: area for pair, area in areas.items() if area > _OVERLAP}
    if pairs:
        (i, j), area = max(pairs.items(), key=lambda own: own[1])
        lie = "pair of plates lies" if len(pairs) == 1 else "pairs of plates lie"
        text = (
            f"[wall] {len(pairs)} {lie} over one another, the worst {_who(hangings[i])} and {_who(hangings[j])} "
            f"({area:.0f} mm2); a larger pitch, or fewer columns and rows"
        )
        yield Finding("wall-overlap", "warning", text, measured=len(pairs), allowed=0)


def _in_keep_outs(hangings: Sequence[Hanging], outlines: Sequence[Region], grid: WallGrid) -> Iterator[Finding]:
    """Say which plates reach into a keep-out, as only those can that moved to make room."""
    for box in grid.keep_outs:
        taken = rectangle(*box)
        touching = [
            hanging
            for hanging, outline in zip(hangings, outlines, strict=True)
            if (intersects(outline, taken) and intersection(outline, taken).area > _OVERLAP)
            or any(box.holds(hole.x, hole.y) for hole in hanging.holes)
        ]
        if touching:
            text = (
                f"[wall] {counted(len(touching), 'plate', 'reaches', 'reach')} into a keep-out: "
                f"{named(list(map(_who, touching)), most=5)}; fill the hole and drill it anew elsewhere"
            )
            yield Finding("wall-keep-out", "warning", text, measured=len(touching), allowed=0)


def _beyond(hangings: Sequence[Hanging], outlines: Sequence[Region], wall: Box) -> Iterator[Finding]:
    boxes = map(bounds, outlines)
    past = [max(wall.x0 - box.x0, box.x1 - wall.x1, wall.y0 - box.y0, box.y1 - wall.y1) for box in boxes]
    over = [(far, hanging) for far, hanging in zip(past, hangings, strict=True) if far > _NOTHING]
    if over:
        far, worst = max(over, key=lambda pair: pair[0])
        text = (
            f"[wall] {counted(len(over), 'plate', 'sticks', 'stick')} out past the wall's edge, the "
            f"farthest {_who(worst)} by {far:.1f} mm; a smaller pitch, fewer places, or another centre or level line"
        )
        yield Finding("wall-edge", "warning", text, measured=far, allowed=0)


def _anchors(hangings: Sequence[Hanging], keys: WallKeys, wall: Box) -> Iterator[Finding]:
    """Say where holes are nearer to each other or to the wall's edge than anchors in concrete want to be."""
    every = holes_of(hangings)
    owners, holes = [own.hanging for own in every], np.array([(own.hole.x, own.hole.y) for own in every])
    least = SPACING * keys.hole
    if (found := _nearest(holes)) is not None and found[0] < least - _NOTHING:
        distance, one, other = found[0], owners[found[1]], owners[found[2]]
        who = f"two holes of {_who(one)}" if one is other else f"holes of {_who(one)} and {_who(other)}"
        text = (
            f"[wall] {who} are {distance:.1f} mm apart; anchors in concrete want {SPACING:g} diameters, {least:g} "
            "mm here, and 0.6 of their depth (ACI 318-19, table 17.9.2(a)); what the anchor's approval says comes first"
        )
        yield Finding("anchor-spacing", "warning", text, measured=distance, allowed=least)
    sides = [holes[:, 0] - wall.x0, wall.x1 - holes[:, 0], holes[:, 1] - wall.y0, wall.y1 - holes[:, 1]]
    inside, least = np.min(sides, axis=0), EDGE * keys.hole
    k = int(np.argmin(inside))
    if inside[k] < least - _NOTHING:
        text = (
            f"[wall] a hole of {_who(owners[k])} is {max(inside[k], 0.0):.1f} mm from the wall's edge; where that is "
            f"an edge of concrete or masonry, screw anchors want {EDGE:g} diameters, {least:g} mm here (ACI 318-19, "
            "table 17.9.2(b), from memory); what the anchor's approval says comes first"
        )
        yield Finding("anchor-edge", "warning", text, measured=float(inside[k]), allowed=least)


def _nearest(holes: Array) -> tuple[float, int, int] | None:
    """Give the least distance of two points (n, 2), and which two; None where there are not two."""
    if len(holes) < 2:
        return None
    from scipy.spatial import cKDTree

    distances, others = (np.asarray(found) for found in cKDTree(holes).query(holes, k=2))
    i = int(np.argmin(distances[:, 1]))
    first, second = sorted((i, int(others[i, 1])))
    return float(distances[i, 1]), first, second


def _heights(hangings: Sequence[Hanging], grid: WallGrid) -> Iterator[Finding]:
    """Advise on plates that are hard to read for being low, and holes that take a ladder."""
    low = [h for h in hangings if h.y - grid.floor < LOWEST]
    if low:
        worst = min(low, key=lambda h: h.y)
        text = (
            f"[wall] {counted(len(low), 'plate', 'hangs', 'hang')} lower than {LOWEST:g} mm, the lowest "
            f"{_who(worst)} with its middle {worst.y - grid.floor:.0f} mm above the floor; signs that are read "
            "standing are no lower than 40 in (ADA Standards 2010, 703.5.6, from memory; advice here)"
        )
        yield Finding("wall-low", "note", text, measured=worst.y - grid.floor, allowed=LOWEST)
    top = max(own.hole.y for own in holes_of(hangings)) - grid.floor
    if top > REACH:
        text = (
            f"[wall] holes up to {top:.0f} mm above the floor: over {REACH:g} mm drill from a platform or a ladder "
            "that somebody holds (common practice)"
        )
        yield Finding("wall-high", "note", text, measured=top, allowed=REACH)
    ys = [place.y for place in grid.places]
    middle = (min(ys) + max(ys)) / 2 - grid.floor
    if not EYE_LEVEL[0] <= middle <= EYE_LEVEL[1]:
        text = (
            f"[wall] the middle of all places is {middle:.0f} mm above the floor; eye level is {EYE_LEVEL[0]:g} mm to "
            f"{EYE_LEVEL[1]:g} mm (common practice); level and above_floor say where the wall is"
        )
        yield Finding("wall-sight", "note", text, measured=middle, allowed=sum(EYE_LEVEL) / 2)


def _who(hanging: Hanging) -> str:
    return f"{hanging.plate.id} at {hanging.place.name}"
