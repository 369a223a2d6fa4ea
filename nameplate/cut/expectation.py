"""What a sheet must burn to: the parts, nominal and placed, the limits they keep, and what must drop into what."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from nameplate.cut.machine import BOTTOM_LEFT, PLAIN, PLAIN_PEN, Axes, CutPen, CutStyle
from nameplate.geometry.beam import Kerf
from nameplate.geometry.lie import Lie
from nameplate.geometry.region import EMPTY, Array, Region
from nameplate.model import PartId, PartKind
from nameplate.system.shelf import lays_away


@lays_away("region", "marks")
@dataclass(frozen=True, slots=True, eq=False)
class ExpectedPart:
    """One part on the sheet: its nominal region, placed (sheet coordinates, y up), and how many solids it is.

    `web` is the least width of its webs in mm, None where it has no such limit; `marks` the polylines (n, 2) to score,
    placed like the region, None where that is not checked; `labels` those that tell it from others, which lie on the
    waste beside it, or on the back of what lies face down. Waste is what is left round a part that was cut out of it:
    it must be there and keep its distance from other plates, and its shape is what the other's cut made it. `at` is
    how its plate lies on the sheet; `fits` says that the part is tried in others, or they in it.
    """

    plate: str
    kind: PartKind
    copy: int
    layer: int
    region: Region
    pieces: int = 1
    web: float | None = None
    marks: tuple[Array, ...] | None = None
    labels: tuple[Array, ...] = ()
    is_waste: bool = False
    at: Lie | None = None
    fits: bool = True

    @property
    def key(self) -> tuple[str, str, int, int]:
        """Plate, kind, copy, layer."""
        return self.plate, self.kind, self.copy, self.layer

    @property
    def part_id(self) -> PartId:
        """By what the part goes in a batch, whatever its copy."""
        return self.plate, self.kind, self.layer


@dataclass(frozen=True, slots=True, eq=False)
class SheetExpectation:
    """One sheet: its material, size, kerf and limits (mm), and every part on it.

    `room` is where finished parts may lie on a sheet that is not a whole rectangle: an offcut, or one with damaged
    places. `pen` draws its lines. `slack` is how far (mm) the regions may be off what was judged in the run, because
    they were read from its record. On a sheet that lies `face_down` all parts are turned over. `axes` say how a DXF is
    counted. `style` is how parts are cut free, and `tabs` (n, 2) are the middles of the tabs that they hang by.
    """

    material: str
    width: float
    height: float
    kerf: Kerf
    gap: float
    edge_margin: float
    parts: tuple[ExpectedPart, ...]
    room: Region | None = None
    pen: CutPen = PLAIN_PEN
    slack: float = 0.0
    face_down: bool = False
    axes: Axes = BOTTOM_LEFT
    style: CutStyle = PLAIN
    tabs: Array = field(default_factory=lambda: np.empty((0, 2)))


@dataclass(frozen=True, slots=True, eq=False)
class DropIn:
    """Something that must go into an opening of a part as burned, with `room` mm to spare on every side.

    It is a part as burned (`inner`); or, for what is not cut here, its largest `shape` in plate coordinates; or, with
    both, pins of that shape standing in the holes that were burned in `inner` for them.
    """

    what: str
    outer: PartId
    room: float
    inner: PartId | None = None
    shape: Region = EMPTY
