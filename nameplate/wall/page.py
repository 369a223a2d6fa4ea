"""wall.html: the plan as a page to print and take to the wall: cautions, how to set out, drawings, a table of holes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from nameplate.paperwork.pages import render
from nameplate.ticket.cautions import WALL_CAUTIONS
from nameplate.wall.drawing import pictures
from nameplate.wall.picture_svg import picture_svg
from nameplate.wall.plan import WallPlan
from nameplate.wall.table import in_mm, wall_rows


def wall_html(plan: WallPlan, status: Mapping[str, str], *, title: str) -> Iterator[str]:
    """Give the page piece by piece; `status` says by plate what of them is not made (held, refused)."""
    from markupsafe import Markup

    wall, keys = plan.grid.wall, plan.keys
    values = {
        "title": title,
        "cautions": WALL_CAUTIONS,
        "width": in_mm(wall.width),
        "height": in_mm(wall.height),
        "left": in_mm(-wall.x0),
        "level": in_mm(keys.level),
        "above_floor": in_mm(wall.y0 + keys.level),
        "drill": in_mm(keys.hole),
        "places": len(plan.grid.places),
        "hung": len(plan.hangings),
        "reserved": [place.name for place in plan.reserved],
        "pictures": [{"caption": p.caption, "svg": Markup(picture_svg(p))} for p in pictures(plan, status)],
        "rows": [row | {"x_in": _inches(row["x_in"]), "y_in": _inches(row["y_in"])} for row in wall_rows(plan, status)],
        "several": len(keys.hanger) > 1,
        "remarks": [finding.message.removeprefix("[wall] ") for finding in plan.findings],
    }
    return render("wall.html", values, room="wall")


def _inches(text: str) -> str:
    """Write inches for paper, where nothing takes them for a date.

    >>> _inches("-0 3/8"), _inches("3 15/16"), _inches("0")
    ('-3/8', '3 15/16', '0')
    """
    return text.replace("-0 ", "-") if text.startswith("-0 ") else text.removeprefix("0 ")
