"""The files of a hanging plan: the table for programs and spreadsheets, page and print for people."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from nameplate.cut.machine import PLAIN_PEN, CutPen
from nameplate.pdf.paper import Paper
from nameplate.wall.drilling import drilling_pdf
from nameplate.wall.page import wall_html
from nameplate.wall.plan import WallPlan
from nameplate.wall.plan_pdf import wall_pdf
from nameplate.wall.strip_sheets import strip_files
from nameplate.wall.table import wall_csv


def wall_files(
    plan: WallPlan, status: Mapping[str, str], paper: Paper, *, title: str, pen: CutPen = PLAIN_PEN
) -> Iterator[tuple[str, str | bytes | Iterable[str]]]:
    """Give each file's name and what is in it; `status` says by plate what of them is not made (held, refused).

    Drilling strips are drawn by the `pen` of cut files.
    """
    yield "wall.csv", wall_csv(plan, status)
    yield "wall.html", wall_html(plan, status, title=title, paper=paper)
    yield "wall.pdf", wall_pdf(plan, status, paper, title=title)
    if plan.hangings:
        yield "drilling.pdf", drilling_pdf(plan, paper, title=title)
    yield from strip_files(plan, pen, title=title)
