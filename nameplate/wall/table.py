"""wall.csv: every hole of every plate, measured from the datums, so that errors of the tape do not add up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from nameplate.model import in_a_line
from nameplate.system.spreadsheets import csv_text
from nameplate.units import sixteenths, trimmed, with_inches
from nameplate.wall.hanging import holes_of
from nameplate.wall.plan import WallPlan

#: `x` and `y` are the hole's mm to the right of the centre line and above the level line, `x_in` and `y_in` the same in
#: inches to 1/16; `plate_x` and `plate_y` the mm of the plate's middle. A plate on hold or refused keeps its place.
COLUMNS = ("id", "name", "x", "y", "x_in", "y_in", "place", "hole", "drilled", "plate_x", "plate_y", "status")


def wall_csv(plan: WallPlan, status: Mapping[str, str]) -> str:
    """Give the table as CSV; `status` says by plate what of them is not made (held, refused)."""
    return csv_text(COLUMNS, list(wall_rows(plan, status)))


def wall_rows(plan: WallPlan, status: Mapping[str, str]) -> Iterator[dict[str, str]]:
    """Yield a row a hole, plates in reading order of the wall."""
    for hanging in plan.hangings:
        order, middle = hanging.plate.order, (in_mm(hanging.x), in_mm(hanging.y))
        for number, hole in enumerate(hanging.holes, 1):
            where = in_mm(hole.x), in_mm(hole.y), sixteenths(hole.x), sixteenths(hole.y)
            which = hanging.place.name, str(number), "yes" if hole.drilled else ""
            values = (hanging.plate.id, order.name, *where, *which, *middle, status.get(order.id, "made"))
            yield dict(zip(COLUMNS, values, strict=True))


def rows_on_paper(plan: WallPlan, status: Mapping[str, str]) -> Iterator[dict[str, str]]:
    """Yield the rows of the holes with all that is on a plate, and x and y to a tenth, as the drawing has them."""
    for row, (hanging, hole) in zip(wall_rows(plan, status), holes_of(plan.hangings), strict=True):
        told = in_a_line(hanging.plate.order.texts)
        yield {**row, "name": told, "x": in_mm(round(hole.x, 1)), "y": in_mm(round(hole.y, 1))}


def in_mm(value: float) -> str:
    """Write mm to a thousandth, without zeros at the end.

    >>> in_mm(127.5), in_mm(-0.0001), in_mm(100 / 3)
    ('127.5', '0', '33.333')
    """
    return trimmed(value, 3)


def in_words(*lengths: float, inches: bool) -> str:
    """Say a length in mm, or the sides of something, and in `inches` where these are asked for.

    >>> in_words(127.5, inches=False), in_words(600, 304.8, inches=True)
    ('127.5 mm', '600 x 304.8 mm (23.62 x 12 in)')
    """
    return with_inches(f"{' x '.join(map(in_mm, lengths))} mm", *lengths, inches=inches)
