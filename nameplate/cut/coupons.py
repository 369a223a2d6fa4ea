"""Coupons that are cut before a batch: what the beam removes (kerf), and the thinnest strip that survives (web).

The kerf coupon is cut along its nominal lines, so that every square comes out smaller than drawn by one kerf, and the
frame's window larger by one. The web coupon has its kerf allowed for, so that its strips come out as wide as they say.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, TypeAlias

import numpy as np

from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.kerf import toolpath
from nameplate.cut.order import PlacedToolpath
from nameplate.cut.pen import PLAIN_PEN, CutPen
from nameplate.cut.svg import sheet_svg
from nameplate.geometry import region as rg
from nameplate.geometry.beam import Kerf
from nameplate.geometry.engraving_font import label, label_width
from nameplate.geometry.lie import Lie
from nameplate.geometry.region import Array
from nameplate.model import Part

#: Which coupon: what the beam removes, the thinnest strip, the play of a jig.
CouponKind: TypeAlias = Literal["kerf", "web", "fit"]

#: Squares of the kerf coupon, and their side (mm): the more, the less a caliper's error counts; a row of 140 mm still
#: goes into a caliper of 150 mm.
SQUARES = 10
SIDE = 14.0

#: How much higher (mm) the frame's window is than the squares, so that they drop in easily.
EASY = 1.0

#: Widths (mm) of the web coupon's strips: from what hardly holds to what holds in any sheet.
STRIPS = (0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0)

#: Length of a strip, and width of the openings beside it (mm): long as the hairline of a large letter; the figures of
#: neighbours do not touch.
STRIP_LENGTH = 20.0
OPENING = 6.0

#: Solid border round windows, and height of the scored figures on it, mm.
RIM = 7.0
FIGURES = 2.5

#: Distance of the pieces from each other and from the sheet's edge, mm.
APART = 3.0
MARGIN = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class LaidPart:
    """One copy of a coupon's part on its sheet, its origin shifted to (x, y) mm."""

    part: Part
    copy: int
    x: float
    y: float


@dataclass(frozen=True, slots=True, eq=False)
class CouponSheet:
    """One cut file of a coupon, or of drilling strips: its size (mm), what lies on it, the kerf its lines allow for."""

    material: str
    width: float
    height: float
    laid: tuple[LaidPart, ...]
    kerf: Kerf


def kerf_parts(material: str) -> tuple[Part, ...]:
    """Make a frame whose window is as long as the row of squares (layer 2), and the squares (layer 1).

    A line along x is scored on each square, so that it can be told how it was cut.
    """
    w, h = SQUARES * SIDE / 2, (SIDE + EASY) / 2
    frame = rg.difference(rg.rectangle(-w - RIM, -h - RIM, w + RIM, h + RIM), rg.rectangle(-w, -h, w, h))
    text = f"KERF {SQUARES} X {SIDE:g}"
    mark = _figure(text, 0.0, h + RIM / 2)
    square = rg.rectangle(-SIDE / 2, -SIDE / 2, SIDE / 2, SIDE / 2)
    along = np.array([(-SIDE / 4, 0.0), (SIDE / 4, 0.0)])
    return (
        Part("kerf", "coupon", material, frame, marks=mark, layer=2),
        Part("kerf", "coupon", material, square, copies=SQUARES, marks=(along,)),
    )


def web_parts(material: str) -> tuple[Part, ...]:
    """Make a frame with strips of rising width between openings, each with its width scored below it."""
    edges = [0.0]
    for width in (*STRIPS, 0.0):
        edges += [edges[-1] + OPENING, edges[-1] + OPENING + width]
    windows = [rg.rectangle(a, 0, b, STRIP_LENGTH) for a, b in list(pairwise(edges))[::2]]
    frame = rg.rectangle(-RIM, -RIM, edges[-1] + RIM, STRIP_LENGTH + RIM)
    middles = [(a + b) / 2 for a, b in list(pairwise(edges))[1:-1:2]]
    marks = [m for at, width in zip(middles, STRIPS, strict=True) for m in _figure(f"{width:.1f}", at, -RIM / 2)]
    return (Part("web", "coupon", material, rg.difference(frame, rg.union(*windows)), marks=tuple(marks)),)


def coupon_sheet(parts: Sequence[Part], *, kerf: Kerf | float) -> CouponSheet:
    """Lay the parts of one coupon in rows, the first at the top, copies side by side; `kerf` is allowed for."""
    boxes = [rg.bounds(part.region) for part in parts]
    rows = [(box.width + APART) * part.copies - APART for part, box in zip(parts, boxes, strict=True)]
    width = float(np.ceil(max(rows) + 2 * MARGIN))
    height = float(np.ceil(sum(box.height + APART for box in boxes) - APART + 2 * MARGIN))
    laid: list[LaidPart] = []
    top = height - MARGIN
    for part, box in zip(parts, boxes, strict=True):
        step = box.width + APART
        laid += [LaidPart(part, copy + 1, MARGIN + copy * step - box.x0, top - box.y1) for copy in range(part.copies)]
        top -= box.height + APART
    return CouponSheet(parts[0].material, width, height, tuple(laid), Kerf.of(kerf))


def coupon_svg(sheet: CouponSheet, pen: CutPen = PLAIN_PEN, *, title: str = "") -> str:
    """Give the text of a coupon's cut file; raises GeometryError where its kerf would close one of its openings."""
    parts = {id(at.part): at.part for at in sheet.laid}
    paths = {key: toolpath(part, sheet.kerf) for key, part in parts.items()}
    placed = [PlacedToolpath(paths[id(at.part)], at.copy, at.x, at.y) for at in sheet.laid]
    return sheet_svg(sheet.width, sheet.height, placed, pen, title=title)


def coupon_expectation(sheet: CouponSheet, pen: CutPen = PLAIN_PEN) -> SheetExpectation:
    """Say what a coupon's cut file must burn to with the kerf that its lines allow for."""
    parts = tuple(
        ExpectedPart(
            plate=at.part.plate,
            kind=at.part.kind,
            copy=at.copy,
            layer=at.part.layer,
            region=rg.moved(at.part.region, at.x, at.y),
            marks=Lie(at.x, at.y).lines(at.part.marks),
        )
        for at in sheet.laid
    )
    return SheetExpectation(
        material=sheet.material,
        width=sheet.width,
        height=sheet.height,
        kerf=sheet.kerf,
        gap=APART,
        edge_margin=MARGIN,
        web=None,
        parts=parts,
        pen=pen,
    )


def _figure(text: str, x: float, y: float) -> tuple[Array, ...]:
    """Give the strokes of a text with its middle at (x, y)."""
    at = np.array([x - label_width(text, FIGURES) / 2, y - FIGURES / 2])
    return tuple(line + at for line in label(text, FIGURES))
