"""The files of a hanging plan: the table for programs and spreadsheets, page and print for people."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from xml.sax.saxutils import escape, quoteattr

from nameplate.cut.machine import PLAIN_PEN, CutPen
from nameplate.pdf.paper import A4, Paper
from nameplate.system.html_pages import render, safe
from nameplate.ticket.cautions import WALL_CAUTIONS
from nameplate.units import for_paper, trimmed
from nameplate.wall.drawing import DrawnShape, DrawnText, WallPicture, pictures
from nameplate.wall.drilling import drilling_pdf
from nameplate.wall.plan import WallPlan
from nameplate.wall.plan_pdf import wall_pdf
from nameplate.wall.strip_sheets import strip_files
from nameplate.wall.table import rows_on_paper, wall_csv
from nameplate.wall.words import SETTING_OUT, about_strips, about_wall, remarks

#: Where a text stands by its x.
_ANCHORS = {0.0: "start", 0.5: "middle", 1.0: "end"}

#: Length of a dash on paper, and of the gap after it (mm).
_DASHES = (1.6, 0.8)


def wall_files(
    plan: WallPlan, status: Mapping[str, str], paper: Paper, *, title: str, pen: CutPen = PLAIN_PEN
) -> Iterator[tuple[str, str | bytes | Iterable[str]]]:
    """Give each file's name and what is in it; `status` says by plate what of them is not made (held, refused)."""
    yield "wall.csv", wall_csv(plan, status)
    yield "wall.html", wall_html(plan, status, title=title, paper=paper)
    yield "wall.pdf", wall_pdf(plan, status, paper, title=title)
    if any(not hole.drilled for hanging in plan.hangings for hole in hanging.holes):
        yield "drilling.pdf", drilling_pdf(plan, paper, title=title)
    yield from strip_files(plan, pen, title=title)


def wall_html(plan: WallPlan, status: Mapping[str, str], *, title: str, paper: Paper = A4) -> Iterator[str]:
    """Give the plan as a page to look at and print on `paper`, piece by piece; `status` as in `wall_files`."""
    inches, in_inches = paper.inches, ("x_in", "y_in")
    values = {
        "title": title,
        "paper": f"{paper.width:g}mm {paper.height:g}mm",
        "cautions": WALL_CAUTIONS,
        "inches": inches,
        "about": about_wall(plan, inches=inches),
        "steps": SETTING_OUT,
        "strips": about_strips(plan, inches=inches),
        "remarks": remarks(plan),
        "pictures": [(p.caption, safe(picture_svg(p))) for p in pictures(plan, status, inches=inches)],
        "rows": [row | {key: for_paper(row[key]) for key in in_inches} for row in rows_on_paper(plan, status)],
        "several": any(len(hanging.holes) > 1 for hanging in plan.hangings),
    }
    return render("wall.html", values, room="wall")


def picture_svg(picture: WallPicture) -> str:
    """Give the SVG of a drawing, as large as it is to be on paper: mm of the wall, y turned down."""
    box, scale = picture.box, picture.scale
    size = f'width="{box.width / scale:.2f}mm" height="{box.height / scale:.2f}mm"'
    look = f'viewBox="{_n(box.x0)} {_n(-box.y1)} {_n(box.width)} {_n(box.height)}"'
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label={quoteattr(picture.caption)} {size} {look} '
        'font-family="sans-serif">'
    )
    drawn = (_shape(item, scale) if isinstance(item, DrawnShape) else _text(item) for item in picture.items)
    return "".join([head, *drawn, "</svg>"])


def _shape(shape: DrawnShape, scale: float) -> str:
    lines = (" ".join(f"{_n(x)} {_n(-y)}" for x, y in line.tolist()) for line in shape.lines)
    data = "".join(f"M{line}{'Z' * shape.closed}" for line in lines)
    stroke = f'stroke="{shape.colour}" stroke-width="{_n(shape.width * scale)}"' if shape.width else 'stroke="none"'
    dashes = f' stroke-dasharray="{" ".join(_n(length * scale) for length in _DASHES)}"' if shape.dashed else ""
    return f'<path fill="{shape.fill or "none"}" fill-rule="evenodd" {stroke}{dashes} d="{data}"/>'


def _text(text: DrawnText) -> str:
    weight = ' font-weight="bold"' if text.bold else ""
    where = f'x="{_n(text.x)}" y="{_n(-text.y + 0.35 * text.size)}" text-anchor="{_ANCHORS[text.align]}"'
    look = f'font-size="{_n(text.size)}" fill="{text.colour}"{weight}'
    return f"<text {where} {look}>{escape(text.text)}</text>"


def _n(value: float) -> str:
    return trimmed(value, 2)
