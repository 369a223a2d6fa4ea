"""Windows that touch the name at a few nubs only, so that glue cannot wick to the template.

Method: a linear programme finds the largest turn each way, and the largest shift in four directions, that the full
contour window would allow; the contacts that stop those motions bound them just as well when they stand alone. They
become the nubs; the rest of the window stands back. Nubs that add little are taken out again, the dearest kept, as
long as the name stays in form closure.

Known limit: nubs are chosen from contacts of single directions, so the set is near the least, not proved least.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from nameplate.geometry import region as rg
from nameplate.geometry.nearby import points_within
from nameplate.geometry.region import Array, Flags, Indices, Region
from nameplate.geometry.simplify import cleaned
from nameplate.jig.closure import LEAST, Contacts, is_closed, joined
from nameplate.jig.play import (
    CUT_ERROR,
    Motions,
    Play,
    middle_of,
    play_of,
    possible_motions,
    telling_places,
    window_contacts,
)
from nameplate.ticket.schema import JigKeys

#: Width of a nub along the name's edge, mm. Narrower wears; wider holds more glue.
NUB = 2.5

#: Nubs nearer to each other than this are one, mm.
MERGE = 2.0

#: Openings narrower than this beside a nub are filled, mm; a slit of card burns away ragged.
SLIT = 0.6

#: Radius of the corners of a nub, mm: a beam holds a rounded corner to a hundredth, a sharp one not to three.
ROUND = 0.2

#: How far behind its face a nub is looked for, mm.
TOUCH = 0.05

#: Times that lost nubs are looked for elsewhere.
TRIES = 8

#: A nub goes when the name then turns, and its farthest point then strays, at most this much more than with the whole
#: contour. The turn is what is seen first; a shift into a corner between nubs costs up to 1.4 times the gap anyway.
LOOSER_TURN, LOOSER_FAR = 1.15, 1.6


@dataclass(frozen=True, slots=True, eq=False)
class Nubs:
    """Where nubs touch one loose piece of a lettering, and what that lets it do; `held` is form closure."""

    contacts: Contacts
    motions: Motions
    held: bool


def choose_nubs(piece: Region, keys: JigKeys, lost: Contacts) -> Nubs:
    """Choose at least four nubs for one piece of a lettering (counters filled), none where one was lost before."""
    full = window_contacts(piece, keys.clearance + keys.relief)
    gap = keys.clearance + CUT_ERROR
    if len(full) < LEAST:
        full = window_contacts(piece, keys.clearance)
    full = _away_from(full, lost)
    if not len(full):
        return _nubs(full, gap)
    chosen = _merged(full, _stopping(full, gap))
    places = telling_places(piece)
    whole = play_of(places, [possible_motions(full, gap)])
    allowed = Play(0.0, LOOSER_TURN * whole.turn, LOOSER_FAR * whole.far)
    chosen = _without_idle(places, full, chosen, gap, allowed)
    return _nubs(full.picked(chosen), gap)


def _nubs(contacts: Contacts, gap: float) -> Nubs:
    return Nubs(contacts, possible_motions(contacts, gap), is_closed(contacts))


def contact_window(lettering: Region, keys: JigKeys) -> tuple[Region, tuple[Nubs, ...]]:
    """Give the window for a lettering, relieved all round but for its nubs, and the nubs of each loose piece.

    A nub that would stand in a crevice, where nothing holds it, is looked for elsewhere; one that is still lost after
    the last try does not count.
    """
    solid = rg.filled(lettering)
    pieces = [rg.as_region(piece) for piece in rg.solids(solid)]
    lost = joined()
    for _ in range(TRIES):
        nubs = tuple(choose_nubs(piece, keys, lost) for piece in pieces)
        window = _window_with(solid, nubs, keys)
        missing = [_missing(window, n.contacts, keys.clearance) for n in nubs]
        if not any(m.any() for m in missing):
            return window, nubs
        lost = joined(lost, *(one.contacts.picked(gone) for one, gone in zip(nubs, missing, strict=True)))
    gap = keys.clearance + CUT_ERROR
    return window, tuple(_nubs(n.contacts.picked(~m), gap) for n, m in zip(nubs, missing, strict=True))


def _window_with(solid: Region, nubs: tuple[Nubs, ...], keys: JigKeys) -> Region:
    contour = rg.filled(rg.offset(solid, keys.clearance))
    relieved = rg.filled(rg.offset(solid, keys.clearance + keys.relief))
    reach = keys.clearance + keys.relief + NUB
    bars = [
        rg.capsule([p, p + reach * n], NUB)
        for one in nubs
        for p, n in zip(one.contacts.points, one.contacts.normals, strict=True)
    ]
    stops = rg.difference(rg.union(*bars), contour)
    return _tidy(rg.difference(relieved, stops), contour)


def _missing(window: Region, contacts: Contacts, clearance: float) -> Flags:
    """Tell of each nub whether the template does not stand where the nub should touch."""
    return points_within(window, contacts.points + (clearance + TOUCH) * contacts.normals, 0.0)


def _away_from(contacts: Contacts, lost: Contacts) -> Contacts:
    """Leave out contacts near lost ones that face the same way."""
    near = np.linalg.norm(contacts.points[:, None] - lost.points[None], axis=2) < NUB
    same = contacts.normals @ lost.normals.T > 0.5
    return contacts.picked(~(near & same).any(axis=1))


def _tidy(window: Region, contour: Region) -> Region:
    """Fill slits beside nubs that nothing needs, and openings that were cut off from the name."""
    wide = rg.union(contour, rg.opened(window, SLIT / 2))
    kept = [rg.as_region(s) for s in rg.solids(wide) if rg.intersects(s, contour)]
    return cleaned(rg.filled(rg.closed(rg.filled(rg.union(*kept)), ROUND)))


def _rows(contacts: Contacts) -> Array:
    """Give the first-order condition of each contact as (n, 3): force along x and y, moment in units of the reach."""
    about = middle_of(contacts.points)
    reach = max(float(np.abs(contacts.points - about).max()), 1.0)
    return np.column_stack([contacts.normals, contacts.moments(about) / reach])


def _stopping(contacts: Contacts, gap: float) -> Indices:
    """Give the contacts that stop the largest turns and shifts (those with weight in the linear programmes)."""
    from scipy.optimize import linprog

    rows = _rows(contacts)
    limits = np.full(len(rows), gap)
    chosen: set[int] = set()
    ways = np.eye(len(rows.T))
    for push in (*ways, *-ways):
        found = linprog(push, A_ub=rows, b_ub=limits, bounds=(-100, 100), method="highs")
        if found.status == 0:
            chosen.update(np.flatnonzero(found.ineqlin.marginals < -1e-9).tolist())
    return np.array(sorted(chosen), dtype=np.intp)


def _merged(contacts: Contacts, chosen: Indices) -> Indices:
    """Drop of two near contacts with about the same normal the later one."""
    kept: list[int] = []
    for i in chosen.tolist():
        near = np.linalg.norm(contacts.points[kept] - contacts.points[i], axis=1) < MERGE
        if not (near & (contacts.normals[kept] @ contacts.normals[i] > 0.9)).any():
            kept.append(i)
    return np.array(kept, dtype=np.intp)


def _without_idle(places: Array, full: Contacts, chosen: Indices, gap: float, allowed: Play) -> Indices:
    """Take out, one at a time, the nub whose absence costs least, while the play stays allowed and closure holds.

    The fewer nubs are left, the more each costs: what one cost before is the least it costs now, and most need not be
    asked again.
    """
    least = {int(i): 0.0 for i in chosen}
    while len(chosen) > LEAST:
        idle, cost = -1, 1.0
        for i in sorted(least, key=lambda i: (least[i], i)):
            if least[i] > cost:
                break
            least[i] = _cost(places, full.picked(chosen[chosen != i]), gap, allowed)
            if least[i] <= cost and (least[i] < cost or idle < 0):
                idle, cost = i, least[i]
        if idle < 0:
            break
        del least[idle]
        chosen = chosen[chosen != idle]
    return chosen


def _cost(places: Array, contacts: Contacts, gap: float, allowed: Play) -> float:
    """Give the play as a part of what is allowed; infinite without form closure (the motions are then unbounded)."""
    motions = possible_motions(contacts, gap)
    if motions.free:
        return math.inf
    play = play_of(places, [motions])
    return max(play.turn / allowed.turn, play.far / allowed.far)
