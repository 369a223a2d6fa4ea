"""Sheets that no nest lays: their parts stand where they are said to, unturned.

Coupons and drilling strips are such. They are SVG files whose cuts are closed, without tabs and lead-ins.
"""

from __future__ import annotations

from dataclasses import dataclass

from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.inspect import examine
from nameplate.cut.kerf import toolpath
from nameplate.cut.machine import PLAIN_PEN, CutPen
from nameplate.cut.order import PlacedToolpath, burning_order
from nameplate.cut.read_back import ReadSheet
from nameplate.cut.svg import steps_svg
from nameplate.errors import InspectionError
from nameplate.geometry.beam import Kerf
from nameplate.geometry.lie import Lie
from nameplate.model import Part

#: Least distance of the parts from each other and from the sheet's edge, mm.
APART = 3.0
MARGIN = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class LaidPart:
    """One copy of a part on its sheet, its origin shifted to (x, y) mm."""

    part: Part
    copy: int
    x: float
    y: float


@dataclass(frozen=True, slots=True, eq=False)
class LaidSheet:
    """One such sheet: its size (mm), what lies on it, and the kerf that its lines allow for."""

    material: str
    width: float
    height: float
    laid: tuple[LaidPart, ...]
    kerf: Kerf


def laid_svg(sheet: LaidSheet, pen: CutPen = PLAIN_PEN, *, title: str = "") -> str:
    """Give the text of the cut file; raises GeometryError where the kerf would close an opening of a part."""
    parts = {id(at.part): at.part for at in sheet.laid}
    paths = {key: toolpath(part, sheet.kerf) for key, part in parts.items()}
    placed = [PlacedToolpath(paths[id(at.part)], at.copy, at.x, at.y) for at in sheet.laid]
    return steps_svg(sheet.width, sheet.height, burning_order(placed), pen, title=title)


def check_laid(read: ReadSheet, sheet: LaidSheet, pen: CutPen, file: str) -> None:
    """Raise InspectionError with all that a cut file, read again, does not burn to."""
    if findings := examine(read, laid_expectation(sheet, pen), file).findings:
        raise InspectionError([finding.message for finding in findings])


def laid_expectation(sheet: LaidSheet, pen: CutPen = PLAIN_PEN) -> SheetExpectation:
    """Say what the cut file must burn to with the kerf that its lines allow for."""
    parts = tuple(map(_expected, sheet.laid))
    return SheetExpectation(sheet.material, sheet.width, sheet.height, sheet.kerf, APART, MARGIN, parts, pen=pen)


def _expected(at: LaidPart) -> ExpectedPart:
    part, lie = at.part, Lie(at.x, at.y)
    return ExpectedPart(
        part.plate, part.kind, at.copy, part.layer, lie.region(part.region), marks=lie.lines(part.marks)
    )
