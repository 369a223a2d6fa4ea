"""Hanging rings: what a name that stands free is hung by, tied to its lettering so that it hangs straight.

Terms. The *bore* is the hole of a ring, its *rim* what is round it. A ring is *dropped* on lettering from above along
an upright line, or *slid* against its end along a level one, until its rim lies in the letters by `BITE` of its width:
the bore stays free of them.

Method. What hangs by one ring turns until its centre of mass, which of a flat sheet is the centroid of its area, is
under the ring. So the ring is dropped above the centroid, and again above that of the whole, with ring and ties, until
the two agree (fixed-point iteration; a ring above the centroid does not move it, only ties and fillets aside do). It
stands on the lettering's top or over it: among the letters, or right on a small one, it would be read as an accent.
Where it touches none there, a strip ties it to them, straight down or, where that is much longer, the shortest way.

Two rings, at the ends, are level: as far out as letters reach on both sides at one height, which is over the centroid.

Known limit: the sheet is taken to be equally thick and heavy everywhere, and the thread to be thin.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from nameplate import tolerances
from nameplate.geometry import region as geo
from nameplate.geometry.bridge_paths import anchor, shortest_path, slanted_or
from nameplate.geometry.measure import section, without_pinholes
from nameplate.geometry.region import Region
from nameplate.geometry.simplify import simplified
from nameplate.lettering.links import STOUT
from nameplate.lettering.webs import PINHOLE, webs_hold
from nameplate.model import HangingRings

#: Width of a rim in minimum webs, and as a share of its bore, whichever is more. A narrower one looks like wire beside
#: script letters, a wider one like a washer.
RIM_WEBS = 1.2
RIM_SHARE = 0.25

#: Share of its rim by which a ring lies in the letters. More comes near to its bore, less leaves a thin tie.
BITE = 0.6

#: Radius of the fillets between ring and letters, in rims. Larger ones turn the tie into a lump.
FILLET = 0.6

#: One ring is placed anew until the centre of mass is no farther aside of it than this (mm), and at most so many times.
#: A piece 60 mm high then leans by less than a tenth of a degree.
ASIDE = 0.05
TURNS = 6

#: Heights at which two rings are tried.
LEVELS = 64

#: One mm of height is worth so many mm that both rings together lie farther in. More hangs a name by its top, and has
#: rings over the middle of a last letter that is low.
HEIGHT_WORTH = 0.5

#: Crevices are looked for this far (in fillets) from a ring and its strip.
NEAR = 3.0

#: Fillets thinner than twice this (mm) are left-overs of nearly equal edges.
SHAVING = 0.004

#: What becomes of lettering that rings were added to.
Finish = Callable[[Region], Region]


class HungLettering(NamedTuple):
    """Lettering with its rings, and whether it is one piece whose webs hold, with nothing in the bores."""

    region: Region
    rings: HangingRings
    holds: bool


class _Ring(NamedTuple):
    """A ring's measures (mm)."""

    bore: float
    rim: float

    @property
    def radius(self) -> float:
        return self.bore / 2 + self.rim

    @property
    def reach(self) -> float:
        """How near its middle comes to the letters that it lies in."""
        return self.radius - BITE * self.rim


class _Added(NamedTuple):
    """What is added to lettering: the middles of its rings, and these, still without bores, with their strips."""

    at: tuple[tuple[float, float], ...]
    shape: Region


def hang(
    lettering: Region, *, bore: float, web: float, at: str = "balance", finish: Finish | None = None
) -> HungLettering:
    """Add a ring, or at its "ends" two, to lettering in one piece (mm), whose webs hold.

    `finish` is done to the whole each time, with its bores open, before it is weighed: it may widen what has become too
    narrow, and take off no more than films.

    >>> bar = geo.rectangle(-30, 0, 30, 10)
    >>> hung = hang(bar, bore=4, web=1.5)
    >>> hung.holds, round(hung.rings.rim, 1), abs(hung.rings.aside) < 0.05
    (True, 1.8, True)
    """
    ring = _Ring(bore, max(RIM_WEBS * web, RIM_SHARE * bore))
    if at == "ends":
        return _weighed(lettering, ring, _at_ends(lettering, ring), web, finish)
    x = float(lettering.centroid.x)
    for _ in range(TURNS):
        hung = _weighed(lettering, ring, _dropped(lettering, ring, x, web), web, finish)
        if abs(hung.rings.aside) <= ASIDE:
            break
        x += hung.rings.aside
    return hung


