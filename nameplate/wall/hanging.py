"""Who hangs where: every copy of every plate gets a place of the grid, by the order that the ticket asks for.

Plates on hold and refused ones keep their places: they are hung later. With order = "list" a name that is added to the
end of the list moves no other; places that are reserved are the free ones after the last plate.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import dropwhile
from typing import NamedTuple

from nameplate.findings import Finding, Severity, counted, named, row_ranges
from nameplate.model import Order
from nameplate.plain_letters import folded
from nameplate.record.plate_lists import CalledIds, several
from nameplate.ticket.wall_schema import WallKeys
from nameplate.wall.grid import WallGrid, WallPlace
from nameplate.wall.shapes import Fixings, WallShapes

#: A place in a cell of the list: B3, b-03, "B 3".
_PLACE = re.compile(r"([A-Za-z]{1,2})[\s.\-]?0*([0-9]{1,3})(?![0-9A-Za-z])")

#: What is in brackets, as years are, is no part of a name that is looked for.
_ASIDE = re.compile(r"\([^()]*\)")

#: Words behind a surname by which nobody looks for it (common practice in indexes; the list is ours), in plain letters.
BEHIND = frozenset((
    "&", "+", "and", "und", "et", "family", "familie", "famille", "sons", "daughters", "friends", "partners", "co",
    "company", "ltd", "limited", "inc", "llc", "plc", "gmbh", "ag", "kg", "jr", "junior", "sr", "senior", "ii", "iii",
    "iv",
))  # fmt: skip

#: Orders in which a name that is added moves those behind it.
MOVING = frozenset({"surname", "design"})


@dataclass(frozen=True, slots=True)
class WallPlate:
    """One copy of an order. Its `id` on the wall is the order's; of a second copy it has /2 at its end."""

    order: Order
    copy: int = 1

    @property
    def id(self) -> str:
        """What it is called on the wall."""
        return self.order.id if self.copy == 1 else f"{self.order.id}/{self.copy}"


@dataclass(frozen=True, slots=True)
class Hole:
    """Where a hole is, or is to be drilled: mm from the datums."""

    x: float
    y: float
    drilled: bool = False


@dataclass(frozen=True, slots=True)
class Hanging:
    """A plate at its place: its middle, shifted by (dx, dy) mm from the place, and its holes.

    `fixings` are where the holes belong, mm from its middle.
    """

    plate: WallPlate
    place: WallPlace
    holes: tuple[Hole, ...]
    fixings: Fixings
    dx: float = 0.0
    dy: float = 0.0

    @property
    def x(self) -> float:
        """The middle of the plate, mm from the centre line."""
        return self.place.x + self.dx

    @property
    def y(self) -> float:
        """The middle of the plate, mm from the level line."""
        return self.place.y + self.dy

    def all_drilled(self) -> Hanging:
        """Give the plate with its holes drilled where they are planned."""
        return replace(self, holes=tuple(replace(hole, drilled=True) for hole in self.holes))

    def shifted(self, dx: float, dy: float) -> Hanging:
        """Give the plate moved by so many mm from its place, and with it the holes that are not drilled yet."""
        planned = [(self.place.x + dx + x, self.place.y + dy + y) for x, y in self.fixings]
        holes = (h if h.drilled else Hole(x, y) for h, (x, y) in zip(self.holes, planned, strict=True))
        return replace(self, dx=dx, dy=dy, holes=tuple(holes))


class PlateHole(NamedTuple):
    """A hole, and the plate that hangs there."""

    hanging: Hanging
    hole: Hole


def holes_of(hangings: Iterable[Hanging]) -> list[PlateHole]:
    """Give the holes of some plates, plate by plate."""
    return [PlateHole(hanging, hole) for hanging in hangings for hole in hanging.holes]


@dataclass(frozen=True, slots=True)
class Hung:
    """Plates at their places in reading order, the places reserved for later ones, and what was found."""

    hangings: tuple[Hanging, ...]
    reserved: tuple[WallPlace, ...]
    findings: tuple[Finding, ...]


