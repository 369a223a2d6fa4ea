"""About how large a shape fits a zone, in a few milliseconds: for saying how much is needed before anything is made.

Terms. The *depth* of a place is how far inside the zone it lies, negative outside. Depths are kept on a raster; a shape
is looked at through a few points of its outline. Convex zones have a quick exact answer already (`fit.growth`).

Method: on the raster the largest scale at which some whole-cell shift keeps all points inside is bracketed and halved;
then scale and shift are refined between the cells by a search that closes in on the best shift.

Known limit: something thinner than a cell may be missed, so a result is nothing to cut by. Measured on 48 ways to set
names on an apple with a hole in it: 0.2 % larger than the largest fit in the mean, and no more than 2 % off.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from nameplate.geometry import region
from nameplate.geometry.approximate import outer
from nameplate.geometry.nearby import Boundary, along, contains_points
from nameplate.geometry.region import Array, Region
from nameplate.placement.convex_fit import area_centroid, half_planes
from nameplate.placement.fit import INK_SHARE, MARGIN, growth
from nameplate.placement.objective import CENTRED, Level

#: Cells along the longer side of the zone. More see narrower passages and take longer by as much squared.
CELLS = 64

#: The outline is looked at within this share of half the shape's size; finer ones have more points, and are slower.
OUTLINE = 0.02

#: Deep inside a shape is this share of half its size from its edge, and edges have points so far apart. A hole of a
#: zone twice as wide cannot be missed.
DEEP = 0.1

#: Points may come this many cells outside on the raster, where places are rounded to cells; refining brings them back.
LEEWAY = 0.5

#: Shifts by whole cells this near (cells) to a level stand for it; a little more than half leaves none out.
HALF = 0.501

#: Each next scale tried from above is this much smaller; then the interval is halved so often.
LADDER, HALVINGS = 0.9, 3

#: Below this share of what the box round the zone would hold, nothing is looked for.
LEAST = 1e-3

#: Refining looks at shifts up to twice REACH cells about the best so far, and at scales this share (RANGE) about it;
#: each round CLOSER times as far. More rounds are finer than the raster is.
REACH, RANGE, CLOSER = 0.5, 0.07, 0.4
ROUNDS, BISECTIONS = 3, 4

#: Points are tested in groups of this many, so that most shifts are lost to the first.
AT_ONCE = 12


@dataclass(frozen=True, slots=True)
class _Raster:
    """Depths (mm) at `origin + cell * (i, j)`, as `depths[j, i]`; `target` is the x at which ink should be centred."""

    depths: Array
    origin: Array
    cell: float
    target: float


@dataclass(frozen=True, slots=True)
class _Look:
    """Points (n, 2) of a shape, their place at scale 1; `ink` is the x of its optical centre.

    `band` limits the ink sideways, `level` is a height to keep.
    """

    points: Array
    ink: float
    band: float = np.inf
    level: Level | None = None

    def levelled(self, scale: float | Array, shifts: Array) -> Array:
        """Give shifts (n, 2) moved up or down to the level, if there is one, at one scale or one each."""
        if self.level is None:
            return shifts
        y = np.broadcast_to(self.level.at - scale * self.level.height, len(shifts))
        return np.column_stack([shifts[:, 0], y])


@lru_cache(maxsize=8)
def _raster(zone: Region) -> _Raster | None:
    """Prepare a zone; None when it is convex."""
    if half_planes(zone, unit=1.0, margin=MARGIN) is not None:
        return None
    box = region.bounds(zone)
    cell = max(box.width, box.height) / CELLS
    across, up = (int(np.ceil(v / cell)) + 1 for v in (box.width, box.height))
    x, y = np.meshgrid(box.x0 + cell * np.arange(across), box.y0 + cell * np.arange(up))
    depths = Boundary(zone).depths(np.column_stack([x.ravel(), y.ravel()])).reshape(up, across)
    return _Raster(depths, np.array([box.x0, box.y0]), cell, area_centroid(zone)[0])


def at_most(shape: Region, zone: Region) -> float:
    """Give a scale that a shape cannot exceed in a zone, at once: that of its box in the zone's box.

    >>> at_most(region.rectangle(0, 0, 2, 1), region.rectangle(0, 0, 4, 4))
    2.0
    """
    if shape.is_empty or zone.is_empty:
        return 0.0
    own, room = region.bounds(shape), region.bounds(zone)
    return min(room.width / own.width, room.height / own.height)


def rough_growth(
    shape: Region,
    zone: Region,
    *,
    give: float = 0.0,
    glance: bool = False,
    more_than: float = 0.0,
    level: Level | None = None,
) -> float:
    """Give about the scale of `fit.growth`: that of the largest fit, less what is given up to stand in the middle.

    `give` is the share of the scale that may be given up at most. 0 when nothing fits, or nothing larger than
    `more_than`, which is quicker to see. At a `glance` the result is as coarse as the raster, some per cent off, in a
    third of the time. A `level` is kept.

    >>> rough_growth(region.EMPTY, region.rectangle(0, 0, 1, 1))
    0.0
    """
    if shape.is_empty or zone.is_empty:
        return 0.0
    raster = _raster(zone)
    if raster is None:
        return growth(shape, zone, give=give, level=level)
    look = _look(shape, level)
    found = _largest(look, raster, low=more_than)
    if found is None:
        return 0.0
    scale, shift = found if glance else _refined(look, raster, *found)
    off = abs(shift[0] + scale * look.ink - raster.target)
    side = CENTRED * raster.cell * CELLS / 2
    if not give or off <= side:
        return scale
    low = (1 - give) * scale
    least = _offs(look, raster, low)
    if least is None or least >= off:
        return scale
    look = _Look(look.points, look.ink, max(side, least + raster.cell / 2), level)
    even = _largest(look, raster, low=low)
    if even is None:
        return scale
    return min(scale, even[0] if glance else _refined(look, raster, *even)[0])


def _look(shape: Region, level: Level | None) -> _Look:
    box = region.bounds(shape)
    step = OUTLINE * max(box.width, box.height) / 2
    outline = outer(region.simplified(shape, step))
    edge = along(outline, DEEP / OUTLINE * step)
    points = np.vstack([edge, _core(outline, edge, box)])
    centre = (box.centre[0] + area_centroid(shape)[0]) * INK_SHARE
    # a fixed order that mixes near and far, so that the first few points tell most
    return _Look(points[np.random.default_rng(0).permutation(len(points))], centre, level=level)


def _core(outline: Region, edge: Array, box: region.Box) -> Array:
    """Give points (n, 2) all over what lies deep inside an outline: a hole of a zone must not hide there.

    `edge` are points along the outline. Nothing of most lettering lies that deep.
    """
    deep = DEEP * max(box.width, box.height) / 2
    x, y = np.meshgrid(np.arange(box.x0, box.x1, deep), np.arange(box.y0, box.y1, deep))
    lattice = np.column_stack([x.ravel(), y.ravel()])
    inside = lattice[contains_points(outline, lattice)]
    off = inside[:, None] - edge
    core: Array = inside[(np.einsum("ijk,ijk->ij", off, off) >= deep**2).all(axis=1)]
    return core


def _largest(look: _Look, raster: _Raster, *, low: float = 0.0) -> tuple[float, Array] | None:
    """Give scale and shift of about the largest fit that is larger than `low`; None when there is none."""
    size = look.points.max(axis=0) - look.points.min(axis=0)
    room = raster.cell * (np.array(raster.depths.shape[::-1]) - 1)
    scale = high = float((room / np.maximum(size, 1e-9)).min())
    low = max(low, LEAST * high)
    shift = _best_shift(look, raster, scale)
    while shift is None:
        if scale <= low:
            return None
        high, scale = scale, max(scale * LADDER, low)
        shift = _best_shift(look, raster, scale)
    for _ in range(HALVINGS if high > scale else 0):
        middle = (scale + high) / 2
        better = _best_shift(look, raster, middle)
        if better is None:
            high = middle
        else:
            scale, shift = middle, better
    return scale, shift


def _free(look: _Look, raster: _Raster, scale: float) -> tuple[Array, Array] | None:
    """Give the whole-cell shifts (n, 2) at which all points are inside, and the least depth at each."""
    cells = np.rint(look.points * (scale / raster.cell)).astype(np.int64)
    low, high = cells.min(axis=0), cells.max(axis=0)
    up, across = np.array(raster.depths.shape) - (high - low)[::-1]
    if up <= 0 or across <= 0:
        return None
    wide = raster.depths.shape[1]
    keys = (cells - low) @ np.array([1, wide])
    keys = keys[np.sort(np.unique(keys, return_index=True)[1])]
    x = raster.origin[0] + raster.cell * (np.arange(across) - low[0])
    columns = np.flatnonzero(np.abs(x + scale * look.ink - raster.target) <= look.band)
    rows = np.arange(up)
    if look.level is not None:
        y = raster.origin[1] + raster.cell * (rows - low[1])
        rows = rows[np.abs(y + scale * look.level.height - look.level.at) <= HALF * raster.cell]
    places = (rows[:, None] * wide + columns).ravel()
    flat = raster.depths.ravel()
    least = np.full(len(places), np.inf)
    for start in range(0, len(keys), AT_ONCE):
        if not len(places):
            return None
        depths = flat[places[:, None] + keys[start : start + AT_ONCE]].min(axis=1)
        least = np.minimum(least, depths)
        kept = least > -LEEWAY * raster.cell
        places, least = places[kept], least[kept]
    if not len(places):
        return None
    shifts = raster.origin + raster.cell * (np.column_stack([places % wide, places // wide]) - low)
    return look.levelled(scale, shifts), least


def _best_shift(look: _Look, raster: _Raster, scale: float) -> Array | None:
    found = _free(look, raster, scale)
    if found is None:
        return None
    best: Array = found[0][int(np.argmax(found[1]))]
    return best


def _offs(look: _Look, raster: _Raster, scale: float) -> float | None:
    """Give how near the ink comes to the target sideways at a scale."""
    found = _free(look, raster, scale)
    return None if found is None else float(np.abs(found[0][:, 0] + scale * look.ink - raster.target).min())


def _refined(look: _Look, raster: _Raster, scale: float, shift: Array) -> tuple[float, Array]:
    """Search scale and shift between the cells."""
    steps = np.arange(-2.0, 2.5)
    grid = np.column_stack([v.ravel() for v in np.meshgrid(steps, steps)]) * raster.cell * REACH
    far = scale * np.abs(look.points).max() * RANGE + 3 * raster.cell
    points = look.points[_depths(raster, scale * look.points + shift) < far]
    share = RANGE
    for _ in range(ROUNDS):
        shifts = shift + grid
        low, high = (np.full(len(shifts), scale * v) for v in (1 - share, 1 + share))
        for _ in range(BISECTIONS):
            middle = (low + high) / 2
            places = middle[:, None, None] * points + look.levelled(middle, shifts)[:, None, :]
            fits = _depths(raster, places).min(axis=1) >= 0
            fits &= np.abs(shifts[:, 0] + middle * look.ink - raster.target) <= look.band
            low, high = np.where(fits, middle, low), np.where(fits, high, middle)
        best = int(np.argmax(low))
        scale, shift = float(low[best]), look.levelled(low, shifts)[best]
        grid, share = grid * CLOSER, share * CLOSER
    return scale, shift


def _depths(raster: _Raster, places: Array) -> Array:
    """Give depths between the points of the raster; places off it are outside by as much as they are off."""
    up, across = raster.depths.shape
    at = (places - raster.origin) / raster.cell
    inside = np.clip(at, 0.0, (across - 1.001, up - 1.001))
    whole = inside.astype(np.int64)
    u, v = np.moveaxis(inside - whole, -1, 0)
    key = whole[..., 1] * across + whole[..., 0]
    flat = raster.depths.ravel()
    low = flat[key] * (1 - u) + flat[key + 1] * u
    high = flat[key + across] * (1 - u) + flat[key + across + 1] * u
    off = np.maximum(-at, at - (across - 1, up - 1)).max(axis=-1)
    found: Array = np.where(off > 0, np.minimum(0.0, low) - off * raster.cell, low * (1 - v) + high * v)
    return found
