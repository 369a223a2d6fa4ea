"""The carrier: cut once for a batch, it holds the plaque in a pocket and registers every template on pins.

Terms. The *pocket* is the face's outline with the clearance; the plaque lies in it on the *floor* between *walls* of
as many layers as its height takes. Two *locating pins* stand beside the pocket: one in a round hole of the template,
one in a slot along the line of their centres. Those two alone cannot tell a template from its mirror image about that
line, so a third *key pin* stands off the line in a wide hole; turned or flipped, a template lands on a pin.

Templates are bands: as high as their window needs, as long as from pin to pin. They may reach over the face's edge.

Known limit: pins stand at the height of the zone's middle; a face whose outline is deeply notched there gets ears that
reach into the notch only as far as a straight band allows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from nameplate.geometry import region as rg
from nameplate.geometry.region import Array, Region
from nameplate.geometry.simplify import simplified
from nameplate.jig.locating import pocket_gap, same_turned
from nameplate.jig.play import CUT_ERROR, Motions, pin_motions
from nameplate.model import Face, Feature
from nameplate.ticket.schema import JigKeys

#: Play per side of a pin in its hole and slot, mm. Goes into the error of every name; below 0.05 a template sticks.
PIN_GAP = 0.05

#: Play per side of the key pin: it must never locate, so well above the play of the other two at its place.
KEY_GAP = 0.5

#: How much farther the key pin stands from the slot's pin than the locating pin does, mm. It must exceed slot room and
#: key gap together, or a flipped template goes on with its two left-hand holes changed over.
KEY_ASIDE = 3.0

#: Room of the locating pin along its slot, one way, mm: takes what card shrinks over 150 mm, and hand-drilled pins.
SLOT_ROOM = 1.0

#: Material between a pin and the pocket, mm.
PIN_WALL = 5.0

#: Material round the holes of a template's ears, mm.
EAR = 2.0

#: How far a template's ear reaches past the pin, mm: enough to grip.
GRIP = 8.0

#: Material round pocket and pins, mm.
CARRIER_WALL = 8.0

#: How far the carrier reaches past the ears of a template, mm.
EDGE = 2.0

#: Width and depth of the finger notch under each ear, mm.
NOTCH_RADIUS, NOTCH_DEPTH = 9.0, 2.5

#: Rim of a template round its window, mm.
RIM = 5.0

#: Recesses of a window narrower than twice this are spanned by the rim, mm: straighter is stiffer, and costs stock.
SPAN = 10.0

#: How exactly the rim follows the window, mm: it is RIM wide, give or take this. Finer takes twice as long.
COARSE = 0.05

#: Concave corners of a template's outline get this radius, so that they do not tear.
FILLET = 6.0


@dataclass(frozen=True, slots=True, eq=False)
class CarrierPlan:
    """Where everything of a carrier is, in plate coordinates; the pins are centres (2,) in mm."""

    pocket: Region
    outline: Region
    hole: Array
    slot: Array
    key: Array
    pin: float
    half_band: float
    release: Region
    pegs: Region

    @property
    def pins(self) -> tuple[Array, Array, Array]:
        """The pin in the round hole, the one in the slot, and the key pin."""
        return self.hole, self.slot, self.key


@lru_cache(maxsize=4)
def plan_carrier(face: Face, keys: JigKeys) -> CarrierPlan:
    """Lay out the carrier for a face."""
    pocket = rg.offset(face.outline, pocket_gap(keys))
    middle = rg.bounds(face.zone).centre[1]
    lift = keys.pin + 2 * EAR
    half_band = lift + keys.pin / 2 + KEY_GAP + EAR
    box = rg.bounds(pocket)
    band = rg.intersection(pocket, rg.rectangle(box.x0, middle - half_band, box.x1, middle + half_band))
    side = keys.pin / 2 + PIN_WALL
    left, right = rg.bounds(band).x0 - side, rg.bounds(band).x1 + side
    hole, slot = np.array([left, middle]), np.array([right, middle])
    return CarrierPlan(
        pocket=pocket,
        outline=_carrier_outline(pocket, left, right, middle, half_band),
        hole=hole,
        slot=slot,
        key=np.array([left - KEY_ASIDE, middle + lift]),
        pin=keys.pin,
        half_band=half_band,
        release=_release(face),
        pegs=_pegs(face, keys),
    )


def _carrier_outline(pocket: Region, left: float, right: float, middle: float, half_band: float) -> Region:
    """Follow the pocket at a distance, with arms out to the ends of the templates' ears."""
    x0, x1 = left - GRIP - EDGE, right + GRIP + EDGE
    arms = rg.opened(rg.rectangle(x0, middle - half_band - EDGE, x1, middle + half_band + EDGE), FILLET)
    sheet = rg.filled(rg.closed(rg.union(rg.offset(pocket, CARRIER_WALL), arms), SPAN))
    notches = [_notch(x0, left - GRIP, middle), _notch(x1, right + GRIP, middle)]
    return rg.difference(sheet, rg.union(*notches))


