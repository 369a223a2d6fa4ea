"""The largest lettering in a zone, and where it looks centred.

Terms. A *fit* is a scale about the origin and a shift after it. The *optical centre* of lettering is halfway between
the centre of its box and the centre of its area; that of a zone is the centre of its area. A fit is first as large as
it can be, then, among the shifts possible at that size, as near to centred as it can be.

A convex zone is solved exactly (`convex_fit`), any other by a search that is refined (`free_fit`). Results lie inside
the zone by `MARGIN`, so that rounding never puts them outside.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from nameplate.geometry import region
from nameplate.geometry.nearby import prepare
from nameplate.geometry.region import Array, Region
from nameplate.placement import nonconvex_fit
from nameplate.placement.convex_fit import HalfPlanes, area_centroid, half_planes
from nameplate.placement.objective import Aim, Level

#: How far (mm) inside the zone a fit stays. Larger than the rounding of coordinates, far below anything cut.
MARGIN = 1e-6

#: The lettering's optical centre: this share of the way from the centre of its box to the centre of its area. More
#: weight on the area lets a long descender or a tall capital stick out; less lets it push the word off the middle.
INK_SHARE = 0.5

#: A capped search that ends above this may have missed the cap; below it the lettering is simply too large.
NEARLY_ONE = 0.98

#: When a search was led astray (by something thinner than its raster), it starts again this much smaller, so often.
RETREAT = 0.9
TRIES = 8

#: Scales are given back this much smaller, so that a shift can be chosen among more than one point.
_EASE = 1e-9


@dataclass(frozen=True, slots=True)
class Fit:
    """Scale about the origin, then shift by (dx, dy) mm."""

    scale: float
    dx: float
    dy: float


@dataclass(frozen=True, slots=True)
class _Zone:
    """A zone prepared for many fits. Coordinates are shifted to its box's centre and divided by its size."""

    shape: Region
    middle: tuple[float, float]
    size: float
    target: Array
    planes: HalfPlanes | None
    field: nonconvex_fit.Field | None


@lru_cache(maxsize=8)
def _prepared(zone: Region) -> _Zone:
    box = region.bounds(zone)
    size = max(box.width, box.height) / 2
    x, y = box.centre
    local = region.moved(zone, -x, -y)
    centroid = np.array(area_centroid(local)) / size
    planes = half_planes(local, unit=size, margin=MARGIN)
    prepare(zone)
    field = None if planes else nonconvex_fit.field(region.moved(local, scale=1 / size), margin=MARGIN / size)
    return _Zone(zone, (x, y), size, centroid, planes, field)


@dataclass(frozen=True, slots=True)
class _Letters:
    """Lettering shifted to its box's centre and divided by its size."""

    shape: Region
    middle: tuple[float, float]
    size: float
    corners: Array
    ink: Array


def _letters(lettering: Region) -> _Letters:
    box = region.bounds(lettering)
    size = max(box.width, box.height) / 2
    x, y = box.centre
    local = region.moved(lettering, -x / size, -y / size, scale=1 / size)
    ink = INK_SHARE * np.array(area_centroid(local))
    return _Letters(local, (x, y), size, region.convex_corners(local), ink)


def fit_largest(
    lettering: Region,
    zone: Region,
    *,
    most: float | None = None,
    give: float = 0.0,
    level: Level | None = None,
    centred: bool = True,
) -> Fit | None:
    """Give the fit with the largest scale, at most `most`, for which the moved lettering lies in the zone.

    `give` is the share of the largest scale that may be given up where the largest fit would sit visibly off the
    middle sideways; no more is given up than moves it there. Without `centred` the shift is any that is possible at
    that scale, which is quicker. A `level` is kept exactly. None when either is empty or no fit is found. No turning.
    The result is the same for the same arguments.

    >>> round(fit_largest(region.rectangle(0, 0, 2, 1), region.rectangle(0, 0, 10, 10)).scale, 5)
    5.0
    >>> fit_largest(region.EMPTY, region.rectangle(0, 0, 1, 1)) is None
    True
    """
    if lettering.is_empty or zone.is_empty or (most is not None and most <= 0):
        return None
    room, letters = _prepared(zone), _letters(lettering)
    cap = math.inf if most is None else most * letters.size / room.size

    def holds(scale: float, shift: Array) -> bool:
        return _checked(lettering, letters, room, scale, shift, most=most) is not None

    for _ in range(TRIES):
        found = _largest(letters, room, _aim(letters, room, cap, give, level), holds, centred=centred)
        if found is None:
            return None
        fit = _checked(lettering, letters, room, *found, most=most)
        if fit is not None:
            return fit
        cap = RETREAT * found[0]
    return None


