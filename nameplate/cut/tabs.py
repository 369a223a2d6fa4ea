"""Where a part hangs on its sheet: tabs, places where its outline is not cut.

A tab leaves a nub to sand off, and may break what it is snapped from. So it lies on a straight stretch with enough of
the part behind it (not on a tip, a tie or another thin place, nor beside one) and enough waste before it; within the
hull of the part rather than on it, where fingers and eyes find the nub first.

Method: places along the outline are looked at one by one; a disc that touches there from inside or outside must meet no
other edge. The outline is parted into as many equal stretches as there are tabs, each gets the best place in it, and
the best of some ways to part it is taken.

Known limit: what hangs by three tabs is not reckoned; more or wider ones are for the workshop to try.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from nameplate.cut.kerf import Toolpath
from nameplate.cut.machine import CutRules, CutStyle
from nameplate.cut.start_points import NEARER, THIN
from nameplate.geometry import region
from nameplate.geometry.curves.along import Along
from nameplate.geometry.curves.curve import Curve, flatten
from nameplate.geometry.nearby import depths
from nameplate.geometry.planar import as_complex, as_points, to_chord, unit
from nameplate.geometry.region import Array, Flags, Indices

#: How far apart (mm) places are looked at.
STEP = 0.1

#: Farthest (mm) an outline may bulge over a tab and MORE on both its sides. More puts tabs on round places, where what
#: is left of them is harder to sand off; less leaves round letters without any.
BULGE, MORE = 0.04, 0.2

#: Where waste is narrower than this (mm) it is a tongue that bends, and holds nothing.
WASTE = 5.0

#: So far (mm) from a thin place, along the outline, no tab lies.
AWAY = 2.0

#: Deeper in the hull than this (mm) a tab is hidden.
HIDDEN = 1.0

#: What a tab on the hull counts against one that lies half a stretch from where it should, which counts 1.
SHOWN = 0.5

#: Ways to part an outline that are tried, each shifted by the same share of a stretch.
WAYS = 8


def tab_places(path: Toolpath, rules: CutRules) -> tuple[Array, ...]:
    """Give the middles (n, 2) of the tabs of each contour, in plate coordinates; none where none are needed."""
    nothing = np.empty((0, 2))
    if not rules.style.tabs:
        return (nothing,) * len(path.contours)
    edges = [Along(contour.curve) for contour in path.contours]
    return tuple(
        _places(along, edges, rules)
        if contour.operation == "cut-outside" and hangs(contour.curve, rules.style)
        else nothing
        for contour, along in zip(path.contours, edges, strict=True)
    )


def hangs(outline: Curve, style: CutStyle) -> bool:
    """Tell whether what an outline cuts out is to have tabs."""
    return style.tabs > 0 and (style.bed_pitch is None or _reach(outline) < style.bed_pitch)


def _reach(outline: Curve) -> float:
    """Give how far (mm) what an outline cuts out reaches at least from its centre of gravity, whichever way it lies.

    Parallel supports that are no farther apart hold it on both sides of that centre, wherever they are. Between wider
    ones it can lie on one alone and tip, though it be wider than their pitch.
    """
    whole = region.from_ring(flatten(outline))
    return float(depths(region.hull(whole), region.centroid(whole)[None])[0])


def _places(along: Along, edges: Sequence[Along], rules: CutRules) -> Array:
    count = max(8, round(along.length / STEP))
    at: Array = along.length / count * np.arange(count, dtype=np.float64)
    points = along.points(at)
    free = _straight(points, rules.opening, along.length / count) & _clear(points, edges)
    on_hull: Array = np.where(depths(region.hull(region.from_ring(points)), points) < HIDDEN, SHOWN, 0.0)
    return points[_spread(np.flatnonzero(free), on_hull, count, rules.style.tabs, rules.opening + AWAY)]


def _straight(points: Array, gap: float, step: float) -> Flags:
    """Tell at which points of a ring (n, 2) it bulges little over a tab."""
    half = int(np.ceil((gap / 2 + MORE) / step))
    ring = as_complex(points)
    first, last = np.roll(ring, half), np.roll(ring, -half)
    bulges = [to_chord(np.roll(ring, -k), first, last) for k in range(1 - half, half)]
    straight: Flags = np.max(bulges, axis=0) <= BULGE
    return straight


def _clear(points: Array, edges: Sequence[Along]) -> Flags:
    """Tell at which points of a ring (n, 2) the part is not thin, nor near by, and the waste before it no nook."""
    from scipy.spatial import KDTree

    ring = as_complex(points)
    ahead = np.roll(ring, -1) - np.roll(ring, 1)
    inward = unit(ahead) * (1j if (np.conj(ring) * np.roll(ring, -1)).imag.sum() > 0 else -1j)
    tree = KDTree(np.concatenate([own.points(np.arange(0.0, own.length, STEP)) for own in edges]))

    def meets(width: float) -> Flags:
        apart = np.asarray(tree.query(as_points(ring + inward * width / 2))[0])
        return apart < NEARER * abs(width) / 2

    reach = round(AWAY / STEP)
    thin = meets(THIN)
    near = np.any([np.roll(thin, k) for k in range(-reach, reach + 1)], axis=0)
    clear: Flags = ~near & ~meets(-WASTE)
    return clear


def _spread(free: Indices, on_hull: Array, count: int, tabs: int, apart: float) -> Indices:
    """Choose one of the free places, by number, in each of so many stretches of a ring of `count` places.

    Places of neighbouring stretches that are nearer than `apart` (mm) are one tab.
    """
    best, least = np.empty(0, dtype=np.intp), np.inf
    length = count / tabs
    for way in range(WAYS):
        along = (free - way * length / WAYS) % count
        stretch, beside = np.divmod(along, length)
        costs = on_hull[free] + np.abs(2 * beside / length - 1)
        ranked = np.lexsort((costs, stretch))
        first = ranked[np.append(True, np.diff(stretch[ranked]) != 0)] if len(free) else ranked
        chosen = _apart(np.sort(free[first]), count, apart / STEP)
        cost = costs[np.isin(free, chosen)].sum() + 2 * (tabs - len(chosen))
        if cost < least:
            best, least = chosen, cost
    return best


def _apart(chosen: Indices, count: int, least: float) -> Indices:
    """Leave out what follows its predecessor on a ring of so many places too soon."""
    kept: list[int] = []
    for place in chosen.tolist():
        if not kept or (place - kept[-1] >= least and kept[0] + count - place >= least):
            kept.append(place)
    return np.array(kept, dtype=np.intp)


def opened(curve: Curve, places: Array, gap: float) -> tuple[Curve, ...]:
    """Give the arcs of a closed curve between openings of so many mm round some places (n, 2) on it.

    Each begins behind an opening, in the order of the places along the curve.

    >>> from nameplate.geometry.curves.curve import polygon
    >>> (arc,) = opened(polygon([(0, 0), (4, 0), (4, 4), (0, 4)]), np.array([(2.0, 0.0)]), 1.0)
    >>> arc.segments[[0, -1], [0, 3]].round(9).tolist()
    [[2.5, 0.0], [1.5, 0.0]]
    """
    along = Along(curve)
    at = sorted(along.place_of(place) for place in places)
    return tuple(
        along.stretch(here + gap / 2, there - gap / 2) for here, there in zip(at, [*at[1:], at[0]], strict=True)
    )
