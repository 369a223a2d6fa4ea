"""Notches in the edge of a template that lies flush on its plaque: by them it is lifted without moving the name.

A finger in a notch holds the plaque down while the next one catches the template's edge. There are two, left and right
of the zone or above and below it, whichever is nearer to its middle, so that the template comes up level; where the
rim is too narrow for that, they keep clear of the window alone, and where even that leaves no room, there are none.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from nameplate.geometry import region as rg
from nameplate.geometry.counting import members
from nameplate.geometry.nearby import points_within, within
from nameplate.geometry.region import Array, Region
from nameplate.geometry.simplify import simplified
from nameplate.jig.closure import Contacts, joined

#: Radius and depths of a notch, mm, deepest first: a fingertip wide (common practice), and as shallow as a nail needs.
RADIUS, DEPTHS = 7.0, (3.0, 2.0)

#: Distance of the places along the edge that are looked at, mm.
STEP = 1.0

#: The edge bends by less than this within a notch, degrees, and a notch takes this share of what it takes from a
#: straight edge, at least and at most: no corners, no recesses.
BEND, STRAIGHT = 30.0, (0.8, 1.2)

#: How exactly the edge is followed when places are looked for, mm.
COARSE = 0.05


class Notch(NamedTuple):
    """The disc that is taken out of a template, and how far it lies aside of the window's middle, mm."""

    disc: Region
    aside: float


def with_notches(outline: Region, window: Region, web: float, *, zone: Region | None = None) -> Region:
    """Cut release notches into an outline so that at least `web` mm stay between them and the window.

    They stand clear of the whole `zone` where they can, so that the templates of a batch have one outline; else clear
    of this window.

    >>> plain = rg.rectangle(-40, -20, 40, 20)
    >>> round(plain.area - with_notches(plain, rg.rectangle(-30, -9, 30, 9), 1.5).area, 1)  # two segments of a disc
    48.3
    """
    common = _notches(outline, zone, web) if zone is not None else None
    if common is not None and not within(common, window, web):
        return _without(outline, common)
    own = _notches(outline, window, web)
    return outline if own is None else _without(outline, own)


@lru_cache(maxsize=4)
def _without(outline: Region, notches: Region) -> Region:
    return rg.difference(outline, notches)


@lru_cache(maxsize=4)
def _notches(outline: Region, clear_of: Region, web: float) -> Region | None:
    """Find the pair of discs nearest the middle of what they must be clear of; None where no pair finds room."""
    places = _places(outline)
    middle = np.array(rg.bounds(clear_of).centre)
    for depth in DEPTHS:
        pairs = []
        for axis in (0, 1):
            found = [_notch(outline, clear_of, places, middle, axis, sign, depth, web) for sign in (-1.0, 1.0)]
            notches = [notch for notch in found if notch is not None]
            if len(notches) == len(found):
                pairs.append(notches)
        if pairs:
            best = min(pairs, key=lambda pair: max(notch.aside for notch in pair))
            return rg.union(*(notch.disc for notch in best))
    return None


@lru_cache(maxsize=4)
def _places(outline: Region) -> Contacts:
    places = []
    for ring in rg.outer_rings(simplified(outline, COARSE)):
        along = np.roll(ring, -1, axis=0) - ring
        length = np.linalg.norm(along, axis=1)
        count = np.maximum(1, np.ceil(length / STEP)).astype(int)
        which, nth = members(count)
        normals = np.column_stack([along[:, 1], -along[:, 0]]) / length[:, None]
        places.append(Contacts(ring[which] + along[which] * ((nth + 0.5) / count[which])[:, None], normals[which]))
    return joined(*places)


def _notch(
    outline: Region, window: Region, places: Contacts, middle: Array, axis: int, sign: float, depth: float, web: float
) -> Notch | None:
    """Find the notch on one side of the window (along an axis, in the sense of the sign) nearest its middle."""
    facing = sign * places.normals[:, axis] > 0.5
    beyond = sign * (places.points[:, axis] - middle[axis]) > 0
    centres = places.points + (RADIUS - depth) * places.normals
    chosen = np.flatnonzero(facing & beyond)
    chosen = chosen[~points_within(window, centres[chosen], RADIUS + web)]
    aside = np.abs(places.points[chosen, 1 - axis] - middle[1 - axis])
    for k in np.argsort(aside.round(6), kind="stable"):
        at = chosen[k]
        within = np.linalg.norm(places.points - centres[at], axis=1) < RADIUS
        if (places.normals[within] @ places.normals[at] < math.cos(math.radians(BEND))).any():
            continue
        disc = rg.disc(centres[at], 2 * RADIUS)
        taken = rg.intersection(outline, disc)
        if len(rg.solids(taken)) == 1 and STRAIGHT[0] <= taken.area / _segment(depth) <= STRAIGHT[1]:
            return Notch(disc, round(float(aside[k]), 6))
    return None


def _segment(depth: float) -> float:
    """Give the area of the segment that a straight edge cuts off a notch's disc."""
    rest = RADIUS - depth
    return RADIUS**2 * math.acos(rest / RADIUS) - rest * math.sqrt(RADIUS**2 - rest**2)