def _aim(letters: _Letters, room: _Zone, cap: float, give: float, level: Level | None) -> Aim:
    """Give an aim in the zone's units."""
    if level is not None:
        height = (level.height - letters.middle[1]) / letters.size
        level = Level(height, (level.at - room.middle[1]) / room.size)
    return Aim(letters.ink, room.target, cap, give, level)


def centre(lettering: Region, zone: Region, *, level: Level | None = None) -> Fit | None:
    """Give the shift, at scale 1, that puts lettering optically centred in the zone; None when it does not fit.

    A `level` is kept.

    >>> centre(region.rectangle(0, 0, 2, 1), region.rectangle(0, 0, 10, 10))
    Fit(scale=1.0, dx=4.0, dy=4.5)
    >>> centre(region.rectangle(0, 0, 2, 1), region.rectangle(0, 0, 1, 1)) is None
    True
    """
    found = fit_largest(lettering, zone, most=1.0, level=level)
    if found is not None and found.scale == 1.0:
        return found
    if lettering.is_empty or zone.is_empty:
        return None
    # the search ended a hair below 1: what fits larger nearly always fits about the same middle, or it fits as it lies
    larger = fit_largest(lettering, zone, level=level) if found is not None and found.scale > NEARLY_ONE else None
    if larger is not None and larger.scale >= 1.0:
        x, y = region.bounds(lettering).centre
        grown = larger.scale - 1.0
        place = settled(lettering, zone, Fit(1.0, larger.dx + grown * x, larger.dy + grown * y), level=level)
        if place is not None:
            return place
    return Fit(1.0, 0.0, 0.0) if level is None and region.covers(zone, lettering) else None


def settled(lettering: Region, zone: Region, near: Fit, *, level: Level | None = None) -> Fit | None:
    """Give the shift, at scale 1, nearest to centred that is reached from another fit; None when it does not fit there.

    Unlike `centre` it does not look elsewhere in a zone that is not convex. A `level` is kept.
    """
    if lettering.is_empty or zone.is_empty:
        return None
    room, letters = _prepared(zone), _letters(lettering)
    aim = _aim(letters, room, letters.size / room.size, 0.0, level)
    if room.field is None:
        found = _largest(letters, room, aim, lambda *_: True, centred=True)
    else:
        shift = np.array([near.dx, near.dy]) + np.array(letters.middle) - np.array(room.middle)
        found = nonconvex_fit.settled(letters.shape, room.field, aim, shift / room.size)
    fit = None if found is None else _checked(lettering, letters, room, *found, most=1.0)
    return fit if fit is not None and fit.scale == 1.0 else None


def growth(lettering: Region, zone: Region, *, give: float = 0.0, level: Level | None = None) -> float:
    """Give the scale of `fit_largest`, 0 when nothing fits; cheaper than that.

    >>> growth(region.EMPTY, region.rectangle(0, 0, 1, 1))
    0.0
    """
    if lettering.is_empty or zone.is_empty:
        return 0.0
    room = _prepared(zone)
    if room.planes is None:
        found = fit_largest(lettering, zone, give=give, level=level, centred=False)
        return 0.0 if found is None else found.scale
    letters = _letters(lettering)
    exact = room.planes.largest(letters.corners, _aim(letters, room, math.inf, give, level))
    return 0.0 if exact is None else float(max(exact[0] * (1 - _EASE), 0.0) * room.size / letters.size)


def _largest(
    letters: _Letters, room: _Zone, aim: Aim, holds: Callable[[float, Array], bool], *, centred: bool
) -> tuple[float, Array] | None:
    """Give scale and shift in the zone's own units; `holds` tells whether the zone really holds what is found."""
    if room.field is not None:
        return nonconvex_fit.largest(letters.shape, room.field, aim, holds, centred=centred)
    assert room.planes is not None
    exact = room.planes.largest(letters.corners, aim)
    if exact is None or exact[0] <= 0:
        return None
    scale = float(min(exact[0] * (1 - _EASE), aim.cap))
    if not centred:
        return scale, exact[1:]
    shift = room.planes.shift(letters.corners, scale, aim, abs(float(aim.sideways(exact[0], exact[1:]))))
    return scale, exact[1:] if shift is None else shift


def _checked(
    lettering: Region, letters: _Letters, room: _Zone, scale: float, shift: Array, *, most: float | None
) -> Fit | None:
    """Turn a fit in the zone's units into one in mm, made smaller by a hair until the zone covers it."""
    full = scale * room.size / letters.size
    if most is not None and full > most * (1 - _EASE):
        full = most
    for shrink in (0.0, 1e-9, 1e-8, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3):
        factor = full * (1 - shrink)
        dx = room.middle[0] + room.size * float(shift[0]) - factor * letters.middle[0]
        dy = room.middle[1] + room.size * float(shift[1]) - factor * letters.middle[1]
        if region.covers(room.shape, region.moved(lettering, dx, dy, scale=factor)):
            return Fit(factor, dx, dy)
    return None
