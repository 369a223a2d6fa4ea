"""wall.csv: every hole of every plate, measured from the datums, so that errors of the tape do not add up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from nameplate.system.spreadsheets import csv_text
from nameplate.units import sixteenths, trimmed
from nameplate.wall.hanging import Hanging
from nameplate.wall.plan import WallPlan

#: `x` and `y` are the hole's mm to the right of the centre line and above the level line, `x_in` and `y_in` the same in
#: inches to 1/16; `plate_x` and `plate_y` the mm of the plate's middle. A plate on hold or refused keeps its place.
COLUMNS: tuple[str, ...] = (
    "id",
    "name",
    "x",
    "y",
    "x_in",
    "y_in",
    "place",
    "hole",
    "drilled",
    "plate_x",
    "plate_y",
    "status",
)


def wall_csv(plan: WallPlan, status: Mapping[str, str]) -> str:
    """Give the table as CSV; `status` says by plate what of them is not made (held, refused)."""
    return csv_text(COLUMNS, list(wall_rows(plan, status)))


def wall_rows(plan: WallPlan, status: Mapping[str, str]) -> Iterator[dict[str, str]]:
    """Yield a row a hole, plates in reading order of the wall."""
    for hanging in plan.hangings:
        yield from _rows(hanging, status.get(hanging.plate.order.id, "made"))


def _rows(hanging: Hanging, status: str) -> Iterator[dict[str, str]]:
    for number, hole in enumerate(hanging.holes, 1):
        yield {
            "id": hanging.plate.id,
            "name": hanging.plate.order.name,
            "x": in_mm(hole.x),
            "y": in_mm(hole.y),
            "x_in": sixteenths(hole.x),
            "y_in": sixteenths(hole.y),
            "place": hanging.place.name,
            "hole": str(number),
            "drilled": "yes" if hole.drilled else "",
            "plate_x": in_mm(hanging.x),
            "plate_y": in_mm(hanging.y),
            "status": status,
        }


def in_mm(value: float) -> str:
    """Write mm to a thousandth, without zeros at the end.

    >>> in_mm(127.5), in_mm(-0.0001), in_mm(100 / 3)
    ('127.5', '0', '33.333')
    """
    return trimmed(value, 3)
