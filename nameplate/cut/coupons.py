"""Coupons that are cut before a batch: what the beam removes (kerf), and the thinnest strip that survives (web).

The kerf coupon is cut along its nominal lines, so that every square comes out smaller than drawn by one kerf, and the
frame's window larger by one. The web coupon has its kerf allowed for, so that its strips come out as wide as they say.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal, TypeAlias

import numpy as np

from nameplate.cut.laid_sheet import APART, MARGIN, LaidPart, LaidSheet
from nameplate.geometry import region as rg
from nameplate.geometry.beam import Kerf
from nameplate.geometry.engraving_font import label, label_width
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


def coupon_sheet(parts: Sequence[Part], *, kerf: Kerf | float) -> LaidSheet:
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
    return LaidSheet(parts[0].material, width, height, tuple(laid), Kerf.of(kerf))


def _figure(text: str, x: float, y: float) -> tuple[Array, ...]:
    """Give the strokes of a text with its middle at (x, y)."""
    return label(text, FIGURES, at=(x - label_width(text, FIGURES) / 2, y - FIGURES / 2))
