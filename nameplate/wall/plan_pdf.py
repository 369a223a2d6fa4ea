"""wall.pdf: the plan for print: cautions, how to set out, what to look at, drawings, and a table of all holes.

Places on a page are mm from its upper left corner; sizes of letters are points.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from nameplate.pdf.pages import OnPage, PdfPages, Stroke
from nameplate.pdf.paper import POINTS, Paper
from nameplate.pdf.text_face import broken, fitted
from nameplate.units import for_paper
from nameplate.wall.drawing import DrawnShape, DrawnText, WallPicture, pictures
from nameplate.wall.plan import WallPlan
from nameplate.wall.table import rows_on_paper
from nameplate.wall.words import CAUTIONS, SETTING_OUT, about_strips, about_wall, remarks

#: Blank strip (mm) along the edges of a page, which printers reach.
SIDE, TOP, BOTTOM = 12.0, 12.0, 12.0

#: Sizes of letters (points): a title, a heading, text, a page's foot.
TITLE, HEADING, TEXT, SMALL = 15.0, 11.0, 9.0, 7.5

#: Distance of two lines of text, in their size.
LEADING = 1.3

#: Columns of the table of holes: their heading, the key of the row, where they start (share of the width), and the
#: share of a text that lies left of that.
_COLUMNS = (
    ("place", "place", 0.0, 0.0),
    ("plate", "id", 0.07, 0.0),
    ("name", "name", 0.17, 0.0),
    ("x mm", "x", 0.56, 1.0),
    ("y mm", "y", 0.66, 1.0),
    ("x inches", "x_in", 0.78, 1.0),
    ("y inches", "y_in", 0.90, 1.0),
)

_BOX = Stroke(0.25)
_RULE = Stroke(0.1, "#999999")


def wall_pdf(plan: WallPlan, status: Mapping[str, str], paper: Paper, *, title: str) -> bytes:
    """Give the file; `status` says by plate what of them is not made (held, refused)."""
    flow = _Flow(PdfPages(paper, title=f"{title}: hanging plan"), f"{title}: hanging plan")
    flow.text(flow.title, TITLE)
    for caution in CAUTIONS:
        flow.text(caution, TEXT)
    flow.text(about_wall(plan, inches=paper.inches), TEXT, space=2.5)
    flow.text("Setting out", HEADING, space=2.5)
    for number, step in enumerate(SETTING_OUT, 1):
        flow.text(f"{number}. {step}", TEXT)
    for heading, told in (("Drilling strips", about_strips(plan, inches=paper.inches)), ("Look at", remarks(plan))):
        if told:
            flow.text(heading, HEADING, space=2.5)
        for sentence in told:
            flow.text(f"- {sentence}", TEXT)
    for picture in pictures(plan, status, inches=paper.inches):
        flow.picture(picture)
    _table(flow, list(rows_on_paper(plan, status)))
    flow.end_page()
    return flow.pages.data()


@dataclass(slots=True)
class _Flow:
    """Puts one thing below the other, page after page; `y` is where the next goes."""

    pages: PdfPages
    title: str
    y: float = TOP
    number: int = 1

    @property
    def width(self) -> float:
        return self.pages.paper.width - 2 * SIDE

    def room_for(self, height: float) -> bool:
        """Begin a page where so many mm do not fit on this one; tell whether one began."""
        if self.y + height <= self.pages.paper.height - BOTTOM or self.y == TOP:
            return False
        self.end_page()
        self.y, self.number = TOP, self.number + 1
        return True

    def end_page(self) -> None:
        """Write the foot of the page and end it."""
        bottom = self.pages.paper.height - 6
        self.pages.text(SIDE + self.width, bottom, f"page {self.number}", SMALL, align=1)
        self.pages.text(SIDE, bottom, fitted(self.title, 0.8 * self.width, sizes=(SMALL,), lines=1)[1][0], SMALL)
        self.pages.next_page()

    def text(self, text: str, size: float, *, space: float = 1.0) -> None:
        """Write a paragraph, so many mm below what is above it."""
        step = size * LEADING / POINTS
        self.y += space
        for line in broken(text, size, self.width):
            self.room_for(step)
            self.y += step
            self.pages.text(SIDE, self.y - 0.25 * step, line, size)

    def picture(self, picture: WallPicture) -> None:
        """Draw a picture below its caption, both on one page."""
        box, scale = picture.box, picture.scale
        height, caption = box.height / scale, 1.0 + HEADING * LEADING / POINTS
        self.room_for(height + caption + 3)
        self.text(picture.caption, HEADING, space=3.0)
        place = OnPage(SIDE - box.x0 / scale, self.y + box.y1 / scale, scale)
        draw(self.pages, picture.items, place)
        self.y += height


def draw(pages: PdfPages, items: Iterable[DrawnShape | DrawnText], place: OnPage) -> None:
    """Draw lines and texts of the wall where its origin lies on a page."""
    for item in items:
        if isinstance(item, DrawnShape):
            stroke = Stroke(item.width, item.colour, item.dashed) if item.width else None
            pages.outlines(item.lines, place, fill=item.fill, stroke=stroke, closed=item.closed)
        else:
            x, y = place.x + item.x / place.scale, place.y - item.y / place.scale
            size = item.size / place.scale
            pages.text(x, y + 0.35 * size, item.text, size * POINTS, colour=item.colour, align=item.align)


def _table(flow: _Flow, rows: Sequence[Mapping[str, str]]) -> None:
    """Write the table of holes, its heading on every page."""
    step, headings = TEXT * 1.7 / POINTS, [heading for heading, *_ in _COLUMNS]
    flow.room_for(3.0 + HEADING * LEADING / POINTS + 2 * step)  # the heading stands with a hole or two below it
    flow.text("Holes", HEADING, space=3.0)
    _row(flow, headings, step)
    for row in rows:
        if flow.room_for(step):
            _row(flow, headings, step)
        _row(flow, list(_cells(row)), step)
        if row["drilled"]:
            flow.pages.text(SIDE + 0.93 * flow.width, flow.y - 0.3 * step, "drilled", TEXT)
        else:
            flow.pages.box(SIDE + 0.95 * flow.width, flow.y - 0.8 * step, 3.2, 3.2, _BOX)


def _cells(row: Mapping[str, str]) -> Iterator[str]:
    for _, key, *_ in _COLUMNS:
        text = for_paper(row[key]) if key.endswith("_in") else row[key]
        if key == "name" and row["status"] != "made":
            text += f" ({row['status']})"
        yield f"{text} ({row['hole']})" if key == "place" and row["hole"] != "1" else text


def _row(flow: _Flow, cells: Sequence[str], step: float) -> None:
    flow.room_for(step)
    flow.y += step
    for (_, key, start, align), text in zip(_COLUMNS, cells, strict=True):
        width = {"id": 0.09, "name": 0.3}.get(key, 0.2) * flow.width
        size, lines = fitted(text, width, sizes=(TEXT, 7.5, 6.0), lines=1)
        flow.pages.text(SIDE + start * flow.width, flow.y - 0.3 * step, "".join(lines), size, align=align)
    flow.pages.rule(SIDE, flow.y, SIDE + flow.width, flow.y, _RULE)