def _notch(edge: float, ear: float, middle: float) -> Region:
    """Cut in from the edge to a finger's depth under the end of an ear."""
    inward = 1.0 if ear > edge else -1.0
    deepest = ear + inward * NOTCH_DEPTH
    centre = deepest - inward * NOTCH_RADIUS
    return rg.capsule([(centre, middle), (edge - inward * NOTCH_RADIUS, middle)], 2 * NOTCH_RADIUS)


def _release(face: Face) -> Region:
    """Make a hole in the floor through which the plaque is pushed out: a finger's width where the face allows."""
    room = rg.offset(face.outline, -EAR)
    x, y = rg.bounds(face.zone).centre
    for diameter in (20.0, 14.0, 8.0):
        disc = rg.disc((x, y), diameter)
        if rg.covers(room, disc) and not rg.intersects(disc, face.keep_outs):
            return disc
    return rg.EMPTY


def _pegs(face: Face, keys: JigKeys) -> Region:
    """Give holes of the floor under the plaque's own holes where these tell its top from its bottom.

    A dowel through both keys a plaque whose outline would fit the pocket turned.
    """
    slack = 2 * pocket_gap(keys)
    if face.keep_outs.is_empty or not same_turned(face.outline, slack):
        return rg.EMPTY
    both = rg.difference(face.outline, face.keep_outs)
    return rg.EMPTY if 180.0 in same_turned(both, slack) else face.keep_outs


def template_outline(plan: CarrierPlan, window: Region) -> Region:
    """Give the outline of the template for a window: a rim round it, and ears over the pins on both sides."""
    middle = float(plan.hole[1])
    band = rg.rectangle(
        float(plan.hole[0]) - GRIP, middle - plan.half_band, float(plan.slot[0]) + GRIP, middle + plan.half_band
    )
    rim = rg.offset(rg.filled(rg.closed(simplified(window, COARSE), SPAN)), RIM)
    box = rg.bounds(window)
    # a name above or below the band is joined to it over its whole width
    low, high = sorted((box.centre[1], middle))
    if high - low > plan.half_band:
        rim = rg.union(rim, rg.rectangle(box.x0, low, box.x1, high))
    return rg.filled(rg.closed(rg.union(rg.opened(band, 2.0), rim), FILLET))


def template_holes(plan: CarrierPlan) -> tuple[tuple[Feature, Region], ...]:
    """Give the holes of every template: round hole, slot, and the wide hole of the key pin."""
    along = np.array([SLOT_ROOM, 0.0])
    return (
        ("pin-hole", rg.disc(plan.hole, plan.pin + 2 * PIN_GAP)),
        ("pin-slot", rg.capsule([plan.slot - along, plan.slot + along], plan.pin + 2 * PIN_GAP)),
        ("pin-hole", rg.disc(plan.key, plan.pin + 2 * KEY_GAP)),
    )


def register_motions(plan: CarrierPlan) -> Motions:
    """Give the motions of a template on the two locating pins."""
    gap = PIN_GAP + CUT_ERROR
    return pin_motions(plan.hole, plan.slot, gap, gap)


#: The four ways in which a template's two locating holes meet the two pins.
POSES = ("as meant", "turned half round", "flipped about the line of the pins", "flipped end for end")


def poses_that_fit(plan: CarrierPlan, template: Region) -> tuple[str, ...]:
    """Give the ways (of POSES) in which a template goes onto the pins; a good one goes on as meant only.

    A pin stops a template when it would have to go through more than a twentieth of its own section of material.
    """
    pins = rg.union(*(rg.disc(p, plan.pin) for p in plan.pins))
    x, y = (float(v) for v in (plan.hole + plan.slot) / 2)
    centred = rg.moved(pins, -x, -y)
    # each pose undoes itself, so that the pins can be laid on the template instead
    tried = (centred, rg.moved(centred, turn=180), rg.mirrored(rg.moved(centred, turn=180)), rg.mirrored(centred))
    least = 0.05 * math.pi * plan.pin**2 / 4
    laid = (rg.moved(placed, x, y) for placed in tried)
    return tuple(name for name, there in zip(POSES, laid, strict=True) if _pierced(template, there) < least)


def _pierced(template: Region, pins: Region) -> float:
    """Give the area of a template's material that lies where pins are, mm2."""
    near = (rg.window(template, rg.bounds(pin)) for pin in rg.solids(pins))
    return float(sum(rg.intersection(bit, pins).area for bit in near))
