"""Writes outlines 1:1 as PDF: a jig for masking tape and scissors, a sheet to look at, or one to cut.

On paper, what is larger than one page goes over several, with an overlap and crosses where the pages meet, and every
page carries a line of exactly 100 mm, to see whether the printer kept the size. Vector lines only, no fonts, no
pictures, no dates: the same outline gives the same bytes.

Lengths here are mm with y up, as PDF has it; one `cm` operator at the start of each page turns mm into points.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, groupby

import numpy as np

from nameplate import tolerances
from nameplate.cut.kerf import Toolpath
from nameplate.cut.machine import PLAIN_PEN, CutPen
from nameplate.cut.order import PlacedToolpath, Step, burning_order, operation_colours
from nameplate.cut.svg import jig_sheet, numeral
from nameplate.geometry import engraving_font
from nameplate.geometry.curves.curve import Curve
from nameplate.geometry.region import Array
from nameplate.pdf.paper import A4, CHECK_LINE, POINTS, Paper

#: Strip (mm) along each edge of the page that printers do not reach.
MARGIN = 10.0

#: Strip (mm) above the lower margin for the check line and the page's number.
FOOT = 10.0

#: What two neighbouring pages both show (mm), to lay them over each other.
OVERLAP = 10.0

#: How a page begins: a unit is one mm, and lines have round ends and joints.
TO_POINTS = f"{POINTS:.9f} 0 0 {POINTS:.9f} 0 0 cm 1 J 1 j\n"

#: Widths (mm) of the outlines and of everything else.
OUTLINE, HAIRLINE = 0.2, 0.1


def jig_pdf(path: Toolpath, paper: Paper = A4) -> bytes:
    """Give the PDF of one nominal jig (make the path with a kerf of 0), in the middle of the page or on several.

    Its lines are those of the jig's SVG, in the same order and coordinates.
    """
    return put_together(jig_pages(path, paper), paper)


def jig_pages(path: Toolpath, paper: Paper) -> list[str]:
    """Give the operators of each page of a jig's PDF."""
    sheet = jig_sheet([path])
    return _pages(burning_order([PlacedToolpath(path, 1, sheet.x, sheet.y)]), paper)


def tiled_pdf(steps: Sequence[Step], paper: Paper = A4, *, decimals: int = tolerances.DECIMALS) -> bytes:
    """Give the PDF of everything on one sheet, true to size, its lines in the order of `steps`; there are some."""
    return put_together(_pages(steps, paper, decimals), paper)


def steps_pdf(width: float, height: float, steps: Sequence[Step], pen: CutPen = PLAIN_PEN) -> bytes:
    """Give the PDF of one sheet of `width` by `height` mm, its origin at the lower left, for machines that are driven
    as printers: one page as large as the sheet, with nothing on it but the lines of `steps`, each in its colour."""
    of = operation_colours(pen.colours)
    parts = [f"{TO_POINTS}{pen.width:g} w\n"]
    for operation, group in groupby(steps, key=lambda step: step.operation):
        parts += [f"{_shares(of[operation])} RG\n", *(line_operators(step.line, pen.decimals) for step in group)]
    return put_together(["".join(parts)], Paper(width, height))


def _shares(colour: str) -> str:
    """Give a colour as PDF has it.

    >>> _shares("#ff0080")
    '1.0000 0.0000 0.5020'
    """
    return " ".join(f"{channel / 255:.4f}" for channel in bytes.fromhex(colour.lstrip("#")))


# --- pages ----------------------------------------------------------------------------------------------------------


def _pages(steps: Sequence[Step], paper: Paper, decimals: int = tolerances.DECIMALS) -> list[str]:
    lines = [step.line for step in steps]
    drawing = "".join(line_operators(line, decimals) for line in lines)
    return [_page(tile, paper, drawing) for tile in _tiles(lines, paper)]


@dataclass(frozen=True, slots=True)
class _Tile:
    """One page: what part of the drawing it shows (mm), and where it is among `columns` by `rows` pages."""

    x: float
    y: float
    column: int
    row: int
    columns: int
    rows: int

    @property
    def name(self) -> str:
        return f"{chr(65 + self.row % 26)}{self.column + 1}"


def _tiles(lines: Sequence[Curve | Array], paper: Paper) -> Iterator[_Tile]:
    points = np.vstack([line.segments.reshape(-1, 2) if isinstance(line, Curve) else line for line in lines])
    low, high = points.min(axis=0), points.max(axis=0)
    room = _room(paper)
    step = room - OVERLAP
    count = np.maximum(1, np.ceil((high - low - OVERLAP) / step - 1e-9)).astype(int)
    spread = count * step + OVERLAP
    start = (low + high - spread) / 2
    for row in range(int(count[1])):
        for column in range(int(count[0])):
            x, y = start + step * (column, row)
            yield _Tile(float(x), float(y), column, row, int(count[0]), int(count[1]))


