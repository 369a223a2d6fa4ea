"""drilling/strips-01.svg and so on: drilling strips on sheets of card; drilling/strips.csv says where each begins.

The lines are nominal: a circle comes out wider by a kerf about the same middle, and nothing is measured from an edge.
Each file is read again and compared with what was to be drawn before it is handed on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from nameplate.cut.laid_sheet import APART, MARGIN, LaidPart, LaidSheet, check_laid, laid_svg
from nameplate.cut.machine import CutPen
from nameplate.cut.read_back import read_text
from nameplate.geometry import region as rg
from nameplate.geometry.beam import Kerf
from nameplate.geometry.box import Box
from nameplate.geometry.engraving_font import label, label_width
from nameplate.geometry.region import Array
from nameplate.model import Part
from nameplate.system.spreadsheets import csv_text
from nameplate.wall.plan import WallPlan
from nameplate.wall.strips import DrillingStrip, plan_strips
from nameplate.wall.table import in_mm

#: The table of strips, and where all their files lie.
STRIPS_CSV = "drilling/strips.csv"

#: Diameters (mm) of the hole that a pencil marks through, and of the pin hole of a mark.
PRICK, PIN = 2.0, 1.0

#: How far (mm) from a hole's middle its cross ends, where its arms begin, and how far above it its plate is told.
ARM, FREE, TOLD = 7.0, 2.0, 9.0

#: Height (mm) of what is scored beside holes, and of all else; how far from a strip's edges.
LETTERS, SMALL, EDGE = 4.0, 3.0, 2.0

#: Columns of the table: `x` and `y` are where the first mark belongs (mm from the datums), `last_x` where the last one;
#: `sheet_x` and `sheet_y` are the mm of the first mark from the sheet's lower left corner.
COLUMNS = ("strip", "file", "x", "y", "last_x", "sheet_x", "sheet_y", "plates")


@dataclass(frozen=True, slots=True)
class StripSheet:
    """A sheet of card: its file, and the strips on it, each with how far (x, y) it is shifted from its place, mm."""

    file: str
    laid: tuple[tuple[DrillingStrip, float, float], ...]


def strip_sheets(plan: WallPlan) -> tuple[StripSheet, ...]:
    """Lay the drilling strips of a wall on sheets of card, one above the other; none where the ticket wants none."""
    if plan.keys.strip is None:
        return ()
    width, height = plan.keys.strip
    sheets: list[list[tuple[DrillingStrip, float, float]]] = []
    top = 0.0
    for strip in plan_strips(plan.hangings, width - 2 * MARGIN, height - 2 * MARGIN):
        if not sheets or top - strip.box.height < MARGIN:
            sheets.append([])
            top = height - MARGIN
        sheets[-1].append((strip, MARGIN - strip.box.x0, top - strip.box.y1))
        top -= strip.box.height + APART
    return tuple(StripSheet(f"drilling/strips-{n:02d}.svg", tuple(laid)) for n, laid in enumerate(sheets, 1))


def strip_files(plan: WallPlan, pen: CutPen, *, title: str) -> Iterator[tuple[str, str]]:
    """Give each file's name and its text; raises InspectionError where one does not show what it should."""
    sheets = strip_sheets(plan)
    if plan.keys.strip is None or not sheets:
        return
    count = sum(len(sheet.laid) for sheet in sheets)
    for sheet in sheets:
        laid = tuple(LaidPart(_part(strip, count), 1, x, y) for strip, x, y in sheet.laid)
        drawn = LaidSheet("", *plan.keys.strip, laid, Kerf.of(0.0))
        text = laid_svg(drawn, pen, title=title)
        check_laid(read_text(text, sheet.file), drawn, pen, sheet.file)
        yield sheet.file, text
    yield STRIPS_CSV, csv_text(COLUMNS, [_row(sheet.file, *one) for sheet in sheets for one in sheet.laid])


def _row(file: str, strip: DrillingStrip, x: float, y: float) -> dict[str, str]:
    (first, height), (last, _) = strip.marks
    plates = dict.fromkeys(own.hanging.plate.id for own in strip.holes)
    places = (first, height, last, first + x, height + y)
    return dict(zip(COLUMNS, (str(strip.number), file, *map(in_mm, places), " ".join(plates)), strict=True))


def _part(strip: DrillingStrip, count: int) -> Part:
    """Draw a strip where it lies on the wall."""
    discs = [rg.disc((own.hole.x, own.hole.y), PRICK) for own in strip.holes]
    pins = [rg.disc(mark, PIN) for mark in strip.marks]
    outline = rg.difference(rg.rectangle(*strip.box), rg.union(*discs, *pins))
    return Part(f"strip {strip.number}", "template", "", outline, marks=tuple(_scored(strip, count)))


def _scored(strip: DrillingStrip, count: int) -> Iterator[Array]:
    box = strip.box
    for hanging, hole in strip.holes:
        yield from _cross(hole.x, hole.y)
        text = f"{hanging.place.name} {hanging.plate.id}{' DRILLED' if hole.drilled else ''}"
        half = label_width(text, LETTERS) / 2 + EDGE
        yield from _text(text, min(max(hole.x, box.x0 + half), box.x1 - half), hole.y + TOLD, LETTERS)
    first, last = (f"X {x:g} Y {y:g}" for x, y in strip.marks)
    yield from _text(f"STRIP {strip.number} OF {count}  {first}", box.x0 + EDGE, box.y0 + EDGE, SMALL, align=0.0)
    yield from _text(last, box.x1 - EDGE, box.y0 + EDGE, SMALL, align=1.0)
    for x, y in strip.marks:
        yield from _cross(x, y, turn=45.0)
    yield from _datums(box)


def _cross(x: float, y: float, *, turn: float = 0.0) -> Iterator[Array]:
    """Give the arms of a cross, turned by so many degrees."""
    arm = np.array([(FREE, 0.0), (ARM, 0.0)])
    return (arm @ rg.rotation(turn + quarter) + (x, y) for quarter in (0.0, 90.0, 180.0, 270.0))


def _datums(box: Box) -> Iterator[Array]:
    """Score what of the centre line and of the level line lies on a strip, and which it is."""
    if box.x0 + EDGE < 0 < box.x1 - EDGE:
        yield np.array([(0.0, box.y0), (0.0, box.y1)])
        yield from _text("CENTRE", 1.0, box.y1 - EDGE - SMALL, SMALL, align=0.0)
    if box.y0 + EDGE < 0 < box.y1 - EDGE:
        yield np.array([(box.x0, 0.0), (box.x1, 0.0)])
        yield from _text("LEVEL", (3 * box.x0 + box.x1) / 4, 1.0, SMALL)


def _text(text: str, x: float, y: float, height: float, *, align: float = 0.5) -> tuple[Array, ...]:
    """Give the strokes of a text whose lower edge is at `y`; `align` is its share to the left of `x`."""
    return label(text, height, at=(x - align * label_width(text, height), y))
