"""All paper jigs of a job in one PDF file, at true size: as many on a page as have room, to be cut apart.

Terms. A *cell* is the place of one jig on a page, its label above. Method: cells are put in rows, in the order of the
list, a jig turned by a quarter where it fits the page only so (next-fit shelf packing). One that fits neither way has
the pages of its own file.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from nameplate.cut.kerf import Toolpath
from nameplate.cut.pdf import OUTLINE, jig_pages
from nameplate.geometry.box import Box
from nameplate.geometry.curves.curve import flatten
from nameplate.geometry.region import Array
from nameplate.pdf.pages import OnPage, PdfPages, Stroke
from nameplate.pdf.paper import CHECK_LINE, Paper
from nameplate.pdf.text_face import fitted

#: Strip (mm) along each edge of a page that holds cut marks alone, as printers do not reach all of it; what the words
#: above and the line below take.
MARGIN, HEAD, FOOT = 10.0, 17.0, 12.0

#: What the labels of the first row take (mm), and what is between two jigs, where they are cut apart: marks and label.
LABEL, GAP = 6.0, 8.0

#: Length of a cut mark, and its distance from the corner (mm).
MARK, OFF = 3.0, 1.0

#: Sizes of letters (points).
TITLE, TEXT = 12.0, 8.5

HAIR = Stroke(0.1)

#: What is said on every page.
SIZE = "True size: print at 100 %, not fitted to the page, and measure the line at the foot."
HAND = "A paper jig is as true as the hand that cuts it out and lays it down."


@dataclass(frozen=True)
class PaperJig:
    """The nominal lines of one plate's jig, and whose it is."""

    id: str
    name: str
    path: Toolpath

    @cached_property
    def closed(self) -> tuple[Array, ...]:
        """Its outline and windows, each an (n, 2) ring in mm."""
        return tuple(flatten(contour.curve) for contour in self.path.contours)

    @cached_property
    def box(self) -> Box:
        """The box of its outline (mm)."""
        points = np.vstack(self.closed)
        return Box(*points.min(axis=0).tolist(), *points.max(axis=0).tolist())

    def size(self, *, turned: bool | None) -> tuple[float, float]:
        """Width and height (mm) as it lies, turned by a quarter or not."""
        return (self.box.height, self.box.width) if turned else (self.box.width, self.box.height)

    @property
    def marks(self) -> tuple[Array, ...]:
        """What is drawn on it. A line to measure below it is left out: each page has one."""
        return tuple(mark for mark in self.path.marks if mark[:, 1].min() >= self.box.y0)

    @property
    def label(self) -> str:
        """Whose it is, in words."""
        return f"No. {self.id}  {self.name}"


@dataclass(frozen=True, slots=True)
class _Cell:
    """A jig's place on a page: the upper left corner of its box, and whether it is turned by a quarter."""

    jig: PaperJig
    x: float
    y: float
    turned: bool

    def placed(self, points: Array) -> Array:
        """Give points of the jig with the lower left corner of its box in the origin."""
        x, y = (points - self.jig.box[:2]).T
        return np.column_stack([y, self.jig.box.width - x] if self.turned else [x, y])


def paper_jigs_pdf(jigs: Iterable[PaperJig], paper: Paper, *, title: str) -> bytes:
    """Give the file; there must be a jig."""
    pages = PdfPages(paper, title=f"{title}: paper jigs")
    for first, *others in _together(jigs, paper):
        if _is_turned(first, paper) is not None:
            _draw_page(pages, [first, *others], title)
            continue
        for content in jig_pages(first.path, paper):  # it is larger than a page
            pages.operators(content)
            pages.text(MARGIN, MARGIN - 2, f"{first.label}. {SIZE}", TEXT)
            pages.next_page()
    return pages.data()


def _together(jigs: Iterable[PaperJig], paper: Paper) -> Iterator[list[PaperJig]]:
    """Share out jigs among pages, in their order; one that is larger than a page is alone."""
    page: list[PaperJig] = []
    for jig in jigs:
        if page and len(list(_rows([*page, jig], paper))) <= len(page):
            yield page
            page = []
        page.append(jig)
    yield page


def _room(paper: Paper) -> tuple[float, float]:
    return paper.width - 2 * MARGIN, paper.height - 2 * MARGIN - HEAD - FOOT


def _is_turned(jig: PaperJig, paper: Paper) -> bool | None:
    """Say whether a jig must be turned to fit the page; None where it does not fit."""
    width, height = _room(paper)
    ways = ((turned, *jig.size(turned=turned)) for turned in (False, True))
    return next((turned for turned, w, h in ways if w <= width and h + LABEL <= height), None)


def _rows(jigs: Sequence[PaperJig], paper: Paper) -> Iterator[_Cell]:
    """Put jigs in rows on one page, as many as have room."""
    width, height = _room(paper)
    x, y, row = 0.0, LABEL, 0.0
    for jig in jigs:
        turned = _is_turned(jig, paper)
        w, h = jig.size(turned=turned)
        if x > 0 and x + w > width:
            x, y, row = 0.0, y + row + GAP, 0.0
        if turned is None or y + h > height:
            return
        yield _Cell(jig, MARGIN + x, MARGIN + HEAD + y, turned)
        x, row = x + w + GAP, max(row, h)


def _draw_page(pages: PdfPages, jigs: Sequence[PaperJig], title: str) -> None:
    size, lines = fitted(f"{title}: paper jigs", pages.paper.width - 2 * MARGIN, sizes=(TITLE, 9.0, 6.0), lines=1)
    pages.text(MARGIN, MARGIN + 4, lines[0], size)
    pages.text(MARGIN, MARGIN + 9, SIZE, TEXT)
    pages.text(MARGIN, MARGIN + 13, HAND, TEXT)
    for cell in _rows(jigs, pages.paper):
        _draw_cell(pages, cell)
    y = pages.paper.height - MARGIN - 2
    pages.measure(MARGIN, y, CHECK_LINE, 1.5, HAIR)
    pages.text(MARGIN + 2, y - 1.5, f"{CHECK_LINE:g} mm", TEXT)
    pages.next_page()


def _draw_cell(pages: PdfPages, cell: _Cell) -> None:
    jig = cell.jig
    width, height = jig.size(turned=cell.turned)
    size, lines = fitted(jig.label, width - 2, sizes=(TEXT, 7.0, 5.5), lines=1)
    pages.text(cell.x + 1, cell.y - 2.5, lines[0], size)
    place = OnPage(cell.x, cell.y + height)
    pages.outlines([cell.placed(ring) for ring in jig.closed], place, stroke=Stroke(OUTLINE))
    pages.outlines([cell.placed(mark) for mark in jig.marks], place, stroke=Stroke(OUTLINE), closed=False)
    for x, aside in ((cell.x, -1), (cell.x + width, 1)):
        for y, down in ((cell.y, -1), (cell.y + height, 1)):
            pages.rule(x + aside * OFF, y, x + aside * (OFF + MARK), y, HAIR)
            pages.rule(x, y + down * OFF, x, y + down * (OFF + MARK), HAIR)
