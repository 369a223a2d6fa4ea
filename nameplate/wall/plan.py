"""The hanging plan of a batch: the grid, who hangs where, holes that came out elsewhere, and what speaks against it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from nameplate.findings import Finding
from nameplate.geometry.region import Box, Region, bounds, moved, rectangle
from nameplate.model import Face, Order
from nameplate.ticket.wall_schema import WallKeys
from nameplate.wall.checks import wall_findings
from nameplate.wall.grid import WallGrid, WallPlace, make_grid
from nameplate.wall.hanging import Hanging, hang
from nameplate.wall.moved_holes import take_in


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


def plan_wall(keys: WallKeys, orders: Iterable[Order], faces: Mapping[str, Face]) -> WallPlan | None:
    """Plan the wall for the orders of all rows, in the order of the list; None where the ticket has no wall.

    `faces` are those of the designs, in the ticket's order. What is made of an order makes no difference: refused ones
    and those on hold keep their places.
    """
    if keys.width is None:
        return None
    cell = _largest([bounds(face.outline) for face in faces.values()])
    grid = make_grid(keys, cell)
    hung = hang(keys, orders, grid, tuple(faces))
    taken = take_in(hung.hangings, keys, grid)
    outlines = tuple(_outline(hanging, faces, cell) for hanging in taken.hangings)
    found = (*hung.findings, *taken.findings, *wall_findings(taken.hangings, outlines, keys, grid))
    return WallPlan(keys, grid, taken.hangings, outlines, hung.reserved, found)


def _largest(boxes: Sequence[Box]) -> Box:
    """Give a box about the origin that covers each of some boxes about it."""
    width, height = max(box.width for box in boxes), max(box.height for box in boxes)
    return Box(-width / 2, -height / 2, width / 2, height / 2)


def _outline(hanging: Hanging, faces: Mapping[str, Face], cell: Box) -> Region:
    """Give what a plate covers of the wall; one whose design is unknown is taken for as large as the largest."""
    face = faces.get(hanging.plate.order.design)
    return moved(rectangle(*cell) if face is None else face.outline, hanging.x, hanging.y)