def _weighed(lettering: Region, ring: _Ring, added: _Added, web: float, finish: Finish | None) -> HungLettering:
    """Join lettering and rings, and say how far aside of these the centre of mass is."""
    bores = geo.discs(added.at, ring.bore / 2)
    whole = geo.difference(_joined(lettering, added.shape, FILLET * ring.rim), bores)
    if finish is not None:
        whole = geo.difference(finish(whole), bores)
    middle = float(np.mean([x for x, _ in added.at]))
    box = geo.bounds(lettering)
    aside = float(whole.centroid.x) - middle
    rings = HangingRings(ring.bore, ring.rim, added.at, aside, box.width, box.height)
    free = not geo.intersects(lettering, geo.offset(bores, -tolerances.SAME_POINT))
    return HungLettering(whole, rings, free and len(geo.solids(whole)) == 1 and webs_hold(whole, web))


def _joined(lettering: Region, added: Region, fillet: float) -> Region:
    """Weld rings to lettering, with fillets where they meet."""
    sharp = geo.union(lettering, added)
    near = geo.window(sharp, geo.bounds(added).grown(NEAR * fillet))
    fillets = geo.opened(geo.difference(geo.closed(near, fillet), near), SHAVING)
    touching = geo.of_solids(f for f in geo.solids(fillets) if geo.distance(f, added) < 2 * SHAVING)
    whole = geo.union(sharp, geo.offset(touching, SHAVING))
    return simplified(without_pinholes(whole, PINHOLE), tolerances.ARC)


# --- one ring -------------------------------------------------------------------------------------------------------


def _dropped(lettering: Region, ring: _Ring, x: float, web: float) -> _Added:
    """Drop a ring on lettering along the upright line at x; where it stays above, tie it with a strip."""
    under = section(geo.offset(lettering, ring.reach), x)
    top = geo.bounds(lettering).y1 + ring.reach
    contact = float(under[-1, 1]) if len(under) else -np.inf
    at = (x, max(contact, top))
    disc = geo.disc(at, 2 * ring.radius)
    return _Added((at,), disc if contact >= top else geo.union(disc, _strip(lettering, disc, at, ring, web)))


def _strip(lettering: Region, disc: Region, at: tuple[float, float], ring: _Ring, web: float) -> Region:
    """Give the strip from a ring's middle to the lettering below it, or near it."""
    body, (own,) = min(geo.solids(lettering), key=lambda s: geo.distance(s, disc)), geo.solids(disc)
    path = slanted_or(own, body, 0.0, shortest_path)
    width = max(STOUT * web, ring.rim)
    return geo.capsule([at, path.b, anchor(body, path.b, width)], width)


# --- two rings ------------------------------------------------------------------------------------------------------


def _at_ends(lettering: Region, ring: _Ring) -> _Added:
    """Slide a ring against each end of lettering, both at the height where they lie farthest out for how high it is."""
    high, tries = geo.bounds(lettering).y1, []
    low = min(float(lettering.centroid.y) + ring.radius, high)
    lying = geo.moved(geo.offset(lettering, ring.reach), turn=90.0)  # a level line at y is upright there, at -y
    for y in np.linspace(high, low, LEVELS).tolist():
        reach = section(lying, -y)  # where the middles of rings are that are slid in from both sides
        if len(reach):
            start, end = float(reach[0, 0]), float(reach[-1, 1])
            tries.append((end - start + HEIGHT_WORTH * y, start, end, y))
    _, start, end, y = max(tries)
    at = ((start, y), (end, y))
    return _Added(at, geo.union(*(geo.disc(place, 2 * ring.radius) for place in at)))
