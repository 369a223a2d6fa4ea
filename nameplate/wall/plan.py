"""The hanging plan of a batch: the grid, who hangs where, holes that came out elsewhere, and what speaks against it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from nameplate.findings import Finding
from nameplate.geometry.region import Region, moved
from nameplate.model import Face, Lettering, Order
from nameplate.ticket.wall_schema import WallKeys
from nameplate.wall.checks import wall_findings
from nameplate.wall.grid import WallGrid, WallPlace, make_grid
from nameplate.wall.hanging import Hanging, hang
from nameplate.wall.moved_holes import take_in
from nameplate.wall.shapes import shape_findings, wall_shapes

#: The lettering of a list of which none is made.
NOTHING_MADE: Mapping[str, Lettering] = {}


@dataclass(frozen=True, slots=True)
class WallPlan:
    """Where everything hangs, mm from the datums: `hangings` in reading order, and the outline of each on the wall.

    `reserved` are places kept free for later names.
    """

    keys: WallKeys
    grid: WallGrid
    hangings: tuple[Hanging, ...]
    outlines: tuple[Region, ...]
    reserved: tuple[WallPlace, ...]
    findings: tuple[Finding, ...]

    @property
    def slots(self) -> dict[tuple[str, int], str]:
        """The names of all places that are taken, by plate and copy."""
        return {(h.plate.order.id, h.plate.copy): h.place.name for h in self.hangings}


def plan_wall(
    keys: WallKeys,
    orders: Iterable[Order],
    faces: Mapping[str, Face],
    lettering: Mapping[str, Lettering] = NOTHING_MADE,
) -> WallPlan | None:
    """Plan the wall for the orders of all rows, in the order of the list; None where the ticket has no wall.

    `faces` are those of the designs, in the ticket's order. What is made of an order on a face makes no difference:
    refused ones and those on hold keep their places. Names that stand free are as large as their `lettering`, by plate.
    """
    if keys.width is None:
        return None
    orders = tuple(orders)
    shapes = wall_shapes(keys, orders, faces, lettering)
    grid = make_grid(keys, shapes.largest, shapes.fixings)
    hung = hang(keys, orders, grid, tuple(faces), shapes)
    taken = take_in(hung.hangings, keys, grid)
    outlines = tuple(moved(shapes.of(h.plate.order).outline, h.x, h.y) for h in taken.hangings)
    found = *shape_findings(keys, shapes, orders, faces), *hung.findings, *taken.findings
    against = wall_findings(taken.hangings, outlines, keys, grid)
    return WallPlan(keys, grid, taken.hangings, outlines, hung.reserved, (*found, *against))
