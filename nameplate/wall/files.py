"""The files of a hanging plan: the table for programs and spreadsheets, the page for people."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from nameplate.wall.page import wall_html
from nameplate.wall.plan import WallPlan
from nameplate.wall.table import wall_csv


def wall_files(
    plan: WallPlan, status: Mapping[str, str], *, title: str
) -> Iterator[tuple[str, str | bytes | Iterable[str]]]:
    """Give each file's name and what is in it; `status` says by plate what of them is not made (held, refused)."""
    yield "wall.csv", wall_csv(plan, status)
    yield "wall.html", wall_html(plan, status, title=title)
