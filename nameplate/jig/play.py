"""How well a jig locates: the largest motions that the clearances allow.

Terms. A part sits in an opening that is everywhere a *gap* wider. A *motion* is a small shift d and turn t; at a point
p of the part's edge with outward normal n and lever m it must not carry p further than the gap along n:
n.d + m sin t - n.p (1 - cos t) <= gap. But for its last term, by which levers are shortened, that is one linear
condition on (dx, dy, sin t) for each place of the edge, so the possible motions form a polytope with the origin inside.
Everything a maker asks for (largest shift, largest turn, largest error at some letter) is a convex function and takes
its maximum at a corner of that polytope; a linear programme would visit the same corners one at a time.

Several locators in a row (name in window, template on pins, plaque in pocket) add up: the set of all motions is the
sum of the sets, and the largest displacement in a direction is the sum of theirs.

Known limits. All levers are shortened as at the largest turn, which is found in rounds: that errs on the large side for
smaller turns, and is short of the largest by less than a thousandth. Details of the edge smaller than the gap are taken
at their word. Checked in the tests against brute force on convex parts and on handwriting.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from nameplate import tolerances
from nameplate.geometry import region as rg
from nameplate.geometry.nearby import points_within
from nameplate.geometry.region import Array, Indices, Region, unit_vectors
from nameplate.geometry.simplify import simplified
from nameplate.jig.closure import NORMAL_STEP, Contacts, joined, pin_contacts
from nameplate.jig.turning import HALF_ROUND, NORMALS, WideTurn, any_turn, wide_turn

#: A part that can turn further than this is called free to turn, degrees. Beyond it the polytope is of no use
#: (`turning.py` goes on from there), and neither is the jig.
FREE_TURN = 10.0

#: From this turn on (degrees) the turn is followed step by step as well, and no further one counts: on edges that curve
#: outwards other places come to touch than those that the conditions know.
WIDE = 1.5

#: A part that can shift further than this is called free to shift, mm.
FREE_SHIFT = 10.0

#: Added to every gap: what two burned edges may differ from their nominal shapes, mm.
CUT_ERROR = tolerances.CURVE

#: Outlines are thinned by this much before contacts are taken, mm: a fortieth of a usual clearance. Halving it makes
#: 1.4 times as many contacts.
THIN = 0.005

#: Contacts are sorted by the direction of their normal into bins this wide, degrees, and of each bin only the two with
#: the extreme moments are kept, as those between bound nothing more. Overstates a motion by under 1 - cos(1 degree).
BIN = 2.0

#: A place of the edge counts as a contact when the wall stands at this part of the gap from the part, at least.
WALL = 0.98

#: Levers are shortened anew until that adds less than this part of the gap. Less takes more rounds.
SETTLED = 0.001

#: With at most this many conditions every three are met, instead of calling the convex hull's library.
FEW = 24

#: Three conditions whose normals span less than this (of unit vectors) meet nowhere in particular.
PARALLEL = 1e-9

#: Points of the lettering's hull at which the displacement is taken.
_HULL_POINTS = 48


class Play(NamedTuple):
    """Largest shift of the name's middle (mm), turn (degrees), and displacement of its farthest point (mm)."""

    shift: float
    turn: float
    far: float


@dataclass(frozen=True, slots=True, eq=False)
class Motions:
    """The corners of a polytope of motions: (m, 3) of dx, dy in mm and turn in radians, about the point `about`.

    The polytope overstates what a part does that turns far; such a part has its `wide` turn besides.
    """

    corners: Array
    about: Array
    wide: WideTurn | None = None

    @property
    def turn(self) -> float:
        """Largest turn in degrees; half round for a part that nothing is known to stop."""
        turn = HALF_ROUND if self.is_cut_off else self.polytope_turn
        return turn if self.wide is None else min(turn, self.wide.turn)

    @property
    def polytope_turn(self) -> float:
        """Largest turn of a corner in degrees."""
        return math.degrees(float(np.abs(self.corners[:, 2]).max()))

    @property
    def is_cut_off(self) -> bool:
        """Whether it turns further than the polytope reaches."""
        return self.polytope_turn > FREE_TURN * 0.999

    @property
    def free(self) -> bool:
        """Whether something is not located at all."""
        return self.turn > FREE_TURN * 0.999 or float(np.abs(self.corners[:, :2]).max()) > FREE_SHIFT * 0.999

    def displaced(self, points: Array) -> Array:
        """Give the displacement of each of (n, 2) points at each corner: (m, n, 2)."""
        lever = points - self.about
        swing = np.stack([-lever[:, 1], lever[:, 0]], axis=-1)
        return self.corners[:, None, :2] + self.corners[:, 2, None, None] * swing[None]