def hang(keys: WallKeys, orders: Iterable[Order], grid: WallGrid, designs: Sequence[str], shapes: WallShapes) -> Hung:
    """Give every copy of the orders (of all rows, in the order of the list) its place; what has none is a finding.

    `designs` are the ticket's, in its order, by which order = "design" goes; `shapes` have the fixings of each plate.
    """
    plates = [WallPlate(order, copy) for order in orders for copy in range(1, order.copies + 1)]
    found: list[Finding] = []
    if keys.order == "position":
        pairs = _by_position(plates, grid, found)
    else:
        pairs = list(zip(_in_order(plates, keys.order, designs), grid.places, strict=False))
        found += _no_room(plates, grid, keys)
        found += _other_positions(pairs)
    if keys.order in MOVING and len(plates) > 1:
        text = f'order = "{keys.order}": a name that is added later moves those behind it; with "list" none moves'
        found.append(Finding("wall-order", "note", f"[wall] {text}"))
    taken = {place for _, place in pairs}
    free = [place for place in grid.places if place not in taken]
    if len(free) < keys.reserve:
        left = f"only {counted(len(free), 'place', 'is', 'are')}" if free else "no place is"
        text = f"[wall] reserve = {keys.reserve}: {left} left for later names; add rows or columns before it is drilled"
        found.append(Finding("wall-reserve", "warning", text, measured=len(free), allowed=keys.reserve))
    return Hung(_with_their_holes(pairs, keys, shapes, found), tuple(free[: keys.reserve]), tuple(found))


def _in_order(plates: Sequence[WallPlate], order: str, designs: Sequence[str]) -> Sequence[WallPlate]:
    if order == "surname":
        return sorted(plates, key=lambda plate: surname_key(plate.order.name))
    if order == "design":
        rank = {name: number for number, name in enumerate(("", *designs))}
        return sorted(plates, key=lambda plate: rank.get(plate.order.design, len(rank)))
    return plates


def surname_key(name: str) -> tuple[str, str]:
    """Give what a name is sorted by: its last word that is not BEHIND one, then all of it, without case and accents.

    >>> sorted(["Zoë Abara and family", "Łukasz Ödön (1931-2024)", "Ida Moss", "Moss & Sons Ltd.", ""], key=surname_key)
    ['', 'Zoë Abara and family', 'Ida Moss', 'Moss & Sons Ltd.', 'Łukasz Ödön (1931-2024)']
    """
    plain = folded(name).casefold()
    words = [word.strip(".,") for word in _ASIDE.sub(" ", plain).split()]
    own = [*dropwhile(BEHIND.__contains__, reversed(words))] or [*reversed(words)] or plain.split()[-1:] or [""]
    return own[0], plain


def places_in(cell: str) -> tuple[str, ...]:
    """Give the names of the places in a cell of the list.

    >>> places_in("A-01, b 12"), places_in("by the door"), places_in("")
    (('A1', 'B12'), (), ())
    """
    return tuple(f"{row.upper()}{column}" for row, column in _PLACE.findall(cell))


def _by_position(
    plates: Sequence[WallPlate], grid: WallGrid, found: list[Finding]
) -> list[tuple[WallPlate, WallPlace]]:
    """Put every copy at the place that its row names for it; say which have none, or one that is taken or no place."""
    known = {place.name: place for place in grid.places}
    every = sorted((*grid.places, *grid.shut), key=lambda place: (place.row, place.column))
    pairs: dict[str, tuple[WallPlate, WallPlace]] = {}
    silent: list[WallPlate] = []
    for plate in plates:
        wished = places_in(plate.order.position)
        name = wished[plate.copy - 1] if plate.copy <= len(wished) else ""
        if not name:
            silent.append(plate)
        elif name in pairs:
            found.append(_not_there(plate, f"{name} is taken by {pairs[name][0].id}; give each plate its own"))
        elif name not in known:
            is_shut = any(name == place.name for place in grid.shut)
            none = f"is no place of the wall ({every[0].name} to {every[-1].name})"
            why = "lies in a keep_out of the wall" if is_shut else none
            found.append(_not_there(plate, f"{name} {why}; name another in the column position"))
        else:
            pairs[name] = plate, known[name]
    if by_choice := [plate for plate in silent if pairs and not plate.order.position]:
        found.append(_no_place(by_choice, "note"))  # others have one, so these are meant to have none
    if forgotten := [plate for plate in silent if not pairs or plate.order.position]:
        found.append(_no_place(forgotten, "warning"))
    return list(pairs.values())


def _no_place(plates: Sequence[WallPlate], severity: Severity) -> Finding:
    rows = row_ranges(dict.fromkeys(plate.order.row for plate in plates))
    text = (
        f"[wall] {counted(len(plates), 'plate', 'has', 'have')} no place in the column position ({rows}) and hang "
        'nowhere; write one for each copy, like B3 for the third of the second row, or set order = "list"'
    )
    return Finding("wall-no-place", severity, text, measured=len(plates), allowed=0)


def _not_there(plate: WallPlate, why: str) -> Finding:
    which = "" if plate.id == plate.order.id else f"{plate.id}: "  # of several copies
    return Finding("wall-no-place", "warning", f"[wall] {which}{why}", plate=plate.order.id, row=plate.order.row)


