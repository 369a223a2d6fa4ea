"""The window of a template: the opening that the cut name drops into.

A `contour` window is the lettering's outline with its counters filled, grown by the clearance with round corners. What
of the template such a window leaves standing is measured here: webs to the edge and between windows, and tongues. A
window of the other form touches the name at a few nubs only (`contacts.py`).
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import NamedTuple

from nameplate import tolerances
from nameplate.geometry import region as rg
from nameplate.geometry.measure import cores
from nameplate.geometry.nearby import nearest, within
from nameplate.geometry.region import Region
from nameplate.jig.contacts import Nubs, contact_window
from nameplate.jig.locating import name_motions
from nameplate.jig.play import Motions
from nameplate.model import Feature
from nameplate.ticket.schema import JigKeys


@dataclass(frozen=True, slots=True, eq=False)
class Opening:
    """A window's region and what it is called in a jig file; `nubs` are those of each loose piece, if it has any."""

    region: Region
    feature: Feature
    nubs: tuple[Nubs, ...] = ()


def make_opening(lettering: Region, keys: JigKeys) -> Opening:
    """Make the window for a lettering in plate coordinates, in the form that the ticket asks for."""
    if keys.window == "contacts":
        window, nubs = contact_window(lettering, keys)
        return Opening(window, "contact-window", nubs)
    return Opening(contour_window(lettering, keys.clearance), "window")


def motions_in(opening: Opening, lettering: Region, keys: JigKeys) -> tuple[Motions, ...]:
    """Give what each loose piece of a lettering can do in its opening."""
    return tuple(n.motions for n in opening.nubs) or name_motions(lettering, keys)


class Web(NamedTuple):
    """A narrow place of a template: its middle and its width in mm, and what lies on its two sides."""

    x: float
    y: float
    width: float
    between: str


def contour_window(lettering: Region, clearance: float) -> Region:
    """Give the window for a lettering: filled, grown by `clearance` mm, round joins.

    A gap of the lettering that closes when grown would leave an island of the template that falls out: it is filled.

    >>> round(contour_window(rg.rectangle(0, 0, 4, 2), 0.5).area, 2)  # 8 + 12 * 0.5 + pi * 0.25
    14.78
    >>> contour_window(rg.EMPTY, 0.2).is_empty
    True
    """
    return rg.filled(rg.offset(rg.filled(lettering), clearance))


def lost_islands(lettering: Region, clearance: float) -> Region:
    """Give the islands of the template that `contour_window` fills because nothing would hold them."""
    return rg.holes(rg.offset(rg.filled(lettering), clearance))


def narrow_webs(outline: Region, window: Region, web: float) -> tuple[Web, ...]:
    """Find where a template is narrower than `web` mm between a window and the edge or between two windows.

    Each window is reported against the edge, and each pair of windows, at most once, at the narrowest place.
    """
    openings = rg.solids(window)
    if len(openings) == 1 and rg.covers(rg.offset(outline, -web), window):
        return ()
    outside = rg.difference(rg.offset(outline, web, join="mitre"), outline)
    pairs: list[tuple[rg.Shape, rg.Shape, str]] = [(opening, outside, "window and edge") for opening in openings]
    pairs += ((a, b, "two windows") for a, b in itertools.combinations(openings, 2))
    found = []
    for a, b, between in pairs:
        if within(a, b, web - tolerances.WEB_SLACK):
            p, q = nearest(a, b)
            found.append(Web(float(p[0] + q[0]) / 2, float(p[1] + q[1]) / 2, math.dist(p, q), between))
    return tuple(found)


def loose_tongues(template: Region, width: float) -> tuple[Region, ...]:
    """Find parts of a template that hang on by less than `width` mm, as one region each, largest first.

    Of the bodies held that wide the largest is the template's frame; any other is the core of such a part.
    """
    bodies = sorted((c for s in rg.solids(template) for c in cores(s, width / 2)), key=lambda s: -s.area)
    return tuple(rg.offset(core, width / 2) for core in bodies[1:])