def edge_contacts(shape: Region) -> Contacts:
    """Take contacts from the outer edges of a region: both ends of each straight, and fans at convex corners."""
    found = []
    for ring in rg.outer_rings(simplified(shape, THIN)):
        along = np.roll(ring, -1, axis=0) - ring
        out = np.column_stack([along[:, 1], -along[:, 0]]) / np.linalg.norm(along, axis=1)[:, None]
        ends, following = np.roll(ring, -1, axis=0), np.roll(out, -1, axis=0)
        found += [Contacts(ring, out), Contacts(ends, out)]
        cross = out[:, 0] * following[:, 1] - out[:, 1] * following[:, 0]
        bends = np.degrees(np.arctan2(cross, (out * following).sum(axis=1)))
        for at in np.flatnonzero(bends >= NORMAL_STEP):
            fan = _fan(out[at], float(bends[at]))
            found.append(Contacts(np.tile(ends[at], (len(fan), 1)), fan))
    return joined(*found)


def _fan(normal: Array, bend: float) -> Array:
    """Give unit vectors between the normals of a convex corner that turns by `bend` degrees."""
    between = np.linspace(0, bend, int(bend // NORMAL_STEP) + 2)[1:-1]
    return unit_vectors(math.atan2(normal[1], normal[0]) + np.radians(between))


def window_contacts(part: Region, gap: float) -> Contacts:
    """Take contacts of a part with the opening that is `gap` mm larger all round.

    In a concave corner the opening's wall is nearer to the other side of the corner; such places never touch and are
    left out.
    """
    solid = rg.filled(part)
    found = edge_contacts(solid)
    if not len(found):
        return found
    moment = found.moments(middle_of(found.points))
    alive, checked = np.arange(len(moment)), np.zeros(len(moment), dtype=bool)
    while len(alive):
        telling = alive[_telling(found.normals[alive], moment[alive])]
        new = telling[~checked[telling]]
        checked[new] = True
        hidden = new[points_within(solid, found.points[new] + gap * found.normals[new], WALL * gap)]
        if not len(hidden):
            return found.picked(telling)
        alive = np.setdiff1d(alive, hidden)
    return joined()


def possible_motions(contacts: Contacts, gaps: Array | float, *, most: float = FREE_TURN) -> Motions:
    """Give the motions of a part that contacts allow, up to the turn that is the `most` (degrees); `gaps` are in mm,
    one for all or one each, above 0."""
    gap = np.broadcast_to(np.asarray(gaps, dtype=float), (len(contacts),))
    if not len(contacts):
        free = np.array([FREE_SHIFT, FREE_SHIFT, math.radians(FREE_TURN)])
        return Motions(np.array(list(itertools.product((-1.0, 1.0), repeat=3))) * free, np.zeros(2))
    about = middle_of(contacts.points)
    moment = contacts.moments(about)
    outward = np.maximum(0.0, ((contacts.points - about) * contacts.normals).sum(axis=1))
    shortened, settled = 0.0, False
    while not settled:
        corners = _corners(contacts.normals, moment, gap + shortened * outward, math.radians(most))
        sine = float(np.abs(corners[:, 2]).max())
        before, shortened = shortened, 1 - math.sqrt(1 - sine**2)
        settled = (shortened - before) * float(outward.max()) <= SETTLED * float(gap.min())
    if sine > math.radians(WIDE):  # a smaller turn is its sine to a ten-thousandth
        corners[:, 2] = np.arcsin(corners[:, 2])
    return Motions(corners, about)


def middle_of(points: Array) -> Array:
    """Give the middle (2,) of the box round points (n, 2)."""
    middle: Array = (points.min(axis=0) + points.max(axis=0)) / 2
    return middle


def _corners(normals: Array, moment: Array, gap: Array, most: float) -> Array:
    """Enumerate the corners of {n.d + m s <= gap}, cut off at FREE_SHIFT and the most s: (k, 3) of d and s."""
    kept = _telling(normals, moment / gap)
    normals, moment, gap = normals[kept], moment[kept], gap[kept]
    reach = max(float(np.abs(moment).max()), 1.0)
    rows = np.column_stack([normals, moment / reach, -gap])
    limit = np.vstack([np.eye(3), -np.eye(3)])
    rows = np.vstack([rows, np.column_stack([limit, -np.tile([FREE_SHIFT, FREE_SHIFT, most * reach], 2)])])
    if len(rows) <= FEW:
        return _met(rows) / [1.0, 1.0, reach]
    from scipy.spatial import HalfspaceIntersection

    rows = rows[np.sort(np.unique((rows / rows[:, 3:]).round(6), axis=0, return_index=True)[1])]
    corners = HalfspaceIntersection(rows, np.zeros(3)).intersections
    corners = corners[np.isfinite(corners).all(axis=1)]
    return np.unique((corners / [1.0, 1.0, reach]).round(9), axis=0)


def _met(rows: Array) -> Array:
    """Give the corners of {row[:3] . x + row[3] <= 0} by meeting every three planes: quick when they are few."""
    normals, gap = rows[:, :3], -rows[:, 3]
    a, b, c = np.array(list(itertools.combinations(range(len(rows)), 3)), dtype=np.intp).T
    bc, ca, ab = (np.cross(normals[p], normals[q]) for p, q in ((b, c), (c, a), (a, b)))
    volume = (normals[a] * bc).sum(axis=1)
    real = np.abs(volume) > PARALLEL
    bc, ca, ab, volume = bc[real], ca[real], ab[real], volume[real, None]
    met = (gap[a[real], None] * bc + gap[b[real], None] * ca + gap[c[real], None] * ab) / volume
    inside = (met @ normals.T <= gap * (1 + 1e-9) + 1e-12).all(axis=1)
    corners: Array = met[inside]
    return corners


def _telling(normals: Array, lever: Array) -> Indices:
    """Pick, of the contacts of about one direction, the two whose levers reach farthest to either side."""
    bins = np.round(np.degrees(np.arctan2(normals[:, 1], normals[:, 0])) % 360 / BIN).astype(int)
    order = np.lexsort((lever, bins))
    edge = np.flatnonzero(np.diff(bins[order]))
    first = order[np.concatenate([[0], edge + 1])]
    last = order[np.concatenate([edge, [len(order) - 1]])]
    return np.unique(np.concatenate([first, last]))


def pin_motions(hole: Array, slot: Array, hole_gap: float, slot_gap: float) -> Motions:
    """Give the motions of a plate on a round hole and a slot on the line of centres.

    `hole` and `slot` are the pins' centres (2,), the gaps half of the diametral clearances, mm.
    """
    line = math.degrees(math.atan2(slot[1] - hole[1], slot[0] - hole[0]))
    round_hole, on_line = pin_contacts(hole), pin_contacts(slot, slot=line)
    gaps = np.repeat([hole_gap, slot_gap], [len(round_hole), len(on_line)])
    return possible_motions(joined(round_hole, on_line), gaps)


def total_play(lettering: Region, locators: Sequence[Motions]) -> Play:
    """Add up the motions of locators in a row, at the worst: for the middle and the farthest point of a lettering.

    A locator that lets the part turn freely counts with every turn, up to half round.

    >>> total_play(rg.rectangle(0, 0, 2, 1), [])
    Play(shift=0.0, turn=0.0, far=0.0)
    """
    return play_of(telling_places(lettering), locators)


def telling_places(lettering: Region) -> Array:
    """Give the places of a lettering, (n, 2), by which its play is judged: its middle, then the corners of its hull."""
    corners = rg.convex_corners(lettering)
    around = unit_vectors(np.linspace(0, 2 * math.pi, _HULL_POINTS, endpoint=False))
    outermost = corners[np.unique((corners @ around.T).argmax(axis=0))]
    return np.vstack([np.array([rg.bounds(lettering).centre]), outermost])


def play_of(places: Array, locators: Sequence[Motions]) -> Play:
    """Add up motions like `total_play`, for places that are known already."""
    if not locators:
        return Play(0.0, 0.0, 0.0)
    reach = sum((_reach(m, places) for m in locators), np.zeros((len(places), len(NORMALS))))
    worst = reach.max(axis=1)
    turn = sum(m.turn for m in locators)
    return Play(float(worst[0]), min(HALF_ROUND, float(turn)), float(worst.max()))


def _reach(motions: Motions, places: Array) -> Array:
    """Give how far each of (n, 2) places can be carried in each of the NORMALS: (n, k), mm."""
    wide = motions.wide
    if motions.is_cut_off:
        wide = wide or any_turn(float(np.linalg.norm(motions.corners[:, :2], axis=1).max()))
        return wide.carried(places - motions.about)
    carried: Array = (motions.displaced(places) @ NORMALS.T).max(axis=0)
    return carried if wide is None else np.minimum(carried, wide.carried(places - motions.about))


def window_motions(part: Region, gap: float) -> Motions:
    """Give the motions of a part in the opening that is `gap` mm larger all round (cut errors not included).

    Raises ValueError when the gap is not above 0.
    """
    if not gap > 0:
        raise ValueError(f"every gap must be above 0 mm, not {gap:g}")
    contacts = window_contacts(part, gap)
    motions = possible_motions(contacts, gap)
    if motions.polytope_turn <= WIDE:
        return motions
    wide = wide_turn(part, gap)
    return replace(possible_motions(contacts, gap, most=min(wide.turn, FREE_TURN)), wide=wide)