def _no_room(plates: Sequence[WallPlate], grid: WallGrid, keys: WallKeys) -> Iterator[Finding]:
    """Say how many plates have no place, and what would give them one."""
    lacking = len(plates) - len(grid.places)
    if lacking <= 0:
        return
    more = f"rows = {(keys.rows or 0) - (-lacking // (keys.columns or 1))}"
    shut = f", {len(grid.shut)} more lie{'s' if len(grid.shut) == 1 else ''} in a keep-out" if grid.shut else ""
    text = (
        f"[wall] {len(plates)} plates and {len(grid.places)} places{shut}: {lacking} "
        f"hang{'s' if lacking == 1 else ''} nowhere; {more}, or more columns, would do, but move all places; where "
        "plates hang already, give the rest a wall of their own"
    )
    yield Finding("wall-full", "warning", text, measured=len(plates), allowed=len(grid.places))


def _other_positions(pairs: Sequence[tuple[WallPlate, WallPlace]]) -> Iterator[Finding]:
    """Say where the list has positions that are places of a wall, and the plates hang elsewhere."""
    elsewhere = [
        plate for plate, place in pairs if (wished := places_in(plate.order.position)) and place.name not in wished
    ]
    if elsewhere:
        rows = row_ranges(dict.fromkeys(plate.order.row for plate in elsewhere))
        text = f'the column position names other places than the wall gives ({rows}); order = "position" follows it'
        yield Finding("wall-position", "note", f"[wall] {text}")


def _with_their_holes(
    pairs: Sequence[tuple[WallPlate, WallPlace]], keys: WallKeys, shapes: WallShapes, found: list[Finding]
) -> tuple[Hanging, ...]:
    """Give the plates in reading order, each with the holes that it has already or is to have."""
    off = _moved_by_plate(keys, [plate.id for plate, _ in pairs], found)
    hangings = []
    for plate, place in pairs:
        fixings, came_out = shapes.of(plate.order).fixings, off.get(plate.id)
        if came_out is not None and len(came_out) != len(fixings):
            found.append(_other_holes(plate, len(came_out), len(fixings)))
            came_out = None
        where = zip(fixings, came_out or ((0.0, 0.0),) * len(fixings), strict=True)
        holes = (Hole(place.x + x + dx, place.y + y + dy, came_out is not None) for (x, y), (dx, dy) in where)
        hangings.append(Hanging(plate, place, tuple(holes), fixings))
    return tuple(sorted(hangings, key=lambda hanging: (hanging.place.row, hanging.place.column)))


def _moved_by_plate(keys: WallKeys, ids: Sequence[str], found: list[Finding]) -> Mapping[str, Fixings]:
    """Give how far holes are off by the plates' own ids on the wall; what means none of them, or several, is told."""
    known = CalledIds(ids)
    called = {name: _plates_called(name, known) for name, _ in keys.moved}
    unknown = sorted(name for name, plates in called.items() if not plates)
    if unknown:
        which = named(unknown, most=8)
        said = f"plate {which} is" if len(unknown) == 1 else f"plates {which} are"
        text = f"[wall] moved: {said} not on the wall; write ids as wall.csv has them, of a second copy like 017/2"
        found.append(Finding("wall-moved", "warning", text))
    off: dict[str, Fixings] = {}
    for name, shifts in keys.moved:
        plates = called[name]
        if len(plates) > 1:
            found.append(Finding("wall-moved", "error", f"[wall] moved: {several(name, plates)}"))
        elif plates and plates[0] in off:
            text = f"[wall] moved: {name} is plate {plates[0]}, which it has twice; leave one of the two out"
            found.append(Finding("wall-moved", "error", text))
        elif plates:
            off[plates[0]] = shifts
    return off


def _plates_called(name: str, known: CalledIds) -> tuple[str, ...]:
    """Give what on the wall is called so, of a second copy like 7/2 for 007/2."""
    order, slash, copy = name.rpartition("/")
    copies = (plate for own in known.called(order) for plate in known.called(own + slash + copy) if slash)
    return known.called(name) or tuple(copies)


def _other_holes(plate: WallPlate, said: int, count: int) -> Finding:
    text = (
        f"[wall] moved gives {plate.id} {counted(said, 'hole')}, and the plate has {count}: it is not "
        "followed; give one [x, y] for each hole, [0, 0] where it is right"
    )
    return Finding("wall-moved", "error", text, plate=plate.order.id, row=plate.order.row, measured=said, allowed=count)
