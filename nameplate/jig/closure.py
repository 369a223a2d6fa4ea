"""Form closure: whether contacts hold a flat part still without friction.

Terms. A *contact* is a point where something touches the part, with the normal there; whether all of these point inward
or outward makes no difference. Its *wrench* is the moment and force that a unit push along the normal gives: (x sin t -
y cos t, cos t, sin t). The part is held in form closure when the wrenches have rank 3 and some strictly positive
combination of them is nothing, so that every small motion runs into a contact (Reuleaux 1875; Lynch and Park, Modern
Robotics, 2017, section 12.1.7). At least four contacts are needed; a disc never has form closure, as no normal has a
moment about its centre.

Known limit: first order only. A part that is held by curvature alone (second-order immobility) counts as free.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from nameplate.geometry.region import Array, Flags, Indices, unit_vectors

#: Levers below this part of the largest (or of 1 mm), and singular values below this part of the largest, count as
#: nothing. Far above rounding, far below any real lever: with a part of 100 mm it is a ten-thousandth of a millimetre.
RANK = 1e-6


#: Least number of contacts that can hold a part (Reuleaux 1875).
LEAST = 4

#: Step between the normals that are taken all round a pin and at a convex corner, degrees. What this cuts short
#: overstates a shift by 1 / cos(5 degrees), 0.4 %.
NORMAL_STEP = 10.0


@dataclass(frozen=True, slots=True, eq=False)
class Contacts:
    """Places of an edge: `points` (mm) and the unit `normals` there, outward, (n, 2) each."""

    points: Array
    normals: Array

    def __len__(self) -> int:
        return len(self.points)

    def picked(self, chosen: Indices | Flags) -> Contacts:
        """Give some of them."""
        return Contacts(self.points[chosen], self.normals[chosen])

    def moments(self, about: Array) -> Array:
        """Give the moment (n,) of each normal about a point, mm."""
        lever = self.points - about
        moments: Array = lever[:, 0] * self.normals[:, 1] - lever[:, 1] * self.normals[:, 0]
        return moments


def joined(*some: Contacts) -> Contacts:
    """Put contacts together.

    >>> len(joined())
    0
    """
    none = np.empty((0, 2))
    return Contacts(np.vstack([none, *(c.points for c in some)]), np.vstack([none, *(c.normals for c in some)]))


def wrenches(contacts: Contacts) -> Array:
    """Give the wrench of each contact as a column of a (3, n) array: moment (mm), force along x and y.

    >>> wrenches(Contacts(np.array([(2.0, 0.0)]), np.array([(0.0, 1.0)]))).ravel().tolist()
    [2.0, 0.0, 1.0]
    """
    return np.vstack([contacts.moments(np.zeros(2)), contacts.normals.T])


def is_closed(contacts: Contacts) -> bool:
    """Tell whether contacts hold a part in form closure.

    >>> around = unit_vectors(np.radians([0, 90, 180, 270]))
    >>> is_closed(Contacts(around, -around)), is_closed(joined())
    (False, False)
    """
    if len(contacts) < LEAST:
        return False
    scaled = _about_middle(wrenches(contacts))
    if np.linalg.matrix_rank(scaled, tol=RANK * max(1.0, float(np.linalg.norm(scaled, 2)))) < 3:
        return False
    from scipy.optimize import linprog

    found = linprog(np.ones(len(contacts)), A_eq=scaled, b_eq=np.zeros(3), bounds=(1, None), method="highs")
    return bool(found.success)


def _about_middle(columns: Array) -> Array:
    """Take moments about the point where they are least, and in units of their spread.

    Neither changes the answer (both are invertible row operations); a disc far from the origin is seen as a disc.
    """
    moment, force = columns[0], columns[1:]
    centre, *_ = np.linalg.lstsq(force.T, moment, rcond=None)
    rest = moment - centre @ force
    reach = max(1.0, float(np.abs(moment).max()))
    spread = float(np.abs(rest).max())
    if spread < RANK * reach:
        rest, spread = np.zeros_like(rest), 1.0
    return np.vstack([rest / spread, force])


def pin_contacts(centre: Array, *, slot: float | None = None) -> Contacts:
    """Give the contacts of a round pin with a part: all round its hole, or on both sides of a slot.

    `slot` is the direction in which the slot runs, in degrees; the contacts are taken at the pin's `centre` (2,), which
    changes no moment, as every normal of a round pin goes through it.
    """
    angles = np.arange(0.0, 360.0, NORMAL_STEP) if slot is None else np.array([slot + 90, slot - 90])
    return Contacts(np.tile(centre, (len(angles), 1)), unit_vectors(np.radians(angles)))


def relieved_pin_float(pin: float, hole: float, land: float) -> float:
    """Give the play (mm, one way across the lands) of a relieved pin in a round hole.

    `pin` and `hole` are diameters, `land` the width of the pin's remaining cylindrical faces. A relieved pin of the
    same play can be thicker than a slot would allow (Drake, ed., Dimensioning and Tolerancing Handbook, 1999, ch. 24).

    >>> round(relieved_pin_float(6.30, 6.35, 2.0), 4)
    0.0762
    """
    return math.sqrt((hole**2 - pin**2) / 4 + land**2 / 4) - land / 2


def pin_tilt(clearance: float, pitch: float) -> float:
    """Give the largest turn (degrees) of a plate on a pin in a hole and a pin in a slot.

    `clearance` is the diametral one of hole and slot, `pitch` the distance of the pins: sin a = clearance / pitch.

    >>> round(pin_tilt(0.1, 50), 4)
    0.1146
    """
    return math.degrees(math.asin(clearance / pitch))
