"""wall.html: the plan as a page to look at and print: cautions, how to set out, drawings, a table of holes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from nameplate.pdf.paper import A4, Paper
from nameplate.system.html_pages import render
from nameplate.ticket.cautions import WALL_CAUTIONS
from nameplate.wall.drawing import pictures
from nameplate.wall.picture_svg import picture_svg
from nameplate.wall.plan import WallPlan
from nameplate.wall.table import wall_rows
from nameplate.wall.words import SETTING_OUT, about_strips, about_wall, for_paper, remarks


def wall_html(plan: WallPlan, status: Mapping[str, str], *, title: str, paper: Paper = A4) -> Iterator[str]:
    """Give the page, for `paper`, piece by piece; `status` says by plate what is not made (held, refused)."""
    from markupsafe import Markup

    inches = ("x_in", "y_in")
    values = {
        "title": title,
        "paper": f"{paper.width:g}mm {paper.height:g}mm",
        "cautions": WALL_CAUTIONS,
        "about": about_wall(plan),
        "steps": SETTING_OUT,
        "strips": about_strips(plan),
        "remarks": remarks(plan),
        "pictures": [{"caption": p.caption, "svg": Markup(picture_svg(p))} for p in pictures(plan, status)],
        "rows": [row | {key: for_paper(row[key]) for key in inches} for row in wall_rows(plan, status)],
        "several": any(len(hanging.holes) > 1 for hanging in plan.hangings),
    }
    return render("wall.html", values, room="wall")
