"""The places of a wall, by the ticket alone, so that no plate of the list moves another's.

Everything is in mm from the datums: x to the right of the centre line, y above the level line. Places are named by
their row from the top (A, B, ...) and their column from the left.
"""

from __future__ import annotations

from dataclasses import dataclass

from nameplate.geometry.box import Box, around
from nameplate.roster.spreadsheet import column_letters
from nameplate.ticket.wall_schema import WallKeys
from nameplate.wall.shapes import MIDDLE, Fixings

#: Decimals of a place (mm) that are more than noise of the arithmetic.
_EXACT = 6


@dataclass(frozen=True, slots=True)
class WallPlace:
    """One place: its name, its row from the top and column from the left (0 the first), and the middle of its plate."""

    name: str
    row: int
    column: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class WallGrid:
    """A wall and its places in reading order; those that a keep-out takes are `shut`.

    `pitch` is the distance from place to place and from row to row, `cell` the box of the largest plate about its
    middle, `floor` the y of the floor, and `gap` the space between two plates of a row.
    """

    wall: Box
    pitch: tuple[float, float]
    cell: Box
    floor: float
    places: tuple[WallPlace, ...]
    shut: tuple[WallPlace, ...] = ()
    keep_outs: tuple[Box, ...] = ()

    @property
    def gap(self) -> float:
        """The space between two of the largest plates of a row; 0 where they touch or overlap."""
        return max(0.0, self.pitch[0] - self.cell.width)


def make_grid(keys: WallKeys, cell: Box, fixings: Fixings = MIDDLE) -> WallGrid:
    """Give the places of a checked `[wall]` for plates that lie in `cell` and have `fixings`, mm from their middles.

    >>> keys = WallKeys(width=1000.0, height=500.0, columns=2, rows=1, pitch=(200.0, 100.0))
    >>> [(place.name, place.x, place.y) for place in make_grid(keys, Box(-50, -40, 50, 40)).places]
    [('A1', -100.0, 0.0), ('A2', 100.0, 0.0)]
    """
    wall = wall_box(keys)
    pitch = keys.pitch or _spread(keys, wall, cell)
    (x, y), (aside, above) = wall.centre, cell.centre
    middle = (x - aside, y - above) if keys.fit else (0.0, 0.0)  # with it all plates are in the wall's middle
    keep_outs = tuple(Box(wall.x0 + x, wall.y0 + y, wall.x0 + x + w, wall.y0 + y + h) for x, y, w, h in keys.keep_out)
    needed = around((cell, *(Box(x, y, x, y) for x, y in fixings)))  # a plate and its holes
    every = _places(keys, pitch, middle)
    shut = {p.name: p for p in every if any(needed.moved(p.x, p.y).meets(keep_out) for keep_out in keep_outs)}
    free = tuple(place for place in every if place.name not in shut)
    return WallGrid(wall, pitch, cell, -keys.level, free, tuple(shut.values()), keep_outs)


def wall_box(keys: WallKeys) -> Box:
    """Give the wall's rectangle in mm from the datums.

    >>> wall_box(WallKeys(width=3600.0, height=1800.0))
    Box(x0=-1800.0, y0=-900.0, x1=1800.0, y1=900.0)
    """
    width, height = keys.width or 0.0, keys.height or 0.0
    left = width / 2 if keys.centre is None else keys.centre
    above = max(0.0, keys.level - height / 2) if keys.above_floor is None else keys.above_floor
    return Box(-left, above - keys.level, width - left, above - keys.level + height)


def _spread(keys: WallKeys, wall: Box, cell: Box) -> tuple[float, float]:
    """Give the pitch at which plates have the same space between them as to the wall's edges.

    With c columns the wall takes c + 1 such spaces and c plates; a row that stands aside by a share of a pitch takes
    that share more.
    """
    columns, rows = keys.columns or 1, keys.rows or 1
    return (wall.width + cell.width) / (columns + 1 + _aside(keys)), (wall.height + cell.height) / (rows + 1)


def _aside(keys: WallKeys) -> float:
    """Give the share of a pitch by which the second row stands aside of the first; 0 where there is none."""
    return keys.stagger if (keys.rows or 1) > 1 else 0.0


def _places(keys: WallKeys, pitch: tuple[float, float], middle: tuple[float, float]) -> tuple[WallPlace, ...]:
    columns, rows = keys.columns or 1, keys.rows or 1
    found = []
    for row in range(rows):
        aside = _aside(keys) * (0.5 if row % 2 else -0.5)
        y = middle[1] + ((rows - 1) / 2 - row) * pitch[1]
        for column in range(columns):
            x = middle[0] + (column - (columns - 1) / 2 + aside) * pitch[0]
            name = place_name(row, column)
            found.append(WallPlace(name, row, column, round(x, _EXACT) + 0.0, round(y, _EXACT) + 0.0))
    return tuple(found)


def place_name(row: int, column: int) -> str:
    """Name a place by its row and column, both from 0.

    >>> place_name(0, 0), place_name(25, 9), place_name(26, 0)
    ('A1', 'Z10', 'AA1')
    """
    return f"{column_letters(row + 1)}{column + 1}"