def _room(paper: Paper) -> Array:
    """Give the width and height (mm) of a page that drawings may use."""
    return np.array([paper.width - 2 * MARGIN, paper.height - 2 * MARGIN - FOOT])


def _page(tile: _Tile, paper: Paper, drawing: str) -> str:
    width, height = _room(paper)
    left, bottom = MARGIN, MARGIN + FOOT
    clip = f"{numeral(left)} {numeral(bottom)} {numeral(width)} {numeral(height)} re W n\n"
    shift = f"1 0 0 1 {numeral(left - tile.x)} {numeral(bottom - tile.y)} cm\n"
    return f"{TO_POINTS}q {clip}{shift}{OUTLINE} w\n{drawing}Q\n{HAIRLINE} w\n{_foot(tile)}{_crosses(tile, paper)}"


def _foot(tile: _Tile) -> str:
    """Draw the check line with ticks at its ends, what it is, and which page of several this is."""
    y = MARGIN + 2
    ends = (MARGIN, MARGIN + CHECK_LINE)
    parts = [_stroke(np.array([(ends[0], y), (ends[1], y)]))]
    parts += [_stroke(np.array([(x, y - 1.5), (x, y + 1.5)])) for x in ends]
    parts.append(_text("100 mm", MARGIN + 2, y + 2))
    if tile.columns * tile.rows > 1:
        parts.append(_text(f"{tile.name} of {tile.columns} x {tile.rows}", MARGIN + 50, y + 2))
    return "".join(parts)


def _text(text: str, x: float, y: float) -> str:
    return "".join(map(_stroke, engraving_font.label(text, 3.0, at=(x, y))))


def _crosses(tile: _Tile, paper: Paper) -> str:
    """Draw a cross in the middle of each overlap, at both ends, so that neighbouring pages can be laid in line."""
    width, height = _room(paper)
    left, bottom, half = MARGIN, MARGIN + FOOT, OVERLAP / 2
    xs = [left + half] * (tile.column > 0) + [left + width - half] * (tile.column < tile.columns - 1)
    ys = [bottom + half] * (tile.row > 0) + [bottom + height - half] * (tile.row < tile.rows - 1)
    places = [(x, y) for x in xs for y in (bottom + half, bottom + height - half)]
    places += [(x, y) for y in ys for x in (left + half, left + width - half)]
    return "".join(_cross(x, y) for x, y in dict.fromkeys(places))


def _cross(x: float, y: float) -> str:
    arm = 3.0
    return _stroke(np.array([(x - arm, y), (x + arm, y)])) + _stroke(np.array([(x, y - arm), (x, y + arm)]))


# --- operators ------------------------------------------------------------------------------------------------------


def line_operators(line: Curve | Array, decimals: int) -> str:
    """Give the operators that stroke a curve, or a polyline (n, 2), in mm with so many decimals at most."""
    if not isinstance(line, Curve):
        return _stroke(np.round(line, decimals))
    segments = np.round(line.segments, decimals)
    parts = [f"{_pairs(segments[0, :1])} m\n"]
    for segment, straight in zip(segments, line.lines.tolist(), strict=True):
        parts.append(f"{_pairs(segment[3:])} l\n" if straight else f"{_pairs(segment[1:])} c\n")
    return "".join([*parts, "h S\n" if line.closed else "S\n"])


def _stroke(points: Array) -> str:
    first, *rest = (_pairs(p[None]) for p in points)
    return f"{first} m\n" + "".join(f"{p} l\n" for p in rest) + "S\n"


def _pairs(points: Array) -> str:
    return " ".join(numeral(v) for v in points.ravel().tolist())


# --- file -----------------------------------------------------------------------------------------------------------


def put_together(pages: Sequence[str], paper: Paper) -> bytes:
    """Put pages together as a PDF 1.4 file: catalog, page tree, and two objects a page (ISO 32000-1, 7.5)."""
    box = f"[0 0 {numeral(paper.width * POINTS)} {numeral(paper.height * POINTS)}]"
    kids = " ".join(f"{3 + 2 * k} 0 R" for k in range(len(pages)))
    objects = [
        "<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >> >>",
        f"<< /Type /Pages /Kids [{kids}] /Count {len(pages)} /MediaBox {box} >>",
    ]
    for k, content in enumerate(pages):
        objects.append(f"<< /Type /Page /Parent 2 0 R /Resources << >> /Contents {4 + 2 * k} 0 R >>")
        objects.append(f"<< /Length {len(content)} >>\nstream\n{content}\nendstream")
    parts = ["%PDF-1.4\n", *(f"{number} 0 obj\n{body}\nendobj\n" for number, body in enumerate(objects, 1))]
    *offsets, start = accumulate(map(len, parts))
    parts.append(f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n")
    parts += [f"{offset:010d} 00000 n \n" for offset in offsets]
    parts.append(f"trailer\n<< /Size {len(objects) + 1} /Root 1 0 R >>\nstartxref\n{start}\n%%EOF\n")
    return "".join(parts).encode("ascii")
