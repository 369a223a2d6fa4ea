"""The files of a hanging plan: the table for programs and spreadsheets, page and print for people."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from nameplate.cut.machine import PLAIN_PEN, CutPen
from nameplate.pdf.paper import A4, Paper
from nameplate.system.html_pages import render, safe
from nameplate.ticket.cautions import WALL_CAUTIONS
from nameplate.units import for_paper
from nameplate.wall.drawing import pictures
from nameplate.wall.drilling import drilling_pdf
from nameplate.wall.picture_svg import picture_svg
from nameplate.wall.plan import WallPlan
from nameplate.wall.plan_pdf import wall_pdf
from nameplate.wall.strip_sheets import strip_files
from nameplate.wall.table import wall_csv, wall_rows
from nameplate.wall.words import SETTING_OUT, about_strips, about_wall, remarks


def wall_files(
    plan: WallPlan, status: Mapping[str, str], paper: Paper, *, title: str, pen: CutPen = PLAIN_PEN
) -> Iterator[tuple[str, str | bytes | Iterable[str]]]:
    """Give each file's name and what is in it; `status` says by plate what of them is not made (held, refused)."""
    yield "wall.csv", wall_csv(plan, status)
    yield "wall.html", wall_html(plan, status, title=title, paper=paper)
    yield "wall.pdf", wall_pdf(plan, status, paper, title=title)
    if plan.hangings:
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
        "rows": [row | {key: for_paper(row[key]) for key in in_inches} for row in wall_rows(plan, status)],
        "several": any(len(hanging.holes) > 1 for hanging in plan.hangings),
    }
    return render("wall.html", values, room="wall")
