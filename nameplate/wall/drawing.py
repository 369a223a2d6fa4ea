"""What is drawn of a wall: plates with their names where they hang, holes, datums, how far holes are from these.

A drawing is lines and texts in mm of the wall, y up, the same for the page (`files.py`) and for print
(`plan_pdf.py`). What is too small on one drawing to be read is drawn once more in parts, larger.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import NamedTuple

import numpy as np

from nameplate.geometry import region as rg
from nameplate.geometry.box import Box, around
from nameplate.geometry.region import Array, Region
from nameplate.geometry.simplify import simplified
from nameplate.model import in_a_line
from nameplate.system.grouping import grouped
from nameplate.units import on_tape
from nameplate.wall.grid import WallPlace, place_name
from nameplate.wall.hanging import Hanging, holes_of
from nameplate.wall.plan import WallPlan
from nameplate.wall.table import in_mm

#: What is written stands between holes that are farther than this share of a plate's width from its middle.
ASIDE = 0.2

#: Room for a drawing on paper, mm: a page of A4 or Letter upright, less its margins and a caption.
WIDTH, HEIGHT = 184.0, 225.0

#: A plate is drawn at least so wide (mm on paper), that its name can be read; walls of smaller ones are drawn in parts.
#: There it is wider if the paper has room, up to the second: larger ones take more pages and tell no more.
LEAST_PLATE, LARGEST_PLATE = 15.0, 30.0

#: Heights of letters on paper (mm): of figures beside the wall, and the most and least of a name.
FIGURES, LARGEST_NAME, SMALLEST_NAME = 2.0, 3.5, 0.8

#: Height of letters (mm on paper) below a name that stands free: as small as can be read with ease.
BELOW = 1.4

#: Height (mm on paper) that every line of a plate has if its holes' figures are to be among them, and the distance of
#: two lines in their height.
SMALLEST_LINE, LEADING = 1.1, 1.25

#: A name of more letters goes on two lines.
LONG_NAME = 20

#: Width of a letter of the page's face, as a share of its height: a little more than most have.
_LETTER = 0.62

#: Room (mm on paper) round the wall for figures.
_BORDER = 11.0

#: An outline in the drawing lies at most this far (mm on paper) from the true one.
_FINE = 0.05

#: Colours: what is drawn, what is there only on paper, holes, and datums.
INK, GREY, RED, BLUE = "#000000", "#777777", "#cc0000", "#0066cc"


@dataclass(frozen=True, slots=True)
class DrawnShape:
    """Polylines (n, 2): stroked `width` mm wide on paper unless that is 0, and filled where they have a `fill`."""

    lines: tuple[Array, ...]
    width: float
    colour: str = INK
    dashed: bool = False
    closed: bool = True
    fill: str = ""


@dataclass(frozen=True, slots=True)
class DrawnText:
    """A line of text in letters `size` mm high; `align` is the share of its width left of x, y its middle's height."""

    x: float
    y: float
    text: str
    size: float
    colour: str = INK
    bold: bool = False
    align: float = 0.5


@dataclass(frozen=True, slots=True)
class WallPicture:
    """A drawing: its caption, the box (mm of the wall) that it takes, how many of these are one mm on paper."""

    caption: str
    box: Box
    scale: float
    items: tuple[DrawnShape | DrawnText, ...]


@dataclass(frozen=True, slots=True)
class _View:
    """A part of the wall that is drawn: its box (mm from the datums), and how many mm of it are one on paper.

    Where its parts are `drawn_again`, larger, its plates only have their places and numbers. With `inches` figures are
    in these, too.
    """

    box: Box
    scale: float
    drawn_again: bool = False
    inches: bool = False

    def paper(self, mm: float) -> float:
        """Give how many mm of the wall so many mm on paper are."""
        return mm * self.scale


def pictures(plan: WallPlan, status: Mapping[str, str], *, inches: bool = False) -> tuple[WallPicture, ...]:
    """Draw the whole wall and, where its plates come out small, its parts; `status` tells of plates not made.

    `inches`: figures are in mm and in inches to 1/16.
    """
    scale = _scale(plan.grid.wall)
    whole = _View(plan.grid.wall, scale, drawn_again=plan.grid.cell.width / scale < LEAST_PLATE, inches=inches)
    first = _picture(f"The wall, 1 : {scale:.3g}", plan, plan.hangings, plan.reserved, whole, status)
    return (first, *_parts(plan, status, inches=inches)) if whole.drawn_again else (first,)


def _scale(box: Box) -> float:
    """Give how many mm of a box are one on paper, where it is as large as that has room for."""
    return max(box.width / (WIDTH - 2 * _BORDER), box.height / (HEIGHT - 2 * _BORDER))


