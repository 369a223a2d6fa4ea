"""drilling.pdf: the holes at true size, on as many pages as it takes, to stick on the wall and drill through.

A page shows a piece of the wall, a cell, and a little round it. Cells begin at round distances from the datums and all
have one size in whole mm, so that the cross at each corner of a cell has a round distance from both lines: a page is
set by its crosses, alone. Cells lie where holes are, as few as will do. The first page is a map.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from nameplate.geometry.box import Box, around
from nameplate.geometry.measure import stretches
from nameplate.geometry.nearby import Index
from nameplate.geometry.region import closed_lines, rectangle
from nameplate.model import in_a_line
from nameplate.pdf.pages import OnPage, PdfPages, Stroke
from nameplate.pdf.paper import CHECK_LINE, POINTS, Paper
from nameplate.pdf.text_face import broken
from nameplate.units import on_tape
from nameplate.wall.drawing import BLUE, GREY, INK, DrawnShape, DrawnText, corners, hole_mark
from nameplate.wall.hanging import Hanging, Hole, PlateHole, holes_of
from nameplate.wall.plan import WallPlan
from nameplate.wall.plan_pdf import HEADING, LEADING, SIDE, TEXT, TOP, draw
from nameplate.wall.table import in_mm, in_words
from nameplate.wall.words import CAUTIONS

#: Strip (mm) along each edge of the page that printers do not reach, and below it the room for the page's foot.
MARGIN, FOOT = 10.0, 12.0

#: Cells begin at multiples of this (mm) and are as long, so that corners are where a tape has a line: a tape in mm, or
#: one in inches where pages are of paper that goes with these.
ROUND, ROUND_INCHES = 10.0, 12.7

#: Arms of the cross in a hole, reaching past the drill, and of those at the corners of a cell (mm).
ARM, CORNER = 8.0, 5.0

#: Room (mm) for the map on the first page.
_MAP = (180.0, 150.0)

_HAIR = Stroke(0.1, INK)

_HOW = (
    "Print every page at 100 %, never fitted to the page, and measure the line of 100 mm on it: if it is not 100 mm, "
    "do not drill by these pages.",
    "Each page has four crosses, and beside each how far it is from the centre line (x) and above the level line (y). "
    "Set each page by measuring two of its crosses from these lines. Where nothing is drilled there is no page: pages "
    "need not touch.",
    "Pages may be cut along the lines from cross to cross.",
    "Long walls are truer by tape: measure at least the first and the last hole of every row by the table of wall.pdf.",
)


@dataclass(frozen=True, slots=True)
class _Cell:
    """A piece of the wall on a page of its own: its number, its corners (mm from the datums), what the page shows."""

    number: int
    box: Box
    shown: Box
    hangings: tuple[Hanging, ...]


def drilling_pdf(plan: WallPlan, paper: Paper, *, title: str) -> bytes:
    """Give the file of a plan with at least one hole that is not drilled yet."""
    pages = PdfPages(paper, title=f"{title}: drilling template")
    cells = tuple(_cells(plan, paper))
    _first(pages, plan, cells, title)
    index = Index(plan.outlines)
    for cell in cells:
        pages.next_page()
        _page(pages, plan, cell, index, of=len(cells))
    pages.next_page()
    return pages.data()


def steps_of(paper: Paper) -> tuple[float, float]:
    """Give how wide and high (mm) a cell is on pages of a paper.

    >>> from nameplate.pdf.paper import A4, LETTER
    >>> steps_of(A4), steps_of(LETTER)
    ((180.0, 250.0), (177.8, 228.6))
    """
    line, edge = _line(paper), 2 * MARGIN + 2 * CORNER
    return round((paper.width - edge) // line * line, 3), round((paper.height - edge - FOOT) // line * line, 3)


def _line(paper: Paper) -> float:
    """Give the distance (mm) of the lines of a tape that corners of cells lie on."""
    return ROUND_INCHES if paper.inches else ROUND


def _cells(plan: WallPlan, paper: Paper) -> Iterator[_Cell]:
    """Yield a cell for every few holes that are not drilled, as few as will do row by row, from the top left on."""
    (across, up), line = steps_of(paper), _line(paper)
    aside, above = (paper.width - 2 * MARGIN - across) / 2, (paper.height - 2 * MARGIN - FOOT - up) / 2
    wanted = [own for own in holes_of(plan.hangings) if not own.hole.drilled]
    rows = list(_windows(wanted, lambda own: own.hole.y, up, line))
    pieces = ((x, y, held) for y, row in rows[::-1] for x, held in _windows(row, lambda own: own.hole.x, across, line))
    for number, (x, y, held) in enumerate(pieces, 1):
        box = Box(x, y, x + across, y + up)
        yield _Cell(number, box, box.grown(aside, above), tuple(dict.fromkeys(hanging for hanging, _ in held)))


def _windows(
    holes: Sequence[PlateHole], at: Callable[[PlateHole], float], length: float, line: float
) -> Iterator[tuple[float, list[PlateHole]]]:
    """Part holes by a coordinate into windows of a length, greedily: each begins at the first hole that none has yet.

    That takes as few as there can be. Gives where each begins, a multiple of `line`, and its holes, which are in its
    middle as far as the window before leaves room.
    """
    left, end = sorted(holes, key=at), -math.inf
    while left:
        start = math.floor(at(left[0]) / line) * line
        count = bisect_right(left, start + length, key=at)
        spare = start + length - at(left[count - 1])
        start = max(end, start - spare / 2 // line * line)
        yield start, left[:count]
        left, end = left[count:], start + length


# --- the first page -------------------------------------------------------------------------------------------------


def _first(pages: PdfPages, plan: WallPlan, cells: Sequence[_Cell], title: str) -> None:
    """Draw the map: which page shows which piece of the wall; and say how the pages are used."""
    y = TOP + HEADING / POINTS
    pages.text(SIDE, y, f"{title}: drilling template, true to size, {len(cells)} pages", HEADING)
    for sentence in (*CAUTIONS, *_HOW):
        y += 1.5
        for line in broken(sentence, TEXT, pages.paper.width - 2 * SIDE):
            y += TEXT * LEADING / POINTS
            pages.text(SIDE, y, line, TEXT)
    whole = around((plan.grid.wall, *(cell.box for cell in cells)))
    scale = max(whole.width / _MAP[0], whole.height / _MAP[1])
    draw(pages, _map(plan, cells, scale), OnPage(SIDE - whole.x0 / scale, y + 6 + whole.y1 / scale, scale))


def _map(plan: WallPlan, cells: Sequence[_Cell], scale: float) -> Iterator[DrawnShape | DrawnText]:
    wall = plan.grid.wall
    yield DrawnShape((corners(wall),), 0.3)
    for cell in cells:
        yield DrawnShape((corners(cell.box),), 0.1, GREY)
        size = min(3.5 * scale, 0.4 * min(cell.box.width, cell.box.height))
        yield DrawnText(*cell.box.centre, str(cell.number), size, GREY)
    for _, hole in holes_of(plan.hangings):
        yield from hole_mark(hole.x, hole.y, 0.3 * scale, 0.8 * scale, drilled=hole.drilled)
    yield from _lines(wall)


def _lines(box: Box) -> Iterator[DrawnShape]:
    """Draw the centre line and the level line, as far as they lie in a box."""
    if box.x0 <= 0 <= box.x1:
        yield DrawnShape((np.array([(0.0, box.y0), (0.0, box.y1)]),), 0.25, BLUE, dashed=True, closed=False)
    if box.y0 <= 0 <= box.y1:
        yield DrawnShape((np.array([(box.x0, 0.0), (box.x1, 0.0)]),), 0.25, BLUE, dashed=True, closed=False)


# --- the pages at true size -----------------------------------------------------------------------------------------


def _page(pages: PdfPages, plan: WallPlan, cell: _Cell, index: Index, *, of: int) -> None:
    """Draw a page; at its foot the line to measure, and which page it is."""
    paper = pages.paper
    items = (*_items(plan, cell, index, inches=paper.inches), *_corners(cell, inches=paper.inches))
    draw(pages, items, OnPage(MARGIN - cell.shown.x0, MARGIN + cell.shown.y1))
    length = f"{CHECK_LINE:g} mm ({on_tape(CHECK_LINE)})" if paper.inches else f"{CHECK_LINE:g} mm"
    y = paper.height - MARGIN - 3
    pages.measure(MARGIN, y, CHECK_LINE, 2, _HAIR)
    pages.text(MARGIN + 2, y - 1, f"{length}: measure it", 7)
    which = f"page {cell.number} of {of}, {in_words(plan.keys.hole, inches=paper.inches)} drill"
    pages.text(paper.width - MARGIN, y, which, TEXT, align=1)


def _items(plan: WallPlan, cell: _Cell, index: Index, *, inches: bool) -> Iterator[DrawnShape | DrawnText]:
    """Draw what of plates, holes and lines the page shows."""
    shown, paper = cell.shown, rectangle(*cell.shown)
    near = index.near(paper)
    lines = [part for k in near for ring in closed_lines(plan.outlines[k]) for part in stretches(ring, paper)]
    if lines:
        yield DrawnShape(tuple(lines), 0.1, GREY, closed=False)
    for hanging, hole in holes_of(dict.fromkeys((*cell.hangings, *(plan.hangings[k] for k in near)))):
        if shown.x0 <= hole.x <= shown.x1 and shown.y0 <= hole.y <= shown.y1:
            yield from hole_mark(hole.x, hole.y, plan.keys.hole / 2, ARM, drilled=False)
            yield from _label(hanging, hole, shown, inches=inches)
    yield from _lines(shown)


def _label(hanging: Hanging, hole: Hole, shown: Box, *, inches: bool) -> Iterator[DrawnText]:
    """Write beside a hole whose it is and where it is, towards the middle of the page."""
    who = f"{hanging.place.name} · {hanging.plate.id}{' (is drilled)' if hole.drilled else ''}"
    where = f"x {in_mm(round(hole.x, 1))}   y {in_mm(round(hole.y, 1))}"
    right, down = hole.x < shown.centre[0], hole.y > shown.centre[1]
    x = hole.x + (ARM / 2 if right else -ARM / 2)
    lines = (who, in_a_line(hanging.plate.order.texts), where, *([_on_tapes(hole.x, hole.y)] if inches else []))
    y = hole.y + (-ARM / 2 - 1.5 if down else ARM / 2 + 1.5 + 4.0 * (len(lines) - 1))
    for number, text in enumerate(lines):
        yield DrawnText(x, y - 4.0 * number, text, 2.8, align=0.0 if right else 1.0)


def _on_tapes(x: float, y: float) -> str:
    return f"x {on_tape(x)}   y {on_tape(y)}"


def _corners(cell: _Cell, *, inches: bool) -> Iterator[DrawnShape | DrawnText]:
    """Draw a cross at each corner of the cell, with its distances, and marks where to cut at its sides.

    Distances in mm and in inches are written outside the cell, where they hide no hole of it.
    """
    for x, y in corners(cell.box).tolist():
        lines = (np.array([(x - CORNER, y), (x + CORNER, y)]), np.array([(x, y - CORNER), (x, y + CORNER)]))
        yield DrawnShape(lines, 0.1, closed=False)
        left, up = x == cell.box.x0, (y == cell.box.y0) != inches
        told = (f"x {in_mm(x)}   y {in_mm(y)}", *([_on_tapes(x, y)] if inches else []))
        for number, text in enumerate(told):
            off = 2 + 3.5 * (len(told) - 1 - number) if up else -2 - 3.5 * number
            yield DrawnText(x + (6 if left else -6), y + off, text, 2.5, align=0.0 if left else 1.0)
