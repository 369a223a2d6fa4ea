"""Pierced plates: a blank with the name cut through it, in one piece.

Terms. An *island* is a piece of the blank that the letters cut loose (the inside of an o). A *tie* (kept under the name
bridge) is a strip left standing across a stroke, along the slant of the font, that holds an island.

Method. Widen strokes that are too fine to cut, then cut the letters out. An island thinner than a web is widened into
the stroke round it, where that stays open. Every island gets a tie along the slant, where it costs least of what the
letter is known by: across the stroke below it rather than above it, and not across a bar, beyond which the letter goes
on (an e without its bar is a c). Letters that are another one where they are open there are tied to one side (SIDES):
an a to the left, a b upwards. A large island gets one tie upwards and one downwards. What is then still too narrow of
the plate between two openings is widened at the cost of the letters. A *tongue*, which ends between two strokes and
holds nothing, is not, since that would cut through the letter (both wedges of an n meet at its arch): it only gets wide
enough not to be a splinter.

Known limits: islands too small to stand are left to fall; strokes that lie between two narrow webs grow thinner and can
close where both need room (`kept` tells how much of the letters is left); on an arc, what is in a ring is not always
known.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from nameplate import tolerances
from nameplate.geometry import region as geo
from nameplate.geometry.arc import Arc
from nameplate.geometry.box import Box
from nameplate.geometry.bridge_paths import anchor, shortest_path
from nameplate.geometry.measure import inscribed, section
from nameplate.geometry.nearby import distances
from nameplate.geometry.region import Region, Shape, Solid
from nameplate.lettering.webs import thicken, webs_hold
from nameplate.model import LetterBox

#: Width of a tie over the minimum web.
STOUT = 1.1

#: Strokes narrower than this (mm) are widened before they are cut: a single pass of the beam would hardly show.
SLOT = 0.6

#: Islands whose inscribed circle is smaller than this (mm, diameter) are not held: they would be specks on a tie.
SPECK = 0.6

#: An island thinner than this part of the minimum web is held only where the stroke round it has room for it to be
#: widened to a web: else a narrow loop would close altogether. Higher turns small counters into blobs, lower loses
#: loops.
THIN_ISLAND = 0.85

#: An island that is no longer than this many webs is safe on one tie: at a web of 1.5 mm in plywood 3 mm thick, 2 N at
#: its far end bend the tie to 15 MPa, and half of what birch ply bears across its grain is 16 (see `strength`).
ONE_TIE = 7.0

#: What a tie down from an island over a bar costs, in webs of length, and one across the stroke above an island.
BAR = 6.0
TOP = 1.0

#: Places tried for the ties of an island, evenly over the middle of its width.
TRIES = 15
#: The part of an island's width in which ties may stand.
MIDDLE = 0.8

#: What a tie away from the middle of its island costs, in mm of length per mm: keeps ties near the middle.
OFF_CENTRE = 0.35


class _Side(NamedTuple):
    """Where the only tie of an island leads: up, once that is turned by `turn` degrees.

    It stands between `low` and `high`, in parts of half the island's width there, from its middle.
    """

    turn: float
    low: float
    high: float


#: To the left, in the middle of an island's height or below: above it, only a hook of the arch of an a is left.
_LEFT = _Side(-90.0, -0.6, 0.15)
#: Upwards, left of the middle; beside a stem, and in a B clear of the notch between its bowls.
_UP, _UP_STEM = _Side(0.0, -0.6, 0.15), _Side(0.0, -0.95, -0.35)
#: To the right.
_RIGHT = _Side(90.0, -0.5, 0.5)

#: The ring of an accent, and the part of a letter's height from which on what is inside is in it.
RING, RING_FROM = "\u030a", 0.7

#: Letters with ties to one side, because open elsewhere they are other letters: an a is an n or a u (the second is the
#: Cyrillic a), a b an h, a B a K, a p an n. Others are read best where they are open below (d, g, o), or anywhere.
SIDES = {"a": _LEFT, "\u0430": _LEFT, "b": _UP, "O": _UP, **dict.fromkeys("BPRp", _UP_STEM), RING: _RIGHT}

#: Ties reach this far (mm) into what they join, so that they are one with it, though the arcs of its edge be chords.
LINE = tolerances.ARC

#: A tongue of the plate is widened to this part of the minimum web only. Higher cuts through an n or an m, lower leaves
#: splinters.
TONGUE = 0.5

#: What is narrow is a tongue if it covers at least so many square webs: less is the corner of something wide.
LEAST_TONGUE = 0.1

#: What stays open of a letter is at least this many kerfs wide. More closes strokes that tell letters apart, less
#: leaves slots that the beam cannot follow on both sides.
OPEN = 1.2

#: Inner corners of the plate get at least this radius (mm), however fine the beam.
CREVICE = 0.06


@dataclass(frozen=True, slots=True)
class Pierced:
    """A pierced plate: what is left of the blank, the ties in it, whether its webs hold, how much letter is left.

    `kept` is the share of the letters that is cut out: 1 when nothing had to be given up.
    """

    blank: Region
    bridges: Region
    holds: bool
    kept: float


def pierce(
    blank: Region,
    letters: Region,
    *,
    web: float,
    slant: float,
    kerf: float = 0.2,
    baselines: Sequence[float] = (),
    arc: Arc | None = None,
    places: Sequence[LetterBox] = (),
) -> Pierced:
    """Cut letters (placed, mm) out of a blank so that it stays in one piece with no web under `web` mm.

    `slant` is the lean of the font in degrees; `kerf` the width of the strip that the beam will remove; `baselines` the
    y of each line, by which a bar is told from the foot of a letter (without any, nothing counts as a bar). On an `arc`
    baselines are those of its apex. `places` tell which letter an island is in.

    >>> plate = geo.rectangle(0, 0, 40, 30)
    >>> letter = geo.difference(geo.rectangle(10, 5, 30, 25), geo.rectangle(15, 10, 25, 20))
    >>> pierced = pierce(plate, letter, web=1.5, slant=0)
    >>> len(geo.solids(pierced.blank)), len(geo.solids(pierced.bridges)), pierced.holds
    (1, 1, True)
    >>> pierce(plate, geo.EMPTY, web=1.5, slant=0).kept
    1.0
    """
    cut = geo.intersection(thicken(letters, max(SLOT, OPEN * kerf), crevice=SLOT / 6).region, blank)
    plate = geo.difference(blank, cut)
    if cut.is_empty or plate.is_empty:
        return Pierced(plate, geo.EMPTY, webs_hold(plate, web), 1.0)
    ground, islands = _parted(plate, web)
    bridges = _bridges(ground, islands, cut, _Ways(web, slant, baselines, places), arc)
    tied = _largest(geo.union(ground, *islands, bridges))
    crevice = max(OPEN * kerf / 2, CREVICE)
    tongues = _dead_ends(tied, web - tolerances.WEB_SLACK, LEAST_TONGUE * web * web)
    thick = thicken(tied, web, crevice=crevice, kerf=kerf, spared=tongues, least=TONGUE * web)
    one = _largest(_cut_out(blank, thick.region))
    return Pierced(one, bridges, webs_hold(one, web), geo.difference(cut, one).area / cut.area)


def _cut_out(blank: Region, plate: Region) -> Region:
    """Cut from the blank what the plate leaves open, and keep the blank's own edge exactly.

    Openings so narrow that the curves of their two sides may meet are shavings, along edges that nearly coincide.
    """
    openings = (s for s in geo.solids(geo.difference(blank, plate)) if not geo.offset(s, -tolerances.CURVE).is_empty)
    return geo.difference(blank, geo.of_solids(openings))


def _largest(shape: Region) -> Region:
    return geo.of_solids([geo.largest(geo.solids(shape))])


def _parted(plate: Region, web: float) -> tuple[Solid, list[Solid]]:
    """Part the plate into its main piece and the islands that can be held, each as wide as it needs to be."""
    parts = sorted(geo.solids(plate), key=lambda s: (-s.area, s.bounds))
    held = (_widened(island, geo.of_solids(p for p in parts if p is not island), web) for island in parts[1:])
    return parts[0], [island for island in held if island is not None]


def _dead_ends(plate: Region, width: float, least: float) -> Region:
    """Give what of a plate is narrower than a width (mm), covers at least so much (mm2) and hangs on one place."""
    wide = geo.opened(plate, width / 2)
    thin = (s for s in geo.solids(geo.difference(plate, wide)) if s.area > least)
    return geo.of_solids(s for s in thin if len(geo.solids(geo.intersection(geo.offset(s, LINE), wide))) == 1)


def _widened(island: Solid, others: Region, web: float) -> Solid | None:
    """Widen an island to a web where it is thinner, and the stroke round it has room; None where it cannot be held."""
    radius = inscribed(island).r
    if 2 * radius < SPECK:
        return None
    if 2 * radius >= THIN_ISLAND * web:
        return island
    grown = geo.difference(geo.offset(island, web / 2 - radius), geo.offset(others, SLOT))
    wide = geo.largest(geo.solids(geo.union(grown, island)))
    return wide if 2 * inscribed(wide).r >= web - tolerances.WEB_SLACK else None


# --- holding the islands --------------------------------------------------------------------------------------------


class _Ways(NamedTuple):
    """What ties go by: the minimum web (mm), the slant (degrees), the y of baselines (mm), and where letters are."""

    web: float
    slant: float
    baselines: Sequence[float]
    places: Sequence[LetterBox]

    def side(self, island: Solid) -> _Side | None:
        """Give where the only tie of an island leads; None where that is open, or it needs two."""
        if not self.places or not _is_small(island, self.web):
            return None
        x, y = geo.inner_point(island)
        letter = min(self.places, key=lambda box: box.off(x, y))
        text = unicodedata.normalize("NFD", letter.text)
        in_ring = RING in text and y > letter.y0 + RING_FROM * (letter.y1 - letter.y0)
        return SIDES.get(RING if in_ring else text[:1])


def _bridges(ground: Solid, islands: Sequence[Solid], cut: Region, ways: _Ways, arc: Arc | None) -> Region:
    """Hold every island; on an arc each one as if its letter stood at the apex."""
    if not islands:
        return geo.EMPTY
    plate = geo.of_solids([ground, *islands])
    sides = [ways.side(island) for island in islands]
    if arc is None:
        groups = {side: [i for i, own in zip(islands, sides, strict=True) if own == side] for side in sides}
        held = [_ties(plate, some, cut, ways, side) for side, some in groups.items()]
    else:
        held = []
        for island, side in zip(islands, sides, strict=True):
            turn = arc.turn_at(*geo.bounds(island).centre)
            back, own, letters = (arc.turned(shape, -turn) for shape in (plate, island, cut))
            held.append(arc.turned(_ties(back, geo.solids(own), letters, ways, side), turn))
    tied = geo.union(*held)
    return geo.union(tied, _rest(geo.union(plate, tied), cut, ways.web))


def _ties(plate: Region, islands: Sequence[Solid], cut: Region, ways: _Ways, side: _Side | None) -> Region:
    """Give the ties of islands, upright first: along the slant means upright once everything is sheared back.

    With a `side` each has one tie, to there.
    """
    turn = side.turn if side else 0.0
    shapes: list[Shape] = [plate, cut, *islands]
    whole, letters, *upright = (geo.moved(geo.sheared(shape, -ways.slant), turn=turn) for shape in shapes)
    width = STOUT * ways.web / (1 if turn % 180 else math.cos(math.radians(ways.slant)))
    if side is None:
        paths = [path for island in upright for path in _paths(island, whole, ways.web, ways.baselines)]
    else:
        wide = geo.offset(whole, -ways.web / 2)
        paths = [path for island in upright for path in _path_up(island, whole, wide, side)]
    ties = geo.union(*(_tie(path, letters, width) for path in paths))
    return geo.sheared(geo.moved(ties, turn=-turn), ways.slant)


def _is_small(island: Shape, web: float) -> bool:
    box = geo.bounds(island)
    return max(box.width, box.height) <= ONE_TIE * web


class _Path(NamedTuple):
    """An upright path across a stroke: from (x, y0) to (x, y1), `up` or down from the island."""

    x: float
    y0: float
    y1: float
    up: bool


def _paths(island: Region, plate: Region, web: float, baselines: Sequence[float]) -> list[_Path]:
    """Give the cheapest paths up and down from an island; only the cheaper of the two from a small one."""
    centre, places = _tries(island)
    plate = _column(plate, island)
    over_bar = any(_ends_above_foot(path, web, baselines) for path in _across(island, plate, centre))
    tries = [(_cost(path, centre, web, over_bar), path) for x in places for path in _across(island, plate, x)]
    ways = ([cost_path for cost_path in tries if cost_path[1].up == up] for up in (True, False))
    found = sorted(min(way) for way in ways if way)
    return [path for _, path in (found[:1] if _is_small(island, web) else found)]


def _path_up(island: Region, plate: Region, wide: Region, side: _Side) -> list[_Path]:
    """Give the cheapest path up from an island, if any; `wide` is where the plate is half a web from its edges."""
    centre, places = _tries(island, side.low, side.high)
    column = _column(plate, island)
    paths = [path for x in places for path in _across(island, column, x) if path.up]
    if not paths:
        return []
    beyond = distances(wide, np.array([(path.x, path.y1) for path in paths])).tolist()
    costs = [p.y1 - p.y0 + OFF_CENTRE * abs(p.x - centre) + far for p, far in zip(paths, beyond, strict=True)]
    return [paths[int(np.argmin(costs))]]


def _column(plate: Region, island: Region) -> Region:
    """Keep what lies above and below an island, which is all that its paths meet."""
    (x0, _, x1, _), (_, y0, _, y1) = geo.bounds(island), geo.bounds(plate)
    return geo.window(plate, Box(x0 - LINE, y0, x1 + LINE, y1))


def _tries(island: Region, low: float = -MIDDLE, high: float = MIDDLE) -> tuple[float, list[float]]:
    """Give the middle of an island's width, and places for its ties between two parts of half of that."""
    box = geo.bounds(island)
    centre, half = box.centre[0], box.width / 2
    return centre, np.linspace(centre + low * half, centre + high * half, TRIES).tolist()