def _parts(plan: WallPlan, status: Mapping[str, str], *, inches: bool) -> Iterator[WallPicture]:
    """Draw groups of columns and rows, as few as have plates that can be read, all at the largest scale that fits."""
    cell, pitch, keys = plan.grid.cell, plan.grid.pitch, plan.keys
    smallest = cell.width / LEAST_PLATE
    aside = keys.stagger * pitch[0]
    columns = _evenly(keys.columns or 1, ((WIDTH - 2 * _BORDER) * smallest - cell.width - aside) / pitch[0])
    rows = _evenly(keys.rows or 1, ((HEIGHT - 2 * _BORDER) * smallest - cell.height) / pitch[1])
    groups = sorted(grouped(((h.place.row // rows, h.place.column // columns), h) for h in plan.hangings).items())
    edge = 0.02 * max(cell.width, cell.height)
    boxes = [around(cell.moved(h.x, h.y) for h in own).grown(edge) for _, own in groups]
    scale = max([cell.width / LARGEST_PLATE, *map(_scale, boxes)])
    for (_, own), box in zip(groups, boxes, strict=True):
        columns_shown = [hanging.place.column for hanging in own]
        first = place_name(own[0].place.row, min(columns_shown))
        last = place_name(own[-1].place.row, max(columns_shown))
        about = first if first == last else f"{first} to {last}"
        yield _picture(f"{about}, 1 : {scale:.3g}", plan, own, (), _View(box, scale, inches=inches), status)


def _evenly(count: int, pitches: float) -> int:
    """Give how many of `count` go together so that groups are as few as `pitches` allow, and much alike.

    >>> _evenly(10, 8.6), _evenly(10, 2.6), _evenly(3, 0.2)
    (5, 3, 1)
    """
    most = max(1, int(pitches) + 1)
    return -(-count // -(-count // most))


def _picture(
    caption: str,
    plan: WallPlan,
    hangings: Sequence[Hanging],
    reserved: Sequence[WallPlace],
    view: _View,
    status: Mapping[str, str],
) -> WallPicture:
    outlines = {id(h): outline for h, outline in zip(plan.hangings, plan.outlines, strict=True)}
    whole = view.box == plan.grid.wall
    names = Counter(order.name for order in {h.plate.order for h in plan.hangings})
    written = (
        *(item for place in reserved for item in _reserved(plan, place, view)),
        *(item for h in hangings for item in _plate(h, outlines[id(h)], view, status.get(h.plate.order.id, ""), names)),
        *_figures(hangings, view),
    )
    items = (
        *(_filled(box.common(view.box), "#dddddd") for box in plan.grid.keep_outs if box.meets(view.box)),
        DrawnShape((corners(view.box),), 0.3 if whole else 0.1, INK if whole else GREY),
        *_datums(view),
        *(_behind(item) for item in written if isinstance(item, DrawnText)),
        *written,
    )
    return WallPicture(caption, view.box.grown(view.paper(_BORDER)), view.scale, items)


def _behind(text: DrawnText) -> DrawnShape:
    """Give the white ground of a text, on which no line of the wall runs through it."""
    across, up = _LETTER * text.size * len(text.text) / 2, 0.6 * text.size
    return _filled(Box(text.x - across, text.y - up, text.x + across, text.y + up), "#ffffff")


def corners(box: Box) -> Array:
    """Give the corners of a box, as (4, 2)."""
    return np.array([(box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1)])


def _filled(box: Box, fill: str) -> DrawnShape:
    return DrawnShape((corners(box),), 0.0, fill=fill)


def _reserved(plan: WallPlan, place: WallPlace, view: _View) -> Iterator[DrawnShape | DrawnText]:
    yield DrawnShape((corners(plan.grid.cell.moved(place.x, place.y)),), 0.15, GREY, dashed=True)
    yield DrawnText(place.x, place.y, "free", min(view.paper(FIGURES), plan.grid.cell.height / 3), GREY)


def _plate(
    hanging: Hanging, outline: Region, view: _View, status: str, names: Mapping[str, int]
) -> Iterator[DrawnShape | DrawnText]:
    """Draw a plate; of a name that several have (`names` counts them) all is written that is on it."""
    order = hanging.plate.order
    name = order.name if names[order.name] == 1 else in_a_line(order.texts)
    thin = simplified(outline, view.paper(_FINE))
    missing = status in ("held", "refused")
    yield DrawnShape(rg.all_rings(thin), 0.2, GREY if missing else INK, dashed=missing)
    yield from _words(hanging, outline, view, status, name)
    for hole in hanging.holes:
        yield from hole_mark(hole.x, hole.y, view.paper(0.5), view.paper(1.2), drilled=hole.drilled)


def hole_mark(x: float, y: float, radius: float, arm: float, *, drilled: bool) -> Iterator[DrawnShape]:
    """Draw a hole: a circle, filled where it is drilled, and a cross in it whose arms are so long."""
    turns = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    circle = np.column_stack([x + radius * np.cos(turns), y + radius * np.sin(turns)])
    yield DrawnShape((circle,), 0.15, RED, fill=RED if drilled else "")
    cross = (np.array([(x - arm, y), (x + arm, y)]), np.array([(x, y - arm), (x, y + arm)]))
    yield DrawnShape(cross, 0.15, RED, closed=False)


def _words(hanging: Hanging, outline: Region, view: _View, status: str, name: str) -> Iterator[DrawnText]:
    """Write what a plate is, with a `name` for it, and how far its holes are from the datums, clear of these, as far as
    it can be read.

    Where there is no room for all of it figures in inches are left out, then all of them: the table has them. Of a name
    that stands free they are below its letters.
    """
    box = rg.bounds(outline)
    plate = hanging.plate
    names = _broken(name + (f" ({status})" if status in ("held", "refused") else ""))
    where = [f"{in_mm(round(hole.x, 1))} | {in_mm(round(hole.y, 1))}" for hole in hanging.holes]
    on_tapes = [f"{on_tape(hole.x)} | {on_tape(hole.y)}" for hole in hanging.holes if view.inches]
    who = f"{hanging.place.name} · {plate.id}"
    if plate.order.free and status not in ("held", "refused"):
        size = view.paper(BELOW)
        for number, text in enumerate([f"{who} {name}", *([] if view.drawn_again else where + on_tapes)]):
            yield DrawnText(box.centre[0], box.y0 - (number + 0.8) * LEADING * size, text, size)
        return
    figures = ([],) if view.drawn_again else ([*where, *on_tapes], where, [])
    groups = [[[who]] if view.drawn_again else [[who], names, own] for own in figures]
    tried = [tuple(_rooms(hanging, box, view, own)) for own in groups]
    least = view.paper(LEADING * SMALLEST_LINE)
    can_be_read = (rooms for rooms in tried if all((r.high - r.low) / len(r.lines) >= least for r in rooms))
    for room in next(can_be_read, tried[-1]):
        step = min((room.high - room.low) / len(room.lines), LEADING * view.paper(LARGEST_NAME))
        top = (room.low + room.high) / 2 + step * (len(room.lines) - 1) / 2
        longest = max(map(len, names))
        for number, text in enumerate(room.lines):
            size = min(step / LEADING, room.wide / (_LETTER * max(longest if text in names else len(text), 1)))
            if size >= view.paper(SMALLEST_NAME):
                yield DrawnText(box.centre[0], top - number * step, text, size, bold=text in names)


def _broken(name: str) -> tuple[str, ...]:
    """Break a long name at the space nearest to its middle.

    >>> _broken("Bäckerei am alten Anger"), _broken("Jo"), _broken("Featherstonehaugh-Marlowe")
    (('Bäckerei am', 'alten Anger'), ('Jo',), ('Featherstonehaugh-Marlowe',))
    """
    spaces = [at for at, letter in enumerate(name) if letter == " "]
    if len(name) <= LONG_NAME or not spaces:
        return (name,)
    at = min(spaces, key=lambda space: abs(space - (len(name) - 1) / 2))
    return name[:at], name[at + 1 :]


class _LineRoom(NamedTuple):
    """A stretch of a plate's height that its holes leave (mm from the level line), how wide it is about the plate's
    middle, and the lines that go there."""

    low: float
    high: float
    wide: float
    lines: Sequence[str]


def _rooms(hanging: Hanging, box: Box, view: _View, groups: Sequence[Sequence[str]]) -> Iterator[_LineRoom]:
    """Share out groups of lines over what a plate's holes leave of its height: between holes at its sides, else above
    and below holes in the middle, so that the smallest line is as high as can be."""
    edge, clear, wide = 0.1 * box.height, view.paper(1.4), 0.8 * box.width
    holes = [hole for hole in hanging.holes if box.holds(hole.x, hole.y)]
    inside = [hole.y for hole in holes]
    top, bottom = max(inside, default=box.y1), min(inside, default=box.y1)
    above, below = box.y1 - edge - top - clear, bottom - clear - box.y0 - edge
    beside = min((abs(hole.x - box.centre[0]) for hole in holes), default=0.0) - clear
    lines = list(chain.from_iterable(groups))
    upper = _LineRoom(top + clear, box.y1 - edge, wide, lines)
    lower = _LineRoom(box.y0 + edge, min(bottom - clear, box.y1 - edge), wide, lines)
    if beside > ASIDE * box.width:
        yield _LineRoom(box.y0 + edge, box.y1 - edge, min(wide, 2 * beside), lines)
    elif len(lines) > 1 and 2 * above > below > 0 and 2 * below > above:
        first, then = max(_halves(*groups), key=lambda own: min(above / len(own[0]), below / len(own[1])))
        yield upper._replace(lines=first)
        yield lower._replace(lines=then)
    else:
        yield upper if above > below else lower


def _halves(
    who: Sequence[str], names: Sequence[str], figures: Sequence[str]
) -> Iterator[tuple[Sequence[str], Sequence[str]]]:
    """Give what may stand above and below a hole: who a plate is above it, the lines of a name together."""
    yield who, [*names, *figures]
    if figures:
        yield [*who, *names], figures
        yield [*who, *figures], names


def _datums(view: _View) -> Iterator[DrawnShape | DrawnText]:
    """Draw the centre line and the level line, where they cross the view."""
    box, over, size = view.box, view.paper(4.0), view.paper(FIGURES)
    if box.x0 <= 0 <= box.x1:
        line = np.array([(0.0, box.y1 + over), (0.0, box.y0 - over)])
        yield DrawnShape((line,), 0.25, BLUE, dashed=True, closed=False)
        yield DrawnText(0.0, box.y0 - view.paper(8.0 if view.inches else 5.5), "centre line", size, BLUE)
    if box.y0 <= 0 <= box.y1:
        line = np.array([(box.x0 - over, 0.0), (box.x1 + over, 0.0)])
        yield DrawnShape((line,), 0.25, BLUE, dashed=True, closed=False)
        yield DrawnText(box.x1 + view.paper(6.5), view.paper(1.4), "level line", view.paper(1.7), BLUE)


def _figures(hangings: Sequence[Hanging], view: _View) -> Iterator[DrawnShape | DrawnText]:
    """Write the x of the upmost row's holes above the wall, those of the lowest below it, and the y of all."""
    size, box = view.paper(FIGURES), view.box
    edge, step = box.x0 - view.paper(1.2), LEADING * size
    for who, xs, side in _scales(hangings):
        y = (box.y1 if side > 0 else box.y0) + side * view.paper(2.4)
        figures = _apart(xs, (1.25 if view.inches else 1.0) * size)
        letters = max(len(in_mm(figures[0])), len(on_tape(figures[0])) if view.inches else 0)
        yield DrawnText(min(edge, figures[0] - _LETTER * size * (letters / 2 + 1)), y, who, size, align=1)
        for x in figures:
            yield DrawnText(x, y, in_mm(x), size)
            if view.inches:
                yield DrawnText(x, y + side * step, on_tape(x), size)
            tick = np.array([(x, y - side * 0.7 * size), (x, y - side * (0.7 * size + view.paper(0.8)))])
            yield DrawnShape((tick,), 0.15, closed=False)
    for y in _apart((own.hole.y for own in holes_of(hangings)), (0.8 if view.inches else 1 / 3) * size):
        yield DrawnText(edge, y + (step / 2 if view.inches else 0.0), in_mm(round(y, 1)), size, align=1)
        if view.inches:
            yield DrawnText(edge, y - step / 2, on_tape(y), size, align=1)


def _xs(hangings: Iterable[Hanging]) -> frozenset[float]:
    """Give where holes are across, as it is written on drawings (mm)."""
    return frozenset(round(own.hole.x, 1) for own in holes_of(hangings))


def _scales(hangings: Sequence[Hanging]) -> Iterator[tuple[str, frozenset[float], int]]:
    """Yield what is written above the wall (1) and, where there are several rows, below it (-1): whose x, and these.

    A scale is of the row that it stands beside and of those next to it, as far as their holes are at the same x; rows
    may lack some of the plates.
    """
    rows = list(grouped((hanging.place.row, hanging) for hanging in hangings).values())
    for side, inwards in ((1, rows), (-1, rows[::-1]))[: len(rows)]:
        told, xs = inwards[:1], _xs(inwards[0])
        for row in inwards[1:]:
            if not (_xs(row) <= xs or xs <= _xs(row)):
                break
            told, xs = [*told, row], xs | _xs(row)
        first, last = (own[0].place.name.rstrip("0123456789") for own in (told[0], told[-1])[::side])
        some = f"row {first}" if first == last else f"{first} to {last}"
        yield ("all rows" if len(told) == len(rows) else some), xs, side


def _apart(values: Iterable[float], size: float) -> list[float]:
    """Give the values that can be written beside one another in letters of a size: no two nearer than their figures."""
    kept: list[float] = []
    for value in sorted(set(values)):
        if not kept or value - kept[-1] >= 3.4 * size:
            kept.append(value)
    return kept
