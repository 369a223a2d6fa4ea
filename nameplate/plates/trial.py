"""The trial of a plate before it is nested: each of its parts fitted, written, read back and burned by itself.

What is wrong with a part by itself is found here, where it costs one plate; what is left for the inspection of the
sheets is what comes of parts lying beside each other, and of files and disks.

Method: the part is written as the only one of a sheet, moved by whole millimetres, so that its numbers are rounded as
they are on any sheet; the sheet's text is read and judged as every written sheet is. A part whose curves use up too
much of the tolerance is fitted again, closer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from nameplate import tolerances
from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.inspect import examine
from nameplate.cut.kerf import Toolpath, toolpath
from nameplate.cut.order import PlacedToolpath, as_drawn
from nameplate.cut.read_back import read_text
from nameplate.cut.svg import steps_svg
from nameplate.findings import Finding
from nameplate.geometry.beam import Kerf
from nameplate.geometry.region import Array, moved, rotation, solids
from nameplate.model import Lettering, Part
from nameplate.system.shelf import stored

#: Shares of the tolerance at which a part is fitted again when what its curves leave is too far off its shape: where
#: two sides meet at a sharp angle, the tip that they form is off by more than they are.
CLOSER = (0.6, 0.3, 0.1)

#: Share of the inspection's tolerance that the curves may use. The rest is for rounding when they are written elsewhere
#: and turned, which a sharp tip multiplies: at 0.95 some stencils passed here and not on their sheet.
SURE = 0.8

#: Free width (mm) round the part on its sheet.
BORDER = 1.0


def expected_part(part: Part, lettering: Lettering | None, web: float | None) -> ExpectedPart:
    """Say what must be left of a part of a plate with this lettering, in plate coordinates."""
    return ExpectedPart(
        plate=part.plate,
        kind=part.kind,
        copy=1,
        layer=part.layer,
        region=stored(part, "region"),
        pieces=lettering.pieces if lettering is not None and part.kind == "lettering" else len(solids(part.region)),
        web=web,
        is_waste=part.is_waste,
    )


def cut_true(
    part: Part, expected: ExpectedPart, kerf: Kerf, *, beside: Sequence[Toolpath] = (), turn: float = 0.0
) -> tuple[Toolpath, tuple[Finding, ...]]:
    """Give the toolpath of a part, fitted as closely as it takes to burn it true, and what is wrong with it still.

    Both are of the part as it lies turned by `turn` degrees on its sheet.

    Raises GeometryError as `toolpath` does.
    """
    path = toolpath(part, kerf, beside=beside, turn=turn)
    for share in (*CLOSER, None):
        found = tried(path, expected, kerf, turn, sure=SURE)
        if share is None or all(fault.code != "shape-off" for fault in found):
            break
        path = toolpath(part, kerf, within=tolerances.CURVE * share, turn=turn)
    return path, tried(path, expected, kerf, turn) if found else ()


def tried(
    path: Toolpath, expected: ExpectedPart, kerf: Kerf, turn: float = 0.0, *, sure: float = 1.0
) -> tuple[Finding, ...]:
    """Burn one part by itself, turned by so many degrees, and give what is wrong with it.

    `expected` is what must be left of it, in plate coordinates; nothing is asked of waste but that it is there. Of the
    inspection's tolerance the share `sure` may be used.
    """
    placed = PlacedToolpath(path, 1, 0.0, 0.0, turn)
    shape = moved(expected.region, turn=turn)
    low, high = _box(path, turn)
    x, y = BORDER - low
    width, height = high - low + 2 * BORDER
    text = steps_svg(width, height, as_drawn([replace(placed, x=x, y=y)]))
    limits = SheetExpectation(
        material="",
        width=width,
        height=height,
        kerf=kerf,
        gap=0.0,
        edge_margin=0.0,
        parts=(replace(expected, region=moved(shape, x, y)),),
        slack=(sure - 1) * tolerances.BURN,
    )
    return examine(read_text(text, path.kind), limits, path.kind).findings


def _box(path: Toolpath, turn: float) -> tuple[Array, Array]:
    """Give the whole millimetres round what the beam does, as the corners (2,) low and high."""
    points = [contour.curve.segments.reshape(-1, 2) for contour in path.contours]
    every = np.vstack([*points, *(np.asarray(mark) for mark in path.marks)])
    turned = every @ rotation(turn)
    return np.floor(turned.min(axis=0)), np.ceil(turned.max(axis=0))