def _cost(path: _Path, centre: float, web: float, over_bar: bool) -> float:
    dear = TOP if path.up else BAR * over_bar
    return path.y1 - path.y0 + OFF_CENTRE * abs(path.x - centre) + dear * web


def _ends_above_foot(path: _Path, web: float, baselines: Sequence[float]) -> bool:
    """Tell whether a path down ends above the foot of its line: the letter goes on below the stroke, which is a bar."""
    feet = [y for y in baselines if y < path.y1]
    return not path.up and bool(feet) and path.y0 > max(feet) + web / 2


def _across(island: Region, plate: Region, x: float) -> Iterator[_Path]:
    """Give the paths at x from the island's upper and lower edge to the next pieces of the plate."""
    own, all_ = section(island, x), section(plate, x)
    if not len(own):
        return
    above = all_[all_[:, 0] > own[-1, 1] + tolerances.SAME_POINT]
    below = all_[all_[:, 1] < own[0, 0] - tolerances.SAME_POINT]
    if len(above):
        yield _Path(x, float(own[-1, 1]), float(above[0, 0]), up=True)
    if len(below):
        yield _Path(x, float(below[-1, 1]), float(own[0, 0]), up=False)


def _tie(path: _Path, letters: Region, width: float) -> Region:
    """The strip across the stroke, as far as it lies in the letters."""
    x0, x1 = path.x - width / 2, path.x + width / 2
    strip = geo.window(letters, Box(x0, path.y0 - width / 2, x1, path.y1 + width / 2))
    line = geo.rectangle(path.x - LINE, path.y0 + LINE, path.x + LINE, path.y1 - LINE)
    return geo.offset(geo.of_solids(s for s in geo.solids(strip) if geo.intersects(s, line)), LINE, join="mitre")


def _rest(held: Region, cut: Region, web: float) -> Region:
    """Ties, the shortest path, for islands that no upright tie led to the ground."""
    ground, *loose = sorted(geo.solids(held), key=lambda s: (-s.area, s.bounds))
    ties = []
    for island in loose:
        path = shortest_path(island, ground)
        width = STOUT * web
        strip = geo.capsule([anchor(island, path.a, width), path.a, path.b, anchor(ground, path.b, width)], width)
        ties.append(geo.intersection(strip, geo.offset(cut, LINE)))
    return geo.union(*ties)
