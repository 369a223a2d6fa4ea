"""Marks: what is done to the dots and accents of letters so that they can still be read when they are tied.

A tie is as wide as the minimum web, whatever the size of the letters. Two marks side by side are set apart until there
is air between their ties, and a dot is grown until it stands out from its tie.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from nameplate.geometry import region as geo
from nameplate.geometry.arc import Arc
from nameplate.geometry.bridge_paths import lean
from nameplate.geometry.measure import inscribed
from nameplate.geometry.nearby import Index, nearest
from nameplate.geometry.region import Region, Solid

#: Width of the tie of a mark over the minimum web. It is short and bears next to nothing: wider drowns the mark.
SLIM = 1.02

#: A dot is grown until its inscribed circle is this many ties across, so that it still reads as a dot...
DOT = 2.0
#: ... but never by more than this many webs all round.
DOT_GROWTH = 0.4

#: A part is a dot while its area is at most this many times that of its inscribed circle (ellipses pass, accents not).
ROUND = 1.7

#: Marks are set apart, and dots grow, until so much air (mm) is left beside them. A beam must still pass, and
#: narrower gaps are closed in the end.
APART = 0.7

#: Between the ties of two marks side by side there should be so much air (mm)...
DAYLIGHT = 0.9
#: ... for which each mark is moved aside by at most this many webs.
SPREAD = 0.6


def readable(
    groups: Sequence[Region], web: float, *, signs: Sequence[bool] = (), arc: Arc | None = None
) -> list[Region]:
    """Set marks of letters (none empty) apart and grow dots that a tie would swallow, clear of what is beside them.

    `signs` tells which are no letters but signs that stand on the line: a full stop is tied at its foot, and grows up.
    Where letters stand on an `arc`, up is for each away from its foot.

    >>> stem, dot = geo.rectangle(0, 0, 2, 8), geo.disc((1, 10), 1.6)
    >>> (lettered,) = readable([geo.union(stem, dot)], 1.5)
    >>> lettered.area > stem.area + dot.area
    True
    >>> readable([stem], 1.5) == [stem]
    True
    """
    index = Index(groups)
    stops = [own for own, sign in enumerate(signs) if sign]
    if arc is not None:
        return [_on_arc(own, groups, index, web, arc, sign=own in stops) for own in range(len(groups))]
    return [_stop(g, web) if own in stops else _readable(own, groups, index, web) for own, g in enumerate(groups)]


def _on_arc(own: int, groups: Sequence[Region], index: Index, web: float, arc: Arc, *, sign: bool) -> Region:
    """Do the same for one letter on an arc, turned upright with all near it."""
    letter = groups[own]
    if not sign and len(geo.solids(letter)) == 1:
        return letter
    turn = arc.turn_at(*geo.bounds(geo.largest(geo.solids(letter))).centre)
    near = (own, *(i for i in index.near(letter, _reach(web)) if i != own))
    there = [arc.turned(groups[i], -turn) for i in near]
    done = _stop(there[0], web) if sign else _readable(0, there, Index(there), web)
    return arc.turned(done, turn)


def _reach(web: float) -> float:
    """Give the distance (mm) from which on nothing keeps marks from moving apart or growing."""
    return APART + max(SPREAD, 2 * DOT_GROWTH) * web


def _stop(sign: Region, web: float) -> Region:
    """Let the dots of a sign grow, none lower than it was."""
    grown = []
    for part in geo.solids(sign):
        size = min(_missing(part, web), DOT_GROWTH * web)
        grown.append(geo.moved(geo.offset(part, size), 0.0, size) if size > 0 else geo.as_region(part))
    return geo.union(*grown)


def _readable(own: int, groups: Sequence[Region], index: Index, web: float) -> Region:
    parts = geo.solids(groups[own])
    if len(parts) == 1:
        return groups[own]
    body = geo.largest(parts)
    marks = [p for p in parts if p is not body]
    reach = _reach(web)

    def strangers(mark: Solid) -> list[Solid]:
        return [s for i in index.near(mark, reach) if i != own for s in geo.solids(groups[i])]

    if len(marks) > 1:
        room = {id(m): min(SPREAD * web, _gap(m, strangers(m)) - APART) for m in marks}
        marks = [_set_apart(m, marks, room, web) for m in marks]
    done = [geo.as_region(body)]
    for mark in marks:
        missing = min(_missing(mark, web), DOT_GROWTH * web)
        if missing > 0:
            others = [m for m in marks if m is not mark]
            missing = min(missing, (_gap(mark, [*others, *strangers(mark)]) - APART) / 2)
        done.append(_grown(mark, body, missing))
    return geo.union(*done)


def _gap(mark: Solid, others: Sequence[Solid]) -> float:
    return min((geo.distance(mark, s) for s in others), default=math.inf)


def level(one: Solid, other: Solid) -> bool:
    """Tell whether two marks stand at the same height: half of the lower one's own height is shared at least."""
    a, b = geo.bounds(one), geo.bounds(other)
    return min(a.y1, b.y1) - max(a.y0, b.y0) >= min(a.height, b.height) / 2


def beside(mark: Solid, marks: Sequence[Solid]) -> tuple[Solid, float] | None:
    """Find the mark beside another, and how far (mm) the other's middle is to the right of its; None when none is.

    >>> left, right, above = (geo.solids(geo.disc(at, 1))[0] for at in ((0, 0), (3, 0), (0, 5)))
    >>> [None if found is None else found[1] for found in (beside(m, [left, right, above]) for m in (right, above))]
    [3.0, None]
    """
    middle = geo.bounds(mark).centre[0]
    steps = [(m, middle - geo.bounds(m).centre[0]) for m in marks if m is not mark and level(m, mark)]
    return min(steps, key=lambda s: abs(s[1]), default=None)


def _set_apart(mark: Solid, marks: Sequence[Solid], room: Mapping[int, float], web: float) -> Solid:
    """Move a mark away from the one beside it until there is air between both ties, as far as each has room.

    What the other has no room for is taken over.
    """
    found = beside(mark, marks)
    if found is None:
        return mark
    other, step = found
    wanted = (SLIM * web + DAYLIGHT) / math.cos(math.radians(lean(mark) or 0.0))
    lacking = max(wanted - abs(step), APART - geo.distance(mark, other))
    share = max(lacking / 2, lacking - max(0.0, room[id(other)]))
    shift = min(share, room[id(mark)])
    return geo.solids(geo.moved(mark, math.copysign(shift, step)))[0] if shift > 0 else mark


def _missing(part: Solid, web: float) -> float:
    """How much a dot must grow all round to stand out from its tie; 0 for anything that is not a dot."""
    radius = dot_radius(part)
    return 0.0 if radius is None else max(0.0, DOT * SLIM * web / 2 - radius)


def dot_radius(part: Solid) -> float | None:
    """Give the radius (mm) of the largest circle in a dot; None for what is not a dot."""
    disc = geo.filled(part)
    radius = inscribed(disc).r
    return None if disc.area > ROUND * math.pi * radius**2 else radius


def _grown(dot: Solid, body: Solid, size: float) -> Region:
    """Grow a dot all round, away from its letter: what it was lies inside it still, and the gap stays as wide."""
    if size <= 0:
        return geo.as_region(dot)
    near, far = nearest(body, dot)
    length = math.hypot(*(far - near))
    dx, dy = (far - near) * (size / length) if length > 0 else (0.0, 0.0)
    return geo.moved(geo.offset(dot, size), dx, dy)
