"""What a sheet must burn to: the parts, nominal and placed, and the limits they keep."""

from __future__ import annotations

from dataclasses import dataclass

from nameplate.geometry.region import Region
from nameplate.parts import PartKind


@dataclass(frozen=True, slots=True, eq=False)
class ExpectedPart:
    """One part on the sheet: its nominal region, placed (sheet coordinates, y up), and how many solids it is.

    `web` is the least width of its webs in mm, None where it has no such limit; `marks` the number of scored strokes,
    None where that is not checked. Waste is what is left round a part that was cut out of it: it must be there and keep
    its distance from other plates, and its shape is what the other's cut made it.
    """

    plate: str
    kind: PartKind
    copy: int
    layer: int
    region: Region
    pieces: int = 1
    web: float | None = None
    marks: int | None = None
    is_waste: bool = False

    @property
    def key(self) -> tuple[str, str, int, int]:
        """Plate, kind, copy, layer."""
        return self.plate, self.kind, self.copy, self.layer


@dataclass(frozen=True, slots=True, eq=False)
class SheetExpectation:
    """One sheet: its material, size, kerf and limits (mm), and every part on it.

    `web` holds for lettering that does not carry its own.
    """

    material: str
    width: float
    height: float
    kerf: float
    gap: float
    edge_margin: float
    web: float | None
    parts: tuple[ExpectedPart, ...]
